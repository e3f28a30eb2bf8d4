"""What is said of the required moment."""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import (
    Curve,
    CurveMark,
    Discrimination,
    Findings,
    Limit,
    MomentsFindings,
    PanelRequest,
    SectionTable,
    StageSection,
    Statement,
)
from neutralpoint.quantities import INCH, POUND
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.onset import (
    moved_statements,
    reference_statements,
    reference_tables,
    stated_onset,
)
from neutralpoint.report.words.phrases import (
    aside,
    band_words,
    degrees,
    derived,
    inferred,
    percent,
    pounds,
    small_percent,
)
from neutralpoint.report.words.verdicts import cause_verdict, judged_statement, verdict_score
from neutralpoint.vocabulary import QUANTITIES

FREE = (
    "Controls free. Column force by a pilot cannot be separated from the cause, so the growth is "
    "that of both together."
)
UNSTEADY = (
    "No stretch is as steady as trimmed flight; this is the steadiest. Speed or load factor change "
    "in it, so results hold only if it was trimmed. State `analysis.reference_start` and "
    "`reference_end`, or an `onset`, where known."
)
# benchmarks/results/moments_recovery.md, calibration of the scaling test.
LOW = (
    " A low probability of a surface is no evidence for a load: of simulated flights given less "
    "than 30%, half had been made by a surface."
)
CLEAR = 0.95  # probability from which a change of thrust is stated
LAWS = {
    "surface, step": "a surface that moved at once",
    "surface, ramp": "a steadily moving surface",
    "center of gravity, step": "a load that shifted at once",
    "center of gravity, slide": "a load that slid",
}
MARKS = {
    "travel": "travel",
    "stop": "stop",
    "loose-aft": "all loose items aft",
    "loose-forward": "all loose items forward",
}


def moments_section(found: MomentsFindings, findings: Findings) -> StageSection:
    """The section of the required moment, identifiability first.

    Args:
        found: Of the stage.
        findings: The document, for its clock and its onset.

    Returns:
        The section.
    """
    given = found.stated_onset
    statements = [] if given is None else [stated_onset(given, findings)]
    statements += [
        aside(_reference(found)),
        *map(aside, judged_statement(found)),
        *map(aside, reference_statements(found, findings)),
        *map(aside, moved_statements(found)),
    ]
    tables = [aside(table) for table in reference_tables(found, findings)]
    if found.discrimination is not None:
        statements += _discrimination(found, found.discrimination)
        tables.append(aside(_discrimination_table(found.discrimination)))
    return StageSection(
        stage="moments",
        title=STAGES["moments"],
        statements=[*statements, *_rate(found), *_thrust(found), *map(aside, _lost(found))],
        verdicts=[cause_verdict(one, found) for one in found.verdicts],
        scores=[verdict_score(one) for one in found.scores],
        tables=[*tables, _forces(found), *_loads(found)],
        panels=[_panel(curve, found.file) for curve in found.curves],
    )


def _after(found: MomentsFindings, time: float) -> str:
    return f"{time - found.first:.0f} s"


def _reference(found: MomentsFindings) -> Statement:
    return derived(
        f"Reference: the last trimmed flight, {_after(found, found.reference_from)} to "
        f"{_after(found, found.reference_to)} after the start of the record. Changes are counted "
        f"from it, smoothed over {found.window:.1f} s.",
        f"{found.file}: is_reference",
        caution="" if found.steady else UNSTEADY,
    )


def law(name: str) -> str:
    """A way in which the moment may grow, as people say it."""
    return LAWS.get(name, name)


def _discrimination(found: MomentsFindings, test: Discrimination) -> list[Statement]:
    """How well the data could tell, then what they tell."""
    weak = "" if test.separable else " Not every growth can be told from the next."
    each = ", ".join(
        f"{law(name)} {percent(row[i])}"
        for i, (name, row) in enumerate(zip(test.laws, test.power, strict=True))
    )
    best = int(np.argmax(test.posterior))
    basis = f"{found.file}: standing_coefficient"
    return [
        derived(
            "Discrimination test: with data of this quality a control-surface change would be "
            f"told from a CG shift {percent(test.surface_power)} of the "
            f"time; the true growth would be given, on average, {each}.{weak}",
            basis,
        ),
        inferred(
            f"The moment grew as it would with {law(test.laws[best])} "
            f"({percent(test.posterior[best])}, equal priors); with a moved surface of either "
            f"kind {percent(test.surface)}.",
            basis,
            caution=FREE + LOW * (test.surface < 0.5),
        ),
    ]


