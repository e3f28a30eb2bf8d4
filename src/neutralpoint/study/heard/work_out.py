"""The recordings of a case: read about the flight, and everything found that they tell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.case import Case, track_seconds
from neutralpoint.case.clocks import read_clocks
from neutralpoint.case.files import read_source
from neutralpoint.case.recording_entry import RecordingEntry
from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.sources.recording import read_recording
from neutralpoint.study.heard.propellers import AboutOnset, HeardLine, about_onset, propellers
from neutralpoint.study.heard.sounds import (
    CallHeard,
    EffortHeard,
    Spans,
    ToneHeard,
    call_in,
    carrier_in,
    efforts,
    tones_in,
)
from neutralpoint.study.motion.file import KeptMotion

BEFORE, AFTER = 60.0, 120.0  # s about the readings that are listened to; analyst's
LONGEST = 1800.0  # s that are listened to, the last of them; analyst's
LONGEST_CALL = 120.0  # s
SOON = 20.0  # s after the onset in which a moving trim tells of it; analyst's


@dataclass(frozen=True)
class HeardRecord:
    """One recording that could be read.

    Attributes:
        entry: Of the case.
        line: Its propellers; None where it lies apart from the readings, or is of a radio that
            lets no blade rate through.
        tones: Tones of the airplane file in it.
        carrier: When a carrier was on; None where loudness does not tell, or no radio.
        calls: Calls whose pitch was looked for.
    """

    entry: RecordingEntry
    line: HeardLine | None
    tones: list[ToneHeard]
    carrier: Spans | None
    calls: list[CallHeard]


@dataclass(frozen=True)
class HeardAll:
    """All recordings, and when the onset was.

    Attributes:
        records: Those that could be read.
        refused: Those that could not, and why.
        onset: s after the epoch; None where none is known.
        efforts: Pitch of later calls against earlier ones.
    """

    records: list[HeardRecord]
    refused: list[tuple[RecordingEntry, NeutralPointError]]
    onset: float | None
    efforts: list[EffortHeard]


def without_recordings(case: Case) -> str:
    """Why a case has nothing to be heard; empty where it has."""
    if case.document.recordings:
        return ""
    return "The case names no recordings: add `[[recordings]]` to hear the propellers."


def hear(case: Case, motion: KeptMotion) -> HeardAll:
    """Listen to every recording of a case.

    Args:
        case: The case.
        motion: Its motion.

    Returns:
        What was heard; a recording that cannot be read stops no other.
    """
    records, refused = [], []
    for number, entry in enumerate(case.document.recordings, start=1):
        try:
            records.append(_record(case, motion, entry, f"case.toml: recordings[{number}].file"))
        except NeutralPointError as error:
            refused.append((entry, error))
    onset = case.analysis.onset
    if onset is None and motion.onsets.found:
        onset = motion.onsets.median
    calls = [call for record in records for call in record.calls]
    return HeardAll(records, refused, onset, efforts(calls, onset))


def _record(case: Case, motion: KeptMotion, entry: RecordingEntry, key: str) -> HeardRecord:
    clock = None if entry.clock is None else read_clocks(case.document)[entry.clock]
    off = 0.0 if clock is None else clock.offset
    start = track_seconds(entry.start, case.track) - off
    begin = max(0.0, float(motion.time[0]) - BEFORE - start)
    end = float(motion.time[-1]) + AFTER - start
    spans = [(max(begin, end - LONGEST), end)]
    for call in entry.calls:
        first, last = (track_seconds(t, case.track) - off - start for t in (call.begin, call.end))
        spans.append((max(0.0, first), min(last, first + LONGEST_CALL)))
    file = read_source(case.folder, entry.file, key)
    recording = read_recording(file.data, entry.file, spans)
    samples, rate, begin = recording.parts[0], recording.rate, start + spans[0][0]
    if not samples.size and not entry.calls:
        raise NeutralPointError(
            "argument-invalid",
            f"{entry.file} ends before the readings begin, or begins after they end.",
            where=key,
            hint="Look at `start` of the recording, and at the offset of its clock.",
        )
    document = None if case.airplane is None else case.airplane.document
    calls = [
        call_in(call.speaker, part, rate, start + span[0])
        for call, part, span in zip(entry.calls, recording.parts[1:], spans[1:], strict=True)
    ]
    return HeardRecord(
        entry,
        _line(motion, entry, samples, rate, begin, key),
        tones_in(() if document is None else document.tones, samples, rate, begin),
        carrier_in(samples, rate, begin) if entry.kind == "radio" else None,
        calls,
    )


def _line(
    motion: KeptMotion, entry: RecordingEntry, samples: Array, rate: float, begin: float, key: str
) -> HeardLine | None:
    """The propellers; None of a radio or an earlier tape that cannot hold them."""
    try:
        return propellers(motion, entry, samples, rate, begin, key)
    except NeutralPointError:
        if entry.kind == "radio" or not samples.size:
            return None
        raise


@dataclass(frozen=True)
class Telling:
    """What recordings say of the causes.

    Attributes:
        lines: File, and probability that the blade rate changed at the onset.
        trim: File, and probability that the trim was heard to move soon after the onset.
        efforts: Pitch of later calls.
    """

    lines: tuple[tuple[str, float], ...] = ()
    trim: tuple[tuple[str, float], ...] = ()
    efforts: tuple[EffortHeard, ...] = ()


NOTHING_HEARD = Telling()


def telling(found: HeardAll | None) -> Telling:
    """What tells of the causes, where the onset is known.

    Args:
        found: All recordings; None where there are none.
    """
    if found is None or found.onset is None:
        return NOTHING_HEARD
    lines, trim = [], []
    for record in found.records:
        name = record.entry.file
        said = None if record.line is None else about_onset(record.line, found.onset)
        if isinstance(said, AboutOnset):
            lines.append((name, said.changed))
        trim += [(name, chance) for chance in _trim_after(record, found.onset)]
    return Telling(tuple(lines), tuple(trim), tuple(found.efforts))


def _trim_after(record: HeardRecord, onset: float) -> list[float]:
    """Chance that the trim was heard soon after the onset, for each of its tones that could be."""
    if record.entry.kind == "ground":
        return []
    error = record.entry.error.value
    found = []
    for heard in record.tones:
        soon = (heard.time >= onset - error) & (heard.time <= onset + SOON + error)
        # Where a radio was silent, a trim that moved could not be heard.
        if heard.tone.kind == "trim" and soon.any() and record.carrier is None:
            found.append(float(np.max(heard.chance[soon])))
    return found
