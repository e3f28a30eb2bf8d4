"""What the required moment establishes, as the findings document says it."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from neutralpoint.findings import (
    CauseVerdict,
    Estimated,
    HandsRow,
    Limit,
    Need,
    PanelRequest,
    SectionTable,
    StageSection,
    Statement,
)
from neutralpoint.moments import Judgement, Scaling
from neutralpoint.moments.trim_rate import SPAN
from neutralpoint.moments.trimmed import unsteadiness
from neutralpoint.motion import Onsets
from neutralpoint.quantities import DEGREE, POUND_FORCE
from neutralpoint.study.moments.file import (
    MOMENTS_FILE,
    moment_flags,
    moment_paths,
)
from neutralpoint.study.moments.reading_findings import (
    moved_references,
    moved_statement,
    reading_statements,
    reading_tables,
)
from neutralpoint.study.moments.words import condition_words, miss_words, sentence
from neutralpoint.study.moments.work_out import Moments
from neutralpoint.study.motion.onset_findings import stated_onset
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.strength import ONE_HAND, PROLONGED, TWO_HANDS

FREE = (
    "If nobody touched the column; hands on it add what the data cannot tell from the cause, so "
    "the law of growth is that of cause and hands together."
)
UNSTEADY = (
    "No flight as steady as a trimmed one was found; this is the steadiest. Speed or load factor "
    "change in it, so that every change counted from it holds for a trimmed start only. Give "
    "`analysis.reference_start` and `reference_end`, or an `onset`, if you know better."
)
# benchmarks/results/moments_recovery.md, calibration of the scaling test.
LOW = (
    " A low probability of a surface is no evidence for a load: where simulated flights gave less "
    "than 30 % it had been a surface in half of them."
)
MAXIMUM_ITEMS = 8  # rows of the load table


def moments_section(
    found: Moments, epoch: datetime, given: float | None, shown: Onsets
) -> StageSection:
    """Everything the stage hands to the report, identifiability first.

    Args:
        found: What the stage found.
        epoch: UTC time of second 0.
        given: Onset that the case states, s; None without one.
        shown: What the motion shows of the onset.

    Returns:
        The section.
    """
    statements = [] if given is None else [stated_onset(shown, epoch, given)]
    moved = moved_references(found)
    statements += [_reference(found), *reading_statements(found, epoch), *moved_statement(moved)]
    tables: list[SectionTable] = reading_tables(found, epoch)
    if found.scaling is not None:
        statements += _scaling_statements(found.scaling)
        tables.append(_scaling_table(found.scaling))
    statements += _rate_statements(found) + _power_statements(found) + _lost(found)
    tables += [_force_table(found), *_load_tables(found)]
    return StageSection(
        stage="moments",
        title="What it took, and who could supply it",
        statements=statements,
        verdicts=[_verdict(found, judged) for judged in found.verdicts],
        tables=tables,
        moved=moved,
        panels=_panels(found),
    )


def _after(found: Moments, time: float) -> str:
    return f"{time - found.required.time[0]:.0f} s"


def _derived(text: str, *variables: str, caution: str = "") -> Statement:
    basis = [f"{MOMENTS_FILE}: {name}" for name in variables]
    return Statement(kind="derived", text=text, basis=basis, caution=caution)


def _reference(found: Moments) -> Statement:
    inside = found.required.time[found.required.trimmed]
    return _derived(
        f"The last trimmed flight is taken from {_after(found, inside[0])} to "
        f"{_after(found, inside[-1])} after the first time of {MOMENTS_FILE}; every change is "
        f"counted from there, smoothed over {found.window:.1f} s.",
        "is_reference",
        caution="" if _steady(found) else UNSTEADY,
    )


def _steady(found: Moments) -> bool:
    """Whether the reference is as steady as a trimmed flight is."""
    return bool(unsteadiness(found.flight)[found.required.trimmed].min() <= 1.0)


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f} %"


def _scaling_statements(scaling: Scaling) -> list[Statement]:
    """How well the data could tell, then what they tell."""
    power = scaling.surface_power()
    weak = "" if scaling.separable else " Not every law can be told from its neighbours."
    names = " and ".join(
        f"{law} {_percent(p)}" for law, p in zip(scaling.laws, np.diag(scaling.power), strict=True)
    )
    best = int(np.argmax(scaling.posterior))
    return [
        _derived(
            "Had each law of growth made such data, the true one would on average be given: "
            f"{names}. A moved surface would be told from a moved load with {_percent(power)}."
            f"{weak}",
            "standing_coefficient",
        ),
        Statement(
            kind="inferred",
            text=f"With equal odds before the data, the change grew like: {scaling.laws[best]} "
            f"({_percent(scaling.posterior[best])}); like a moved surface of either kind "
            f"{_percent(scaling.surface())}.",
            basis=[f"{MOMENTS_FILE}: standing_coefficient"],
            caution=FREE + LOW * (scaling.surface() < 0.5),
        ),
    ]


def _scaling_table(scaling: Scaling) -> SectionTable:
    rows = [
        [law, *(_percent(p) for p in row), _percent(found)]
        for law, row, found in zip(scaling.laws, scaling.power, scaling.posterior, strict=True)
    ]
    return SectionTable(
        caption="Could these data tell? Each row: the law that made trial data with these errors; "
        "its columns: the mean probability then given to each law. Last column: what the data of "
        "this flight give the law of the row.",
        kind="derived",
        columns=["true law", *scaling.laws, "this flight"],
        rows=rows,
    )


def _degrees(value: float) -> str:
    return f"{value / DEGREE:.2f}"


def _rate_statements(found: Moments) -> list[Statement]:
    rate, drive = found.rate, found.airplane.airplane.trim_drive
    if rate is None:
        return []
    text = (
        f"Had the {drive.kind} alone done it, it moved fastest about {_after(found, rate.time)}: "
        f"{_degrees(rate.median)} deg/s over {SPAN:g} s (90 %: {_degrees(rate.low)} to "
        f"{_degrees(rate.high)})."
    )
    if float(drive.rate) == 0.0:
        return [_derived(f"{text} The airplane's trim has no motor.", f"needed_{drive.kind}")]
    return [
        _derived(
            f"{text} The drive makes {_degrees(float(drive.loaded_rate))} deg/s loaded and "
            f"{_degrees(float(drive.rate))} deg/s unloaded; the needed rate is beyond these with "
            f"{_percent(rate.beyond[0])} and {_percent(rate.beyond[1])}.",
            f"needed_{drive.kind}",
            caution="A motor moves at its rate; a step does not come from a motor.",
        )
    ]


def _power_statements(found: Moments) -> list[Statement]:
    change = found.change
    if change is None:
        return []
    if change.fell > 0.95:
        word = "fell"
    elif change.rose > 0.95:
        word = "rose"
    else:
        word = "is not shown to have changed"
    return [
        _derived(
            f"Power {word}: thrust along the path changed from {change.before / 1e3:.1f} kN by "
            f"{change.change / 1e3:+.1f} kN (90 %: {change.low / 1e3:+.1f} to "
            f"{change.high / 1e3:+.1f}); probability that it fell {_percent(change.fell)}, rose "
            f"{_percent(change.rose)}, that idle or less was left {_percent(change.idle_after)}.",
            "needed_thrust",
            "idle_thrust",
            caution="Drag of gear, flaps or sideslip counts as lost thrust.",
        )
    ]


def _lost(found: Moments) -> list[Statement]:
    """Where what was needed is not observable."""
    paths = moment_paths(found)
    flags = moment_flags(found, paths)
    said = []
    for name, known in flags.items():
        if QUANTITIES[name].limit is not None and not known.all():
            said.append(f"{name.replace('_', ' ')} {_percent(float((~known).mean()))}")
    if not said:
        return []
    return [
        _derived(
            f"Not observable, in share of the time: {', '.join(said)}.",
            *(f"observable_{name}" for name in flags if QUANTITIES[name].limit is not None),
        )
    ]


def _force_table(found: Moments) -> SectionTable:
    rows = [
        [
            t.limit.name,
            f"{t.limit.force:.0f} N ({t.limit.force / POUND_FORCE:.0f} lb)",
            f"{t.median:.0f} s ({t.low:.0f} to {t.high:.0f})",
            _percent(t.probability),
            t.limit.source,
        ]
        for t in found.forces
    ]
    return SectionTable(
        caption="Column force, had the column alone done it with the trim as it was: time above "
        "what rules and people allow, after the reference (median and 90 % band).",
        kind="derived",
        columns=["level", "force", "time above", "above at any time", "source"],
        rows=rows,
    )


def _load_tables(found: Moments) -> list[SectionTable]:
    reach = found.reach
    if not reach.items:
        return []
    rows = [
        [
            item.name,
            f"{item.mass:.0f} kg",
            "loose" if item.loose else "counts as fixed",
            f"{100.0 * item.forward:+.1f} to {100.0 * item.aft:+.1f} cm",
            _percent(item.enough) if np.isfinite(item.enough) else "not observable",
        ]
        for item in reach.items[:MAXIMUM_ITEMS]
    ]
    return [
        SectionTable(
            caption="Load: how far each listed item could move the center of gravity (aft "
            "positive), and how often a flight on which it alone moved and stayed there, hands "
            "off, would fit as poorly as this one or worse.",
            kind="derived",
            columns=["item", "mass", "held", "reach", "it alone"],
            rows=rows,
        )
    ]


def _verdict(found: Moments, judged: Judgement) -> CauseVerdict:
    """A judgement as the document carries it."""
    first = float(found.required.time[0])
    grant, miss = judged.condition, judged.miss
    return CauseVerdict(
        cause=judged.cause.value,
        title=judged.cause.title,
        word=judged.word.value,
        probability=_number(judged.probability),
        judged_from=judged.judged[0],
        judged_to=judged.judged[1],
        hands=[
            HandsRow(hands=row.hands.value, probability=row.probability, price=_number(row.price))
            for row in judged.abilities
        ],
        needs=[
            Need(
                quantity=row.quantity.value,
                low90=row.needed.low,
                median=row.needed.median,
                high90=row.needed.high,
                least=_number(row.low),
                most=_number(row.high),
            )
            for row in judged.comparisons
        ],
        estimates=[
            Estimated(name=name, low90=band.low, best=band.median, high90=band.high)
            for name, band in judged.estimates
        ],
        grant=grant.grant.value if grant else "",
        grant_value=_number(grant.value) if grant else None,
        miss_time=miss.time if miss else None,
        miss_deviations=miss.deviations if miss else None,
        miss_moment=_number(miss.moment) if miss else None,
        condition=condition_words(judged),
        closest_miss=miss_words(judged, first),
        sentence=sentence(judged, first),
        basis=[MOMENTS_FILE],
    )


def _number(value: float) -> float | None:
    """A finite number, or nothing."""
    return float(value) if np.isfinite(value) else None


def _panels(found: Moments) -> list[PanelRequest]:
    """Strip charts of what this airplane can move, with travel and strength drawn in."""
    force = [
        Limit(value=sign * level.force, label=level.name)
        for level in (PROLONGED, ONE_HAND, TWO_HANDS)
        for sign in (1.0, -1.0)
    ]
    airplane, setting = found.airplane.airplane, float(np.median(found.required.setting))
    drive, control = airplane.trim_drive, airplane.pitch_control
    shift = found.reach
    limits = {
        "needed_column_force": force,
        f"needed_{drive.kind}": [
            Limit(value=float(drive.travel_min) - setting, label="travel"),
            Limit(value=float(drive.travel_max) - setting, label="travel"),
        ]
        if drive.kind != "none"
        else [],
        "needed_elevator": [
            Limit(value=float(control.elevator_min), label="stop"),
            Limit(value=float(control.elevator_max), label="stop"),
        ],
        "needed_cg_shift": [
            Limit(value=shift.aft, label="all loose items aft"),
            Limit(value=shift.forward, label="all loose items forward"),
        ],
    }
    wanted = (
        "standing_coefficient",
        "needed_stabilizer",
        "needed_tab",
        "needed_elevator",
        "needed_column_force",
        "needed_cg_shift",
        "needed_thrust",
    )
    paths = moment_paths(found)
    return [
        PanelRequest(
            file=MOMENTS_FILE,
            variable=name,
            label=QUANTITIES[name].long_name,
            unit=QUANTITIES[name].unit,
            limits=limits.get(name, []),
        )
        for name in wanted
        if name in paths
    ]