def _discrimination_table(test: Discrimination) -> SectionTable:
    return SectionTable(
        caption="Discrimination test: mean probability given to each growth (columns) on trial "
        "data made by the growth of the row, and, last, on the data of this flight",
        kind="derived",
        columns=["true growth", *map(law, test.laws), "this flight"],
        rows=[
            [law(name), *map(percent, row), percent(own)]
            for name, row, own in zip(test.laws, test.power, test.posterior, strict=True)
        ],
    )


def _rate(found: MomentsFindings) -> list[Statement]:
    rate = found.rate
    if rate is None:
        return []
    text = (
        f"Required rate if the {rate.drive} alone produced this path: {degrees(rate.median)} deg/s "
        f"over {rate.span:g} s {band_words(degrees(rate.low90), degrees(rate.high90))}, "
        f"{_after(found, rate.time)} after the start of the record."
    )
    basis = f"{found.file}: needed_{rate.drive}"
    if not rate.motor:
        return [derived(f"{text} The pitch trim has no motor.", basis)]
    return [
        derived(
            f"{text} The motor makes {degrees(rate.loaded)} deg/s loaded and "
            f"{degrees(rate.unloaded)} deg/s with no load. Probability that the required rate "
            f"exceeds the loaded rate {small_percent(rate.beyond_loaded)}, the no-load rate "
            f"{small_percent(rate.beyond_unloaded)}.",
            basis,
            caution="A motor moves at its rate; a step does not come from a motor.",
        )
    ]


def _thrust(found: MomentsFindings) -> list[Statement]:
    change = found.thrust
    if change is None:
        return []
    word = "is not shown to have changed"
    if change.fell > CLEAR:
        word = "fell"
    elif change.rose > CLEAR:
        word = "rose"
    return [
        derived(
            f"Thrust {word}: {pounds(change.before)} along the path in trimmed flight, changed by "
            f"{pounds(change.change)} {band_words(pounds(change.low90), pounds(change.high90))}. "
            f"Probability that it fell {small_percent(change.fell)}, rose "
            f"{small_percent(change.rose)}, was at "
            f"idle or less {small_percent(change.idle)}.",
            f"{found.file}: needed_thrust",
            f"{found.file}: idle_thrust",
            caution="Drag of gear, flaps or sideslip counts as lost thrust.",
        )
    ]


def _lost(found: MomentsFindings) -> list[Statement]:
    if not found.lost:
        return []
    listed = ", ".join(
        f"{_lowered(QUANTITIES[name].title)} {percent(share)}" for name, share in found.lost.items()
    )
    return [
        derived(
            f"Not observable, in share of the time: {listed}.",
            *(f"{found.file}: observable_{name}" for name in found.lost),
        )
    ]


def _lowered(title: str) -> str:
    return title[:1].lower() + title[1:]


def _forces(found: MomentsFindings) -> SectionTable:
    return SectionTable(
        caption="Column force that by itself would produce this path (trim unchanged): time above "
        "each limit of rules and of measured strength, median and 90% band",
        kind="derived",
        columns=["limit", "force", "time above", "probability that it is exceeded", "source"],
        rows=[
            [
                row.name,
                pounds(row.force),
                f"{row.median:.0f} s ({row.low90:.0f} to {row.high90:.0f})",
                percent(row.probability),
                row.source,
            ]
            for row in found.forces
        ],
    )


def _loads(found: MomentsFindings) -> list[SectionTable]:
    if not found.loads:
        return []
    return [
        SectionTable(
            caption="Load: how far each listed item could move the center of gravity (aft "
            "positive), and the p-value of flights on which it alone moved and stayed there, hands "
            "off",
            kind="derived",
            columns=["item", "mass", "held", "reach", "p-value"],
            rows=[
                [
                    row.name,
                    f"{row.mass / POUND:,.0f} lb ({row.mass:,.0f} kg)",
                    "loose" if row.loose else "counts as fixed",
                    f"{row.forward / INCH:+.1f} to {row.aft / INCH:+.1f} in",
                    "not observable" if row.probability is None else percent(row.probability),
                ]
                for row in found.loads
            ],
        )
    ]


def _panel(curve: Curve, file: str) -> PanelRequest:
    quantity = QUANTITIES[curve.quantity]
    return PanelRequest(
        file=file,
        variable=curve.variable,
        label=quantity.title,
        unit=quantity.unit,
        limits=[Limit(value=mark.value, label=_mark(mark)) for mark in curve.marks],
    )


def _mark(mark: CurveMark) -> str:
    return mark.strength if mark.kind == "strength" else MARKS[mark.kind]
