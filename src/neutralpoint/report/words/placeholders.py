"""Numbers of the findings by name, for texts that are to follow them."""

from __future__ import annotations

from neutralpoint.findings import Findings
from neutralpoint.report.words.phrases import percent, small_percent, time_of_day
from neutralpoint.report.words.tables import cell
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.cause import CauseName
from neutralpoint.vocabulary.quantity import DEGREE_SIGN

MOST_LETTERS = 60  # of the words of an event in the name of a number


def placeholders(findings: Findings) -> dict[str, str]:
    """What may stand in braces in a text, and what is printed for it now.

    Args:
        findings: The document.

    Returns:
        Words by name, in the order of the findings: values at key times with their bands, the
        onset, and the odds.
    """
    found: dict[str, str] = {}
    for entry in findings.key_times:
        label = entry.label[:MOST_LETTERS]
        found[f"time of {label}"] = f"{time_of_day(findings, entry.time)} UTC"
        for name, value in entry.values.items():
            said = cell(name, value)
            about = QUANTITIES[name]
            if said.value:
                unit = about.shown.symbol
                gap = "" if unit.startswith(DEGREE_SIGN) or not unit else " "
                words = f"{said.value}{gap}{unit} (90%: {said.span})"
                found[f"{about.title.lower()} at {label}"] = words
    return found | _onset(findings) | _odds(findings)


def _onset(findings: Findings) -> dict[str, str]:
    onset = None if findings.motion is None else findings.motion.onset
    if onset is None or not onset.found or not onset.left:
        return {}
    low, middle, high = (time_of_day(findings, onset.left[k]) for k in (0, 2, 4))
    return {
        "onset": f"{middle} UTC (90%: {low} to {high})",
        "probability of an onset": percent(onset.probability),
    }


def _odds(findings: Findings) -> dict[str, str]:
    if findings.weighing is None:
        return {}
    return {
        f"odds of {_title(row.cause)}": f"{small_percent(row.probability)} "
        f"({small_percent(row.lowest)} to {small_percent(row.highest)} by the networks)"
        for row in findings.weighing.rows
    }


def _title(cause: CauseName | str) -> str:
    return str(cause).replace("-", " ")
