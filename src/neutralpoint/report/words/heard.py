"""What is said of what was heard."""

from __future__ import annotations

import math

from neutralpoint.findings import (
    Banded90,
    Findings,
    HeardCall,
    HeardEffort,
    HeardFindings,
    HeardPass,
    HeardRecording,
    HeardTone,
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
    tables = [_table(found, findings), _events(found, findings), _calls(found, findings)]
    return StageSection(
        stage="heard",
        title=STAGES["heard"],
        cautions=[CAUTION],
        statements=[said for one in found.recordings for said in _said(one, found, findings)]
        + [_effort(one, found) for one in found.efforts],
        tables=[table for table in tables if table.rows],
    )


def _said(one: HeardRecording, found: HeardFindings, findings: Findings) -> list[Statement]:
    """Everything that is said of one recording."""
    said = [_recording(one, found)]
    if one.passed is not None:
        said.append(_passed(one.name, one.passed, findings))
    if one.second is not None or one.beat is not None:
        said.append(_two(one, found))
    heard = [tone for tone in one.tones if tone.reached]
    if heard:
        said.append(_tones(one, heard, found, findings))
    if one.carrier is not None:
        on = sum(span.end - span.begin for span in one.carrier)
        said.append(
            derived(
                f"{one.name}: the channel was in use {len(one.carrier)} times, {on:.0f} s in all.",
                f"findings.json: heard; {found.file}",
            )
        )
    return said


def _two(one: HeardRecording, found: HeardFindings) -> Statement:
    parts = []
    if one.second is not None:
        parts.append(f"a second line stands at {_rotation(one.second)}")
    if one.beat is not None:
        low, mid, high = (f"{v / TURNS:.1f}" for v in _three(one.beat))
        parts.append(f"the propellers beat: they differ by {mid} rpm (90%: {low} to {high})")
    return inferred(
        f"{one.name}: {'; '.join(parts)}. Sound does not say which engine turns faster.",
        f"findings.json: heard; {found.file}",
    )


def _tones(
    one: HeardRecording, heard: list[HeardTone], found: HeardFindings, findings: Findings
) -> Statement:
    def spans(tone: HeardTone) -> str:
        if not tone.spans:
            return f"{tone.name} ({tone.frequency:.0f} Hz) not heard"
        first = ", ".join(
            f"{time_of_day(findings, s.begin)} to {time_of_day(findings, s.end)}"
            for s in tone.spans[:3]
        )
        more = f" and {len(tone.spans) - 3} times more" if len(tone.spans) > 3 else ""
        return f"{tone.name} ({tone.frequency:.0f} Hz) heard {first}{more}"

    return inferred(
        f"{one.name}: {'; '.join(map(spans, heard))}.",
        f"findings.json: heard; {found.file}",
        caution="A tone of that frequency may be another's; one not heard may have been masked.",
    )


def _effort(one: HeardEffort, found: HeardFindings) -> Statement:
    low, mid, high = (f"{v:.1f}" for v in _three(one.rise))
    return inferred(
        f"Pitch of {one.speaker}: {mid} semitones (90%: {low} to {high}) higher after the onset "
        "than in the earlier calls.",
        f"findings.json: heard; {found.file}",
        caution="Weak evidence of effort alone; it says nothing of who spoke, of emotion or of "
        "intent.",
    )


def _three(band: Banded90) -> tuple[float, float, float]:
    return band.low90, band.median, band.high90


def _rotation(band: Banded90) -> str:
    low, mid, high = (f"{v / TURNS:,.0f}" for v in _three(band))
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
        low, mid, high = (f"{v / KNOT:.0f}" for v in _three(band))
        return f"{mid} kt (90%: {low} to {high})"

    beside = "" if said.path_speed is None else f"; the track gives {knots(said.path_speed)}"
    return inferred(
        f"{name}: by the fall of its pitch alone the airplane passed the microphone at "
        f"{time_of_day(findings, said.closest)} UTC with {knots(said.speed)} over the "
        f"ground{beside}.",
        "Ferguson and Quinn, J. Acoust. Soc. Am. 96 (1994) 821",
        caution="A straight pass at constant speed is assumed, with half the wind aloft between.",
    )


def _table(found: HeardFindings, findings: Findings) -> SectionTable:
    def span(one: HeardRecording) -> str:
        if one.begin is None or one.end is None:
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


def _events(found: HeardFindings, findings: Findings) -> SectionTable:
    words = {"begins": "line begins", "ends": "line ends", "rises": "rises", "falls": "falls"}
    return SectionTable(
        caption="What the blade rates did",
        kind="derived",
        columns=["File", "UTC", "What", "Change"],
        rows=[
            [
                one.name,
                time_of_day(findings, event.time),
                words[event.kind],
                f"{100.0 * event.share:+.1f}%" if event.share else "\u2013",
            ]
            for one in found.recordings
            for event in one.events
        ],
        detail=True,
    )


def _calls(found: HeardFindings, findings: Findings) -> SectionTable:
    def pitch(call: HeardCall) -> list[str]:
        if call.pitch is None or call.quartiles is None:
            return ["too little voiced", "\u2013"]
        return [f"{call.pitch:.0f} Hz", "{:.0f} to {:.0f} Hz".format(*call.quartiles)]

    return SectionTable(
        caption="Calls, by the speakers that the analyst names",
        kind="derived",
        columns=["File", "Speaker", "UTC", "Pitch", "Half of the call"],
        rows=[
            [one.name, call.speaker, time_of_day(findings, call.begin), *pitch(call)]
            for one in found.recordings
            for call in one.calls
        ],
        detail=True,
    )
