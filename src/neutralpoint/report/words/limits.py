"""What is said of the limits that a flight passed."""

from __future__ import annotations

from neutralpoint.findings import (
    Banded90,
    Findings,
    Limit,
    LimitRow,
    LimitsFindings,
    PanelRequest,
    SectionTable,
    StageSection,
    Statement,
)
from neutralpoint.quantities import FOOT, FOOT_PER_MINUTE, KNOT, POUND
from neutralpoint.report.figures.display import printed, shown_unit
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.phrases import (
    aside,
    derived,
    percent,
    small_percent,
    time_of_day,
)
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.limit import LimitName

NAMES = {
    LimitName.SPEED: "never-exceed speed",
    LimitName.DIVE: "design dive speed",
    LimitName.MACH: "maximum Mach number",
    LimitName.LOAD: "limit load factor",
    LimitName.LOAD_NEGATIVE: "negative limit load factor",
    LimitName.ULTIMATE: "ultimate load factor",
    LimitName.ULTIMATE_NEGATIVE: "negative ultimate load factor",
    LimitName.FLAP: "flap speed",
    LimitName.GEAR: "gear-down speed",
    LimitName.STALL: "stalling angle of attack",
}
# In a table the row of the stall shows what is left of the angle, 0 at the stall.
ROWS = NAMES | {LimitName.STALL: "margin of angle of attack before the stall (0 at the stall)"}
REASONS = {
    "not-stated": "the airplane file states none",
    "configuration-unknown": "the flap setting is not stated",
    "up": "retracted, as the case states",
}
SECOND_DECIMAL = ("mach", "normal_load_factor")
CAUTION = (
    "a limit passed is not damage, and damage is not excluded below one: strength has scatter, and "
    "load factors are averaged over the smoothing window, so that a shorter peak is not seen."
)
DASH = "\u2013"
FEWEST = 0.005  # chance from which a limit is named in the lead; analyst's
WORTH_A_ROW = 0.05  # from which the table of all limits stands in the body; analyst's


def limits_section(found: LimitsFindings, findings: Findings) -> StageSection:
    """The section of the limits.

    Args:
        found: Of the stage.
        findings: The document, for its clock.

    Returns:
        The section.
    """
    rest = [
        *_trust(found, findings),
        *_together(found),
        *_left_out(found),
        _energy(found, findings),
        _diagram(found),
    ]
    # Where no limit is worth a row in the body, a sentence is enough there.
    kept = rest if any(row.probability >= WORTH_A_ROW for row in found.rows) else map(aside, rest)
    return StageSection(
        stage="limits",
        title=STAGES["limits"],
        cautions=[CAUTION],
        statements=[_lead(found, findings), *kept],
        tables=[_table(found, findings)],
        panels=_panels(found),
    )


def value_words(row: LimitRow, value: float) -> str:
    """A value of the quantity of a limit, as printed with its unit."""
    shown = shown_unit(QUANTITIES[row.quantity].unit, row.quantity)
    decimals = 2 if row.quantity in SECOND_DECIMAL else shown.decimals
    return shown.with_unit(printed(value / shown.factor, decimals))


def _band(row: LimitRow, band: Banded90) -> str:
    low, high = value_words(row, band.low90), value_words(row, band.high90)
    return f"{value_words(row, band.median)} (90%: {low} to {high})"


def _lead(found: LimitsFindings, findings: Findings) -> Statement:
    first, last = (time_of_day(findings, at) for at in (found.begin, found.end))
    passed = sorted(
        (r for r in found.rows if r.probability >= FEWEST), key=lambda r: -r.probability
    )
    over = f"From {first} to {last} UTC"
    if not passed:
        text = f"{over} no sample path passes a limit that was examined."
    else:
        listed = ", ".join(f"{NAMES[r.limit]} {small_percent(r.probability)}" for r in passed)
        text = f"{over} the probability of having passed a limit at any time is: {listed}."
    return derived(text, f"findings.json: limits; {found.file}")


def chances_said(found: LimitsFindings, findings: Findings, paths: int) -> str:
    """The chance of every limit, over which time, and what none of so many paths leaves open.

    Args:
        found: Of the stage.
        findings: The document, for its clock.
        paths: Sample paths that were compared.

    Returns:
        Sentences. Source: none of n leaves up to 1 - 0.05 ** (1 / n) at 95%, the exact binomial
        bound of Clopper and Pearson (1934), one-sided; from memory.
    """
    first, last = (time_of_day(findings, at)[:-2] for at in (found.begin, found.end))
    rest = found.rows
    never = [NAMES[row.limit] for row in rest if row.probability <= 0.0]
    seldom = [f"{NAMES[row.limit]} {small_percent(row.probability)}" for row in rest
              if row.probability > 0.0]  # fmt: skip
    told = "; ".join(filter(None, [
        f"passed by no sample path: {', '.join(never)}" if never else "", ", ".join(seldom),
    ]))  # fmt: skip
    open_to = small_percent(1.0 - 0.05 ** (1.0 / paths))
    none = f" None of {paths} paths leaves up to {open_to} open (95%)." if never else ""
    return f"{told[:1].upper()}{told[1:]} (from {first} to {last} UTC, all of the record).{none}"


