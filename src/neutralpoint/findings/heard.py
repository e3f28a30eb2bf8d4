"""What recordings tell of propellers, tones and calls, in numbers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.findings.signatures import Banded90


class HeardSpan(Part):
    """From when to when, s after the epoch."""

    begin: float
    end: float


class HeardPass(Part):
    """A straight pass of a microphone on the ground, told by the sound alone."""

    speed: Banded90 = Field(description="Over the ground, m/s.")
    path_speed: Banded90 | None = Field(description="Of the sample paths at that time, m/s.")
    closest: float = Field(description="s after the epoch, at the source.")
    distance: Banded90 = Field(description="m")


class HeardEvent(Part):
    """Something that happened to a blade rate."""

    kind: Literal["begins", "ends", "rises", "falls"]
    time: float = Field(description="s after the epoch, when it left the airplane.")
    share: float = Field(description="Change over the rate before; 0 for a begin or an end.")


class HeardTone(Part):
    """A tone of the airplane file."""

    name: str
    kind: Literal["trim", "stall", "overspeed", "gear", "altitude", "autopilot"]
    frequency: float = Field(description="Hz")
    reached: bool = Field(description="False where the recording does not hold the frequency.")
    spans: list[HeardSpan]


class HeardCall(Part):
    """A call, by the speaker that the case names."""

    speaker: str
    begin: float = Field(description="s after the epoch.")
    end: float
    pitch: float | None = Field(
        description="Median, Hz; null where too little of the call is voiced."
    )
    quartiles: tuple[float, float] | None = Field(description="Of the pitch, Hz.")


class HeardEffort(Part):
    """Later calls of a speaker against earlier ones; weak, and of effort alone."""

    speaker: str
    rise: Banded90 = Field(description="Of the pitch, semitones.")
    raised: Fraction = Field(description="Probability of a rise that speaks of effort.")


class HeardRecording(Part):
    """One recording; rotation in rad/s."""

    name: str
    microphone: Literal["cockpit", "radio", "ground"]
    begin: float | None = Field(description="s after the epoch; null where nothing was used.")
    end: float | None
    source: str
    silent: Literal["", "no-line", "not-then", "unreadable"] = Field(
        description="Why it tells nothing of the propellers about the onset."
    )
    reason: str = Field(default="", description="Of the reader, where it cannot be read.")
    present: Fraction = Field(description="Share of the time in which a line was followed.")
    before: Banded90 | None = Field(default=None, description="Rotation before the onset.")
    after: Banded90 | None = Field(default=None, description="Rotation after it.")
    steady: Fraction = 0.0
    changed: Fraction = 0.0
    second: Banded90 | None = Field(
        default=None, description="Rotation by a second line, where one was followed."
    )
    beat: Banded90 | None = Field(
        default=None, description="Difference of two rotations by their beat."
    )
    passed: HeardPass | None = None
    events: list[HeardEvent] = Field(default=[])
    tones: list[HeardTone] = Field(default=[])
    carrier: list[HeardSpan] | None = Field(
        default=None, description="When it was on; null where loudness does not tell."
    )
    calls: list[HeardCall] = Field(default=[])


class HeardFindings(Part):
    """What was heard."""

    file: str
    recordings: list[HeardRecording]
    efforts: list[HeardEffort] = Field(default=[])
    onset: float | None = Field(description="s after the epoch; null where none is known.")
    step: float = Field(description="Change of rotation that counts, share.")
