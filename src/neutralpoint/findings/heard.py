"""What recordings tell of the propellers, in numbers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.findings.signatures import Banded90


class HeardPass(Part):
    """A straight pass of a microphone on the ground, told by the sound alone."""

    speed: Banded90 = Field(description="Over the ground, m/s.")
    path_speed: Banded90 | None = Field(description="Of the sample paths at that time, m/s.")
    closest: float = Field(description="s after the epoch, at the source.")
    distance: Banded90 = Field(description="m")


class HeardRecording(Part):
    """One recording; rotation in rad/s."""

    name: str
    microphone: Literal["cockpit", "radio", "ground"]
    begin: float = Field(description="s after the epoch.")
    end: float
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
    passed: HeardPass | None = None


class HeardFindings(Part):
    """What was heard."""

    file: str
    recordings: list[HeardRecording]
    onset: float | None = Field(description="s after the epoch; null where none is known.")
    step: float = Field(description="Change of rotation that counts, share.")
