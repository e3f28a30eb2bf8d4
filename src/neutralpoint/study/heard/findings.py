"""What was heard, as the findings document holds it."""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import (
    Banded90,
    HeardCall,
    HeardEffort,
    HeardEvent,
    HeardFindings,
    HeardPass,
    HeardRecording,
    HeardSpan,
    HeardTone,
)
from neutralpoint.hearing import LineEvent, Pass, Ridge
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.heard.propellers import STEP, TURN, HeardLine, about_onset
from neutralpoint.study.heard.sounds import CallHeard, EffortHeard, Spans, ToneHeard
from neutralpoint.study.heard.work_out import HeardAll, HeardRecord
from neutralpoint.study.limits.findings import band90
from neutralpoint.study.motion.file import KeptMotion

HEARD_FILE = "heard.nc"
NORMAL = 1.645  # standard deviations of a 90% band
# Mean chance of a second line, or of a beat, from which it is told; noise alone came to 0.5 at
# most in tests/recovery/test_hearing.py.
TOLD = 0.9


def heard_findings(found: HeardAll, motion: KeptMotion) -> HeardFindings:
    """What the stage hands on.

    Args:
        found: Of the stage.
        motion: The motion, for the speed of a pass.

    Returns:
        Its findings.
    """
    rows = [_row(record, found.onset, motion) for record in found.records]
    rows += [
        HeardRecording(
            name=entry.file, microphone=entry.kind, begin=None, end=None, source=entry.source,
            silent="unreadable", reason=error.message, present=0.0,
        )
        for entry, error in found.refused
    ]  # fmt: skip
    return HeardFindings(
        file=HEARD_FILE,
        recordings=rows,
        efforts=[_effort(one) for one in found.efforts],
        onset=found.onset,
        step=STEP,
    )


def _row(record: HeardRecord, onset: float | None, motion: KeptMotion) -> HeardRecording:
    line, entry = record.line, record.entry
    base = HeardRecording(
        name=entry.file,
        microphone=entry.kind,
        begin=None if line is None else float(line.time[0]),
        end=None if line is None else float(line.time[-1]),
        source=entry.source,
        silent="no-line",
        present=0.0,
        tones=[_tone(tone) for tone in record.tones],
        carrier=None if record.carrier is None else _spans(record.carrier),
        calls=[_call(call) for call in record.calls],
    )
    return base if line is None else base.model_copy(update=_of_line(line, onset, motion))


def _of_line(line: HeardLine, onset: float | None, motion: KeptMotion) -> dict[str, object]:
    """What the propellers add to a row."""

    def rotation(rates: Array) -> Banded90:
        return band90(rates * TURN / line.entry.blades)

    said = about_onset(line, onset)
    row: dict[str, object] = {
        "silent": said if isinstance(said, str) else "",
        "present": float(line.known.mean()),
        "passed": None if line.passed is None else _passed(line.passed, motion),
        "events": [_event(one, line) for one in line.events],
        "second": _told(line.second, line),
        "beat": _told(line.beat, line),
    }
    if isinstance(said, str):
        return row
    return row | {
        "before": rotation(said.before),
        "after": rotation(said.after),
        "changed": said.changed,
        "steady": 1.0 - said.changed,
    }


def _told(ridge: Ridge | None, line: HeardLine) -> Banded90 | None:
    """Rotation of a second line or a beat over the whole recording, where it is told."""
    if ridge is None or not ridge.time.size or ridge.present.mean() < TOLD:
        return None
    low, middle, high = np.median(ridge.frequency, axis=1) * TURN / line.entry.blades
    return Banded90(low90=float(low), median=float(middle), high90=float(high))


def _event(one: LineEvent, line: HeardLine) -> HeardEvent:
    shift = np.interp(one.time, line.ridge.time, line.emitted)
    return HeardEvent(kind=one.kind, time=float(shift), share=one.share)


def _spans(spans: Spans) -> list[HeardSpan]:
    return [HeardSpan(begin=begin, end=end) for begin, end in spans]


def _tone(heard: ToneHeard) -> HeardTone:
    return HeardTone(
        name=heard.tone.name,
        kind=heard.tone.kind,
        frequency=heard.tone.frequency.value,
        reached=heard.time.size > 0,
        spans=_spans(heard.spans),
    )


def _call(call: CallHeard) -> HeardCall:
    known = bool(np.isfinite(call.pitch))
    return HeardCall(
        speaker=call.speaker,
        begin=call.begin,
        end=call.end,
        pitch=call.pitch if known else None,
        quartiles=call.spread if known else None,
    )


def _effort(one: EffortHeard) -> HeardEffort:
    return HeardEffort(speaker=one.speaker, rise=_spread((one.rise, one.sigma)), raised=one.raised)


def _spread(value: tuple[float, float]) -> Banded90:
    middle, sigma = value
    return Banded90(low90=middle - NORMAL * sigma, median=middle, high90=middle + NORMAL * sigma)


def _passed(found: Pass, motion: KeptMotion) -> HeardPass:
    at = int(np.argmin(np.abs(motion.time - found.closest[0])))
    near = abs(float(motion.time[at]) - found.closest[0]) < 1.0
    return HeardPass(
        speed=_spread(found.speed),
        path_speed=band90(motion.paths["ground_speed"][:, at].astype(float)) if near else None,
        closest=found.closest[0],
        distance=_spread(found.distance),
    )
