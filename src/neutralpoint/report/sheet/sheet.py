"""What stands on the answer sheet."""

from __future__ import annotations

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.report.sheet.said import Said


class CauseLine(Part):
    """A cause that remains, or one that would have to be told from those."""

    cause: str = Field(description="Its name in the data.")
    title: str
    leads: bool = Field(description="Whether it is among the likeliest, and drawn.")
    needs: tuple[Said, ...] = Field(description="What it needs against what the airplane has.")
    misfit: Said
    odds: Said
    probability: Fraction | None = None
    lowest: Fraction | None = None
    highest: Fraction | None = None
    word: Said


class FoldedLine(Part):
    """A cause that is excluded, with the reason in about ten words."""

    title: str
    reason: Said


class EvidenceLine(Part):
    """A piece of evidence that is not in hand."""

    item: Said
    worth: Said
    then: Said


class SwayLine(Part):
    """An assumption, and how far the odds of the leader hang on it."""

    title: str = Field(description="With what it was moved to, least first.")
    low: Fraction
    high: Fraction
    turns: bool = Field(description="Whether another cause leads on one side.")


class Sway(Part):
    """The tornado chart."""

    said: Said
    title: str = Field(description="Cause whose odds are drawn.")
    stands: Fraction
    lines: tuple[SwayLine, ...]


class Recovery(Part):
    """Share of simulated pilots that recovers, by the delay of the first action."""

    said: Said
    title: str = Field(description="Cause that is flown.")
    delays: tuple[float, ...] = Field(description="s")
    shares: dict[str, tuple[Fraction, ...]] = Field(description="By procedure.")


class Sheet(Part):
    """The answer on one page."""

    title: str
    question: str
    about: tuple[tuple[str, str], ...]
    invented: bool
    headline: Said
    answer: tuple[Said, ...]
    fit: Said
    rows: tuple[CauseLine, ...]
    small: Said = Field(description="Causes that are possible and hardly probable, in one line.")
    unweighed: str = Field(description="Causes without odds; empty where there is none.")
    excluded: tuple[FoldedLine, ...]
    flights: tuple[tuple[str, str], ...] = Field(
        description="Causes whose nearest flight is drawn: name in the data and title."
    )
    time: Said
    recovery: Recovery | None
    evidence: tuple[EvidenceLine, ...]
    settles: Said = Field(description="What is to be expected of them; else why none is listed.")
    sway: Sway | None
    no_sway: str
    stamp: str = Field(description="That results are out of date; empty where they are not.")
    missing: tuple[str, ...] = Field(description="What was not computed, and why.")
    cautions: tuple[str, ...]
    preliminary: str
