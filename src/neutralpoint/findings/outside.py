"""What causes and examinations of other packages came to."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.moments import ClosestMiss, HandsRow, Word
from neutralpoint.findings.part import Fraction, Part


class OutsideOrigin(Part):
    """Where something of another package comes from, in its own words."""

    name: str = Field(description="Of the plug-in.")
    package: str
    version: str
    title: str
    source: str = Field(description="What it says it rests on.")


class OutsideEstimate(Part):
    """A parameter that the data narrow, with the 90% band they leave."""

    name: str
    unit: str
    low90: float
    best: float
    high90: float


class OutsideCause(Part):
    """A cause of another package, judged by the required moment as listed causes are."""

    origin: OutsideOrigin
    mechanism: str
    settles: str = Field(default="", description="Evidence that would tell of it.")
    histories: int = Field(ge=1, description="That it says it can make.")
    word: Word
    reason: Literal["too-few-times"] | None = Field(default=None, description="Not judged why.")
    probability: Fraction | None = Field(
        default=None,
        description="p-value: how often a flight of it would show a fit as poor or poorer; no "
        "probability of the cause.",
    )
    judged_from: float
    judged_to: float
    granted_force: float | None = Field(
        default=None, description="Force of resisting hands without which it cannot, N."
    )
    hands: list[HandsRow] = Field(default=[])
    estimates: list[OutsideEstimate] = Field(default=[])
    miss: ClosestMiss | None = None


class OutsideNumber(Part):
    """One number of an examination; with its band where it was given path by path."""

    label: str
    unit: str
    value: float | None = Field(description="Median; null where it gave none.")
    low90: float | None = None
    high90: float | None = None


class OutsideExamination(Part):
    """What an examination of another package returned."""

    origin: OutsideOrigin
    note: str = ""
    group: str = Field(description="Of the file, with everything it returned.")
    numbers: list[OutsideNumber] = Field(default=[])
    more: int = Field(default=0, ge=0, description="Numbers that stand in the file alone.")


class OutsideFindings(Part):
    """Causes and examinations of other packages; times in s after the epoch."""

    file: str = Field(default="", description="Of the examinations; empty without any.")
    causes: list[OutsideCause] = Field(default=[])
    examinations: list[OutsideExamination] = Field(default=[])