def loads_title(found: LimitsFindings) -> str:
    """Which limits were passed, those of the structure first, in one sentence."""
    passed = sorted((row for row in found.rows if row.probability > 0.0),
                    key=lambda row: -row.probability)  # fmt: skip
    if not passed:
        return "No sample path passes a limit of the airplane"
    told = [f"{NAMES[row.limit]} passed in {small_percent(row.probability)}" for row in passed[:2]]
    if all(row.limit is LimitName.STALL for row in passed):
        return f"No limit of structure or speed is passed; {told[0]} of the sample paths"
    text = ", ".join(told)
    return f"{text[:1].upper()}{text[1:]} of the sample paths"


def _trust(found: LimitsFindings, findings: Findings) -> list[Statement]:
    if found.trusted_until is None:
        return []
    at = time_of_day(findings, found.trusted_until)
    return [
        derived(
            f"From {at} UTC the probability of having passed ultimate load is "
            f"{percent(found.distrust)} or more: from then on neither the required moment nor a "
            "simulated flight of a whole airplane is trusted.",
            "findings.json: limits.trusted_until",
        )
    ]


def _together(found: LimitsFindings) -> list[Statement]:
    stalled = {LimitName.STALL, LimitName.SPEED, LimitName.LOAD, LimitName.MACH}
    pairs = [p for p in found.together if {p.first, p.second} <= stalled]
    if not pairs:
        return []
    listed = "; ".join(
        f"{NAMES[p.first]} with {NAMES[p.second]} {small_percent(p.probability)}" for p in pairs
    )
    return [derived(f"Beyond both at the same moment: {listed}.", "findings.json: limits.together")]


def _left_out(found: LimitsFindings) -> list[Statement]:
    if not found.left_out:
        return []
    listed = "; ".join(f"{NAMES[o.limit]}, {REASONS[o.reason]}" for o in found.left_out)
    return [derived(f"Not examined: {listed}.", "findings.json: limits.left_out")]


def _number(band: Banded90, factor: float) -> str:
    low, mid, high = (
        f"{round(v / factor, -1) + 0.0:,.0f}".replace("-", "\u2212")
        for v in (band.low90, band.median, band.high90)
    )
    return f"{mid} (90%: {low} to {high})"


def _energy(found: LimitsFindings, findings: Findings) -> Statement:
    excess = found.excess
    text = (
        f"Energy height changed by {_number(excess.change, FOOT)} ft. Its rate was lowest at "
        f"{time_of_day(findings, excess.lowest_at)} UTC, "
        f"{_number(excess.lowest, FOOT_PER_MINUTE)} ft/min, where full lever would have given "
        f"{_number(excess.full_there, FOOT_PER_MINUTE)} ft/min at the same speed and load factor. "
        f"The median rate is more than full lever gives in {percent(excess.above_full)} of the "
        f"time and less than idle gives in {percent(excess.below_idle)}"
    )
    return derived(
        f"{text}.",
        "findings.json: limits.excess",
        caution="Air that rises or sinks, a change of wind, and flaps, gear or damage that add "
        "drag change it as well.",
    )


def _diagram(found: LimitsFindings) -> Statement:
    d = found.diagram
    text = (
        f"The diagram is drawn at {d.mass / POUND:,.0f} lb ({d.mass:,.0f} kg); maneuver speed "
        f"{d.maneuver_speed / KNOT:.0f} kt, design cruise speed {d.cruise_speed / KNOT:.0f} kt, "
        f"design dive speed {d.dive_speed / KNOT:.0f} kt, all equivalent"
    )
    more = ", from the bounds of 14 CFR 23.1505 where the file states none" if d.defaults else ""
    return derived(
        f"{text}{more}. Gusts are those of 14 CFR 23.333(c).",
        "14 CFR 23.333 and 23.341, amendment 23-42; 25.333",
    )


def _table(found: LimitsFindings, findings: Findings) -> SectionTable:
    def clock(at: float | None) -> str:
        return DASH if at is None else time_of_day(findings, at)

    def lasting(row: LimitRow) -> str:
        if row.duration is None:
            return DASH
        d = row.duration
        return f"{d.median:.1f} s ({d.low90:.1f} to {d.high90:.1f})"

    return SectionTable(
        caption="Limits of the airplane against the sample paths",
        kind="derived",
        detail=all(row.probability < WORTH_A_ROW for row in found.rows),
        columns=[
            *("Limit", "Value", "Extreme value", "Passed", "10% by", "50% by", "90% by"),
            *("Time beyond, if passed", "Source"),
        ],
        rows=[
            [
                ROWS[row.limit],
                value_words(row, row.value),
                _band(row, row.extreme),
                small_percent(row.probability) if row.probability > 0.0 else "no path",
                clock(row.by10),
                clock(row.by50),
                clock(row.by90),
                lasting(row),
                row.source,
            ]
            for row in found.rows
        ],
    )


def _panels(found: LimitsFindings) -> list[PanelRequest]:
    """One panel a quantity that has a limit, with all of its limits, then the rates of energy."""
    quantities = list(dict.fromkeys(row.quantity for row in found.rows))
    panels = [
        PanelRequest(
            file=found.file,
            variable=name,
            label=QUANTITIES[name].title,
            unit=QUANTITIES[name].unit,
            limits=[
                Limit(value=row.value, label=NAMES[row.limit])
                for row in found.rows
                if row.quantity == name
            ],
        )
        for name in quantities
    ]
    return panels + [
        PanelRequest(
            file=found.file,
            variable=name,
            label=QUANTITIES[name].title,
            unit=QUANTITIES[name].unit,
        )
        for name in ("excess_power", "excess_power_full")
    ]
