"""What is said in a film where the analyst wrote no storyboard, with its numbers bound.

A key in braces is printed from the findings when the film is made: see
`report.figures.studio.notes`.
"""

from __future__ import annotations

from neutralpoint.findings import Findings, ResponseFindings, ResponseRow
from neutralpoint.report.figures.display import clock
from neutralpoint.report.results import Results
from neutralpoint.report.sheet.choose import choose, with_judgement
from neutralpoint.report.words.acting import (
    NO_GUIDE,
    PAIRED,
    directions_said,
    height_said,
    recovered_words,
    side_word,
)
from neutralpoint.report.words.flights import heights_said, nearest_said
from neutralpoint.report.words.needs import FORCE, rule_words
from neutralpoint.report.words.outside import without_odds
from neutralpoint.report.words.ranges import (
    ASSUMED,
    ESTIMATES,
    NO_INTERVAL,
    rivals_of,
    turned_said,
)
from neutralpoint.report.words.uncertainty import HOW, best_said
from neutralpoint.vocabulary import CauseName

INVENTED = "Invented case: nothing in it took place."
END = "A track shows a path. It does not show anybody's intent, skill or error."
KEYS = {"median": "median", "band_50": "50%", "band_90": "90%, in brackets", "ring": "received"}
AHEAD = "Faint: what comes later. Airspeed and attitude are computed, not recorded."
NUMBERS = " Numbers: what was heard."
DERIVED = (
    "Rings are as received. Airspeed, attitude and load factor were not recorded: they are "
    "computed from track and weather."
)
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


def onset_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """About the onset."""
    return (
        AHEAD + NUMBERS * bool(findings.events),
        "The motion leaves ordinary flight at {motion.onset.left.2|clock} UTC; 90% of the "
        "probability lies between {motion.onset.left.0|clock} and {motion.onset.left.4|clock}.",
        *_extremes(findings, first, last),
    )


def after_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """After the onset: extremes that the table of key times names, then from where to where."""
    told = _extremes(findings, first, last)
    return (AHEAD, *told) if told else (AHEAD, _course(findings, first, last))


EXTREMES = {
    "highest load factor": ("normal_load_factor", ""),
    "steepest descent": ("flight_path_angle", "|deg"),
    "lowest load factor": ("normal_load_factor", ""),
}


def _extreme_keys(findings: Findings, first: float, last: float) -> list[tuple[str, str, str, str]]:
    """Extremes of a stretch: label, key of its time, keys of its median and of its 90%.

    They are extremes of every sample path, which the band at one moment does not show.
    """
    told = []
    for place, row in enumerate(findings.key_times):
        name, unit = EXTREMES.get(row.label, ("", ""))
        if first <= row.time <= last and name in row.values:
            key = f"key_times.{place}.values.{name}"
            sign = "" if unit else " g"
            band = f"(90%: {{{key}.low90{unit}}} to {{{key}.high90{unit}}})"
            told.append((row.label.capitalize(), f"{{key_times.{place}.time|clock}}",
                         f"{{{key}.median{unit}}}{sign}", band))  # fmt: skip
    return told


def _extremes(findings: Findings, first: float, last: float) -> list[str]:
    """Extremes of a stretch, each with its time."""
    return [f"{label} near {at} UTC: {median} {band}."
            for label, at, median, band in _extreme_keys(findings, first, last)]  # fmt: skip


def moment_captions(findings: Findings) -> tuple[str, ...]:
    """Of the column force that the path would have taken."""
    told = [
        "No force was recorded. This is what a pull (positive) or a push (negative) alone would "
        "have had to be, and no evidence that anybody did it."
    ]
    forces = [] if findings.moments is None else findings.moments.forces
    rules = [(i, row) for i, row in enumerate(forces) if "CFR" in row.source]
    if rules:
        listed = ", ".join(f"{{moments.forces.{i}.force|lb}} {row.name}" for i, row in rules)
        told.append(f"Design limits of rules: {listed} ({rule_words(rules[-1][1].source)}).")
    return tuple(told)


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


def models_said(results: Results) -> list[str]:
    """What the flights beside the data are, while the odds are not yet shown."""
    drawn = [cause.value for cause in _drawn(results.findings)]
    return [*nearest_said(results.findings, drawn), *heights_said(results)]


def _drawn(findings: Findings) -> list[CauseName]:
    """Causes whose nearest flights are drawn."""
    judged, chosen = with_judgement(findings), choose(with_judgement(findings))
    rows = [] if judged.judgement is None else judged.judgement.rows
    return [rows[i].cause for i in chosen.drawn]


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


def acting_captions(findings: Findings, rows: list[ResponseRow]) -> tuple[str, ...]:
    """Of time and strength: of each cause that the chart shows.

    Args:
        findings: The document.
        rows: Of the causes that are drawn.
    """
    found = findings.response
    if found is None or not rows:
        return ()
    return (*(_recovers(found, row) for row in rows), *height_said(rows, found), PAIRED)


def _recovers(found: ResponseFindings, row: ResponseRow) -> str:
    key, side = f"response.rows.{found.rows.index(row)}.reference_saved", side_word(row)
    return (
        f"If it was {row.cause.spoken.split(' (')[0]}{side and f', flown {side}'}: "
        f"{{{key}.share|%}} (95%: {{{key}.low95|%}} to {{{key}.high95|%}}) of simulated pilots "
        f"recover by \u201c{row.reference}\u201d begun after the reaction time of the case."
    )


def evidence_captions(findings: Findings) -> tuple[str, ...]:
    """Of evidence that is not in hand."""
    best = best_said(findings)
    return (f"{best}, on average." if best else "No item of the list would tell these apart.",)


def event_line(when: str, half_width: float, text: str) -> str:
    """Words or a sign at the moment that it was heard, with the error of its time."""
    return f"{when} \u00b1 {half_width:.0f} s   {text}"


def before_title(findings: Findings) -> str:
    """Of the flight before the onset."""
    return "Before {motion.onset.left.0|clock} UTC the flight is ordinary"


def onset_title(findings: Findings) -> str:
    """Of the flight about the onset."""
    return "Ordinary flight ends: {motion.onset.left.0|clock} to {motion.onset.left.4|clock} (90%)"


def after_title(findings: Findings, first: float, last: float) -> str:
    """Of the flight after the onset: its first extreme that the table of key times names."""
    told = _extreme_keys(findings, first, last)
    if not told:
        return "After the onset"
    label, at, median, _ = told[0]
    return f"{label}: {median} near {at} UTC"


def moment_title(findings: Findings) -> str:
    """Of the column force: the largest need for it."""
    judged = with_judgement(findings).judgement
    for i, row in enumerate([] if judged is None else judged.rows):
        for k, need in enumerate(row.needs):
            if need.quantity == FORCE and findings.judgement is not None:
                key = f"judgement.rows.{i}.needs.{k}"
                return f"Not recorded: a column pull of up to {{{key}.median|lb}} makes this path"
    return "Column force, not recorded"


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
