"""What is said in a film where the analyst wrote no storyboard, with its numbers bound.

A key in braces is printed from the findings when the film is made: see
`report.figures.studio.notes`.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

import numpy as np

from neutralpoint.findings import Findings, ResponseFindings, ResponseRow
from neutralpoint.quantities import POUND_FORCE
from neutralpoint.report.figures.display import clock
from neutralpoint.report.results import Results
from neutralpoint.report.sheet.choose import with_judgement
from neutralpoint.report.words.acting import (
    NO_GUIDE,
    PAIRED,
    begun,
    counted,
    delay_of,
    directions_said,
    height_said,
    recovered_words,
    side_word,
)
from neutralpoint.report.words.flights import rests_said
from neutralpoint.report.words.needs import FORCE, rule_words
from neutralpoint.report.words.outside import without_odds
from neutralpoint.report.words.ranges import (
    ASSUMED,
    ESTIMATES,
    NO_INTERVAL,
    rivals_of,
    turned_said,
)
from neutralpoint.report.words.uncertainty import HOW, best_said, outcomes_said

INVENTED = "Invented case: nothing in it took place."
END = "A track shows a path. It does not show anybody's intent, skill or error."
KEYS = {
    "median": "median", "band_50": "50%", "band_90": "90%, in brackets", "ring": "received",
    "cross": "not used",
}  # fmt: skip
AHEAD = "Faint: what comes later; every value rests on the whole track."
NUMBERS = " Numbers in boxes: what was heard, listed below from then on."
SHADED = "Gray: when steady flight ended, 90%."
DERIVED = (
    "Rings are as received. Airspeed, attitude and load factor were not recorded: they are "
    "computed from track and weather."
)
BEST_OF_FEW = "Curves: of a few simulated flights of each cause the one that misses least."
MODELS = "Flown by a model from the last trimmed flight; the data are shown beside."
LONGEST = 150  # characters of the title of a chapter


def _at(findings: Findings, seconds: float) -> str:
    epoch = findings.epoch
    return clock(seconds + epoch.hour * 3600 + epoch.minute * 60 + epoch.second)


def flight_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """Of a flight without an onset."""
    return (DERIVED, _course(findings, first, last))


def before_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """Before the onset."""
    return (DERIVED, _course(findings, first, last))


def _course(findings: Findings, first: float, last: float) -> str:
    """From where to where a stretch goes; said of its end, when both are there to be seen."""
    a, b = _at(findings, first), _at(findings, first + 0.6 * (last - first))
    return (
        f"From {a} to {b} UTC the altitude goes from {{pressure_altitude@{a}}} to "
        f"{{pressure_altitude@{b}}}."
    )


def onset_captions(
    findings: Findings, extremes: Extremes, first: float, last: float
) -> tuple[str, ...]:
    """About the onset."""
    return (
        f"{AHEAD} {SHADED}" + NUMBERS * bool(findings.events),
        "The motion leaves ordinary flight at {motion.onset.left.2|clock} UTC; 90% of the "
        "probability lies between {motion.onset.left.0|clock} and {motion.onset.left.4|clock}.",
        *_extremes(findings, extremes, first, last),
    )


def after_captions(
    findings: Findings, extremes: Extremes, first: float, last: float
) -> tuple[str, ...]:
    """After the onset: extremes that the table of key times names, then from where to where."""
    told = _extremes(findings, extremes, first, last)
    return (AHEAD, *told) if told else (AHEAD, _course(findings, first, last))


EXTREMES = {
    "highest load factor": ("normal_load_factor", True),
    "steepest descent": ("flight_path_angle", False),
    "lowest load factor": ("normal_load_factor", False),
}
Extremes = Mapping[str, float]


def extremes_of(results: Results) -> dict[str, float]:
    """When the median curve of a quantity has its extreme, s after the epoch, by label.

    One definition for titles, captions and the value at the cursor: that of the curve drawn. The
    extreme of every sample path, which the table of key times has, is a little further out.
    """
    told = {}
    for label, (quantity, highest) in EXTREMES.items():
        bands = results.bands.get(quantity)
        known = None if bands is None else np.isfinite(bands[2])
        if bands is None or known is None or not known.any():
            continue
        empty = -np.inf if highest else np.inf
        median = np.where(known, bands[2], empty)
        place = int(np.argmax(median) if highest else np.argmin(median))
        told[label] = float(results.time[place])
    return told


def _extreme_keys(
    findings: Findings, extremes: Extremes, first: float, last: float
) -> list[tuple[str, str, str, str]]:
    """Extremes of the curves in a stretch: label, quantity, clock, and key of the value there."""
    told = []
    for label in (row.label for row in findings.key_times):
        time = extremes.get(label, np.inf)
        if label in EXTREMES and first <= time <= last:
            quantity = EXTREMES[label][0]
            at = findings.epoch + timedelta(seconds=round(time, 2))
            key = f"{{{quantity}@{at.time().isoformat('milliseconds')}}}"
            told.append(
                (label.capitalize().replace(" ", " median ", 1), quantity, _at(findings, time), key)
            )
    return told


def _extremes(findings: Findings, extremes: Extremes, first: float, last: float) -> list[str]:
    """Extremes of a stretch, each with its time."""
    return [f"{label} near {at} UTC: {key}."
            for label, _, at, key in _extreme_keys(findings, extremes, first, last)]  # fmt: skip


def moment_captions(findings: Findings) -> tuple[str, ...]:
    """Of the column force that the path would have taken."""
    told = [
        "No force was recorded. Pull positive, push negative: what it alone would have had to be, "
        "and no evidence that anybody did it. A failure may give the same path without it. "
        f"{SHADED}",
        *_largest(findings),
    ]
    forces = [] if findings.moments is None else findings.moments.forces
    rules = [(i, row) for i, row in enumerate(forces) if "CFR" in row.source]
    if rules:
        listed = ", ".join(f"{{moments.forces.{i}.force|lb}} {row.name}" for i, row in rules)
        told.append(f"Certification limits: {listed} ({rule_words(rules[-1][1].source)}).")
    return tuple(told)


def _largest(findings: Findings) -> list[str]:
    """That the largest force of each path is more than the largest of the median curve."""
    judged = with_judgement(findings).judgement
    needs = [] if judged is None else [need for row in judged.rows for need in row.needs]
    need = next((need for need in needs if need.quantity == FORCE), None)
    if need is None:
        return []
    median, low, high = (f"{v / POUND_FORCE:.0f}" for v in (need.median, need.low90, need.high90))
    return [
        "Drawn: the median at each moment. The largest of each path, at its own moment: "
        f"{median} lb (90%: {low} to {high})."
    ]


def cause_captions(findings: Findings) -> tuple[str, ...]:
    """Of the causes: the range over the assumptions first."""
    found = findings.weighing
    rows = [] if found is None else found.rows[:2]
    told = [MODELS]
    for place, row in enumerate(rows):
        key = f"weighing.rows.{place}"
        ends = ("lowest", "highest") if row.least is None else ("least", "most")
        how = ESTIMATES if row.least is None else f"{ASSUMED}, {NO_INTERVAL}"
        near = (
            ""
            if row.nearest is None
            else (
                f" Its nearest flight, on which that does not rest, misses by "
                f"{{{key}.nearest.distance}} standard deviations."
            )
        )
        told.append(
            f"{row.cause.title.split(' (')[0]}: {{{key}.{ends[0]}}} to {{{key}.{ends[1]}}} "
            f"({how}); as weighed {{{key}.probability}}.{near}"
        )
    turned = "" if found is None else turned_said(found)
    return (*told, *filter(None, [turned, without_odds(findings)]))


def models_said(findings: Findings) -> list[str]:
    """What the flights beside the data are, while the odds are not yet shown."""
    found = findings.weighing
    return [BEST_OF_FEW, *([] if found is None else [rests_said(found)])]


def acting_said(findings: Findings, rows: list[ResponseRow]) -> str:
    """What every picture of time to act must bear: whose, no guide, and what recovered means.

    Args:
        findings: The document.
        rows: Of the causes that are drawn.
    """
    if findings.response is None or not rows:
        return ""
    return " ".join([NO_GUIDE, *directions_said(rows), recovered_words(rows[0])])


def evidence_said(findings: Findings) -> str:
    """What every picture of next evidence must bear."""
    return " ".join(HOW[:2])


def acting_captions(
    findings: Findings, rows: list[ResponseRow], pilots: list[int | None]
) -> tuple[str, ...]:
    """Of time and strength: how many recover, of each cause that the chart shows.

    No latest action in seconds: beside the clock of a track it would read as a deadline of a crew.

    Args:
        findings: The document.
        rows: Of the causes that are drawn.
        pilots: That were flown of each; None where the file does not say.
    """
    found = findings.response
    if found is None or not rows:
        return ()
    told = [_recovered(found, row, count) for row, count in zip(rows, pilots, strict=True)]
    return (*filter(None, told), *height_said(rows, found), PAIRED)


def _recovered(found: ResponseFindings, row: ResponseRow, pilots: int | None) -> str:
    """How many simulated pilots recover by each procedure, the one that saves most first."""
    at, side = delay_of(found), side_word(row)
    shares = sorted(
        ((one.by_delay[at], one.procedure) for one in begun(row, found)),
        key=lambda pair: -pair[0].share,
    )
    told = [f"\u201c{name}\u201d recovers {counted(share, pilots)}" for share, name in shares]
    toward = f" toward {side}" if side else ""
    return (
        f"If it was {row.cause.spoken.split(' (')[0]}{toward}: {', '.join(told)} of the simulated "
        "pilots. In this model; no guide to training."
        if told
        else ""
    )


def evidence_captions(findings: Findings) -> tuple[str, ...]:
    """Of evidence that is not in hand."""
    found, best = findings.evidence, best_said(findings)
    weighing = findings.weighing
    if found is None or weighing is None or not best:
        return ("No item of the list would tell these apart.",)
    first = max(found.items, key=lambda item: item.bits)
    return tuple(filter(None, [f"{best}.", outcomes_said(first, weighing)]))


def event_line(when: str, half_width: float, text: str) -> str:
    """Words or a sign at the moment that it was heard, with the error of its time."""
    return f"{when} \u00b1 {half_width:.0f} s   {text}"


def before_title(findings: Findings) -> str:
    """Of the flight before the onset."""
    return "Steady flight until {motion.onset.left.0|clock} UTC (95% probable)"


def onset_title(findings: Findings) -> str:
    """Of the flight about the onset."""
    return (
        "The path leaves steady flight: {motion.onset.left.0|clock} to "
        "{motion.onset.left.4|clock} (90%)"
    )


def after_title(
    findings: Findings, extremes: Extremes, first: float, last: float
) -> tuple[str, str]:
    """Of the flight after the onset: its first extreme, and the quantity that shows it."""
    told = _extreme_keys(findings, extremes, first, last)
    if not told:
        return "After the onset", ""
    label, quantity, at, key = told[0]
    return f"{label} near {at} UTC: {key}", quantity


def moment_title(findings: Findings) -> str:
    """Of the column force: what it is told of, and never that somebody did it."""
    judged = with_judgement(findings).judgement
    needs = [] if judged is None else [need for row in judged.rows for need in row.needs]
    force = next((need.median for need in needs if need.quantity == FORCE), None)
    side = "column force" if force is None else "column pull" if force >= 0.0 else "column push"
    return f"If nothing had failed, this path would have taken this {side}"


def causes_title(findings: Findings) -> str:
    """Of the candidate causes: how many may lead."""
    found, judged = findings.weighing, with_judgement(findings).judgement
    if found is None or not found.rows:
        return "Candidate causes"
    if judged is not None and judged.fit.none_near is True:
        return "No listed cause comes near this track"
    rivals = rivals_of(found)
    if len(rivals) > 1:
        any_of = "either of 2" if len(rivals) == 2 else f"any of {len(rivals)}"
        return f"Not settled: {any_of} causes may lead"
    return f"{rivals[0].cause.title.split(' (')[0]} leads, as far as assumptions were changed"


def evidence_title(findings: Findings) -> str:
    """Of evidence that is not in hand."""
    told = best_said(findings).split(";")[0].split(":")[0]
    return told[:LONGEST] or "Next evidence"
