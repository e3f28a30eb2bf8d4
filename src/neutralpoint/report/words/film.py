"""What is said in a film where the analyst wrote no storyboard, with its numbers bound.

A key in braces is printed from the findings when the film is made: see
`report.figures.studio.notes`.
"""

from __future__ import annotations

from neutralpoint.findings import Findings
from neutralpoint.report.figures.display import clock
from neutralpoint.report.sheet.choose import choose, with_judgement
from neutralpoint.report.words.acting import (
    direction_words,
    flat_reasons,
    recovered_words,
    side_word,
)
from neutralpoint.report.words.outside import without_odds

INVENTED = "Invented case: nothing in it took place."
END = "A track shows a path. It does not show anybody's intent, skill or error."
BANDS = "bands: 50%, 90%; in brackets: 90%"
MODELS = "Flown by a model from the last trimmed flight; the data are shown beside."


def _at(findings: Findings, seconds: float) -> str:
    epoch = findings.epoch
    return clock(seconds + epoch.hour * 3600 + epoch.minute * 60 + epoch.second)


def left_out(seconds: float, worst: str = "") -> str:
    """Where the film ends.

    Args:
        seconds: That are left out.
        worst: The leading cause, where its best flight fits worst there.

    Returns:
        A sentence or two.
    """
    if not seconds:
        return "Shown to the last moment of the record."
    told = f"The last {seconds:.0f} s of the record are left out."
    return f"{told} If it was {worst}: its best flight fits worst there." if worst else told


def flight_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """Of a flight without an onset."""
    a, b = _at(findings, first), _at(findings, first + 0.6 * (last - first))
    return (
        f"At {a} UTC: altitude {{pressure_altitude@{a}}}, airspeed {{calibrated_airspeed@{a}}}.",
        f"At {b} UTC: altitude {{pressure_altitude@{b}}}, airspeed {{calibrated_airspeed@{b}}}.",
    )


def before_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """Before the onset."""
    a, b = _at(findings, first), _at(findings, first + 0.55 * (last - first))
    return (
        f"At {a} UTC: altitude {{pressure_altitude@{a}}}, airspeed {{calibrated_airspeed@{a}}}.",
        f"At {b} UTC: vertical speed {{vertical_speed@{b}}}.",
    )


def onset_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """About the onset."""
    a, b = _at(findings, first), _at(findings, first + 0.88 * (last - first))
    return (
        f"At {a} UTC: pitch {{pitch_angle@{a}}}, load factor {{normal_load_factor@{a}}}.",
        "The motion leaves ordinary flight at {motion.onset.left.2|clock} UTC; 90% of the "
        "probability lies between {motion.onset.left.0|clock} and {motion.onset.left.4|clock}.",
        f"At {b} UTC: pitch {{pitch_angle@{b}}}, load factor {{normal_load_factor@{b}}}.",
    )


def after_captions(findings: Findings, first: float, last: float) -> tuple[str, ...]:
    """After the onset: extremes that the table of key times names, then the end."""
    told = []
    for row in findings.key_times:
        if first <= row.time <= last and row.label in ("highest load factor", "steepest descent",
                                                       "lowest load factor"):  # fmt: skip
            at = _at(findings, row.time)
            name = "flight_path_angle" if "descent" in row.label else "normal_load_factor"
            title = {
                "flight_path_angle": "path angle",
                "normal_load_factor": "load factor",
            }[name]
            told.append(f"{row.label.capitalize()} at {at} UTC: {title} {{{name}@{at}}}.")
    b = _at(findings, last - 0.15 * (last - first))
    told.append(
        f"At {b} UTC: altitude {{pressure_altitude@{b}}}, airspeed {{calibrated_airspeed@{b}}}."
    )
    return tuple(told)


def moment_captions(findings: Findings) -> tuple[str, ...]:
    """Of the required moment."""
    told = ["Column force that by itself would produce this path; a push is negative."]
    if findings.response is not None:
        told.append(
            "Rules allow {response.short_term|lb} with two hands, for a short time. A force "
            "beyond a limit shows what that cause would need, not that anybody applied it."
        )
    return tuple(told)


def cause_captions(findings: Findings) -> tuple[str, ...]:
    """Of the causes."""
    rows = [] if findings.weighing is None else findings.weighing.rows[:2]
    told = [MODELS]
    for place, row in enumerate(rows):
        told.append(
            f"{row.cause.title.split(' (')[0]}: odds {{weighing.rows.{place}.probability}} "
            f"(networks {{weighing.rows.{place}.lowest}} to {{weighing.rows.{place}.highest}}) "
            "among the causes listed and one unlisted."
        )
    return (*told, *_swayed(findings), *filter(None, [without_odds(findings)]))


def _swayed(findings: Findings) -> tuple[str, ...]:
    """How far the leading odds hang on what is assumed, which networks alone do not show."""
    sways = [] if findings.weighing is None else findings.weighing.sways
    ends = {
        f"weighing.sways.{place}.ends.{side}.probability": end.probability
        for place, row in enumerate(sways)
        for side, end in enumerate(row.ends)
    }
    if not ends:
        return ()
    least, most = min(ends, key=lambda k: ends[k]), max(ends, key=lambda k: ends[k])
    return (
        f"With one assumption moved at a time, the first of these runs from {{{least}}} to "
        f"{{{most}}}.",
    )


def acting_captions(findings: Findings) -> tuple[str, ...]:
    """Of time and strength: of the cause whose curves the chart shows."""
    place = choose(with_judgement(findings)).response
    if findings.response is None or place is None:
        return ()
    row, key = findings.response.rows[place], f"response.rows.{place}.reference_saved"
    told, side = row.cause.spoken.split(" (")[0], side_word(row)
    side = side and f", flown {side}"
    return (
        "Simulated pilots describe no actual person; a share is not a judgment of anybody.",
        f"If it was {told}: {direction_words(row)} {recovered_words(row)}",
        f"If it was {told}: {{{key}.share|%}} (95%: {{{key}.low95|%}} "
        f"to {{{key}.high95|%}}) of simulated pilots recover by \u201c{row.reference}\u201d begun "
        "after the reaction time of the case.",
        *(f"If it was {told}{side}: {text}" for text in flat_reasons(row, findings.response)[-1:]),
    )


def evidence_captions(findings: Findings) -> tuple[str, ...]:
    """Of evidence that is not in hand."""
    return (
        "Most informative: {evidence.items.0.item}; expected gain {evidence.items.0.bits} bits.",
        "Expected gains rest on tables that are analyst's estimates.",
    )


def event_line(when: str, half_width: float, text: str) -> str:
    """Words or a sign at the moment that it was heard, with the error of its time."""
    return f"{when} \u00b1 {half_width:.0f} s   {text}"
