"""What is said of what was heard."""

from __future__ import annotations

import math

from neutralpoint.findings import (
    Banded90,
    Findings,
    HeardFindings,
    HeardPass,
    HeardRecording,
    SectionTable,
    StageSection,
    Statement,
)
from neutralpoint.quantities import KNOT
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.phrases import derived, inferred, small_percent, time_of_day

CAUTION = (
    "a constant-speed propeller hides a change of power until it reaches its stop, and a line may "
    "be another machine's; nothing here tells who spoke, or what anyone felt or meant."
)
TURNS = 2.0 * math.pi / 60.0  # rad/s of one a minute
SILENT = {
    "no-line": "no blade rate can be followed in it about the onset",
    "not-then": "it does not cover the onset",
    "unreadable": "it cannot be used",
}
MICROPHONES = {"cockpit": "cockpit", "radio": "radio", "ground": "on the ground"}


def heard_section(findings: Findings) -> StageSection | None:
    """The section of what was heard.

    Args:
        findings: The document.

    Returns:
        The section; None where the stage has no results.
    """
    found = findings.heard
    if found is None:
        return None
    return StageSection(
        stage="heard",
        title=STAGES["heard"],
        cautions=[CAUTION],
        statements=[
            *(_recording(one, found) for one in found.recordings),
            *(_passed(one.name, one.passed, findings) for one in found.recordings if one.passed),
        ],
        tables=[_table(found, findings)],
    )


def _rotation(band: Banded90) -> str:
    low, mid, high = (f"{v / TURNS:,.0f}" for v in (band.low90, band.median, band.high90))
    return f"{mid} rpm (90%: {low} to {high})"


def _recording(one: HeardRecording, found: HeardFindings) -> Statement:
    if one.before is None or one.after is None:
        why = SILENT[one.silent or "no-line"]
        reason = f": {one.reason}" if one.reason else "."
        return derived(
            f"{one.name} can say nothing of the propellers at the onset: {why}{reason}",
            f"findings.json: heard; {found.file}",
        )
    return inferred(
        f"{one.name}: rotation {_rotation(one.before)} before the onset and "
        f"{_rotation(one.after)} after it; the probability of a change by more than "
        f"{100.0 * found.step:.0f}% is {small_percent(one.changed)}.",
        f"findings.json: heard; {found.file}",
    )


def _passed(name: str, said: HeardPass | None, findings: Findings) -> Statement:
    if said is None:
        raise ValueError("a recording without a pass has none to tell")

    def knots(band: Banded90) -> str:
        low, mid, high = (f"{v / KNOT:.0f}" for v in (band.low90, band.median, band.high90))
        return f"{mid} kt (90%: {low} to {high})"

    beside = "" if said.path_speed is None else f"; the track gives {knots(said.path_speed)}"
    return inferred(
        f"{name}: by the fall of its pitch alone the airplane passed the microphone at "
        f"{time_of_day(findings, said.closest)} UTC with {knots(said.speed)} over the "
        f"ground{beside}.",
        "Ferguson and Quinn, J. Acoust. Soc. Am. 96 (1994) 821",
        caution="A straight pass at constant speed is assumed; wind along the way is left out.",
    )


def _table(found: HeardFindings, findings: Findings) -> SectionTable:
    def span(one: HeardRecording) -> str:
        if one.silent == "unreadable":
            return "\u2013"
        return f"{time_of_day(findings, one.begin)} to {time_of_day(findings, one.end)}"

    return SectionTable(
        caption="Recordings",
        kind="derived",
        columns=["File", "Microphone", "UTC", "Blade rate followed", "Source"],
        rows=[
            [one.name, MICROPHONES[one.microphone], span(one), small_percent(one.present),
             one.source]
            for one in found.recordings
        ],
    )  # fmt: skip
