"""Conclusions as the document carries them: verdicts, odds, scores, and what would settle it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part


class HandsRow(Part):
    """What a cause can do beside one kind of hands on the column."""

    hands: Literal["none", "resisting", "anything"]
    probability: Fraction = Field(
        description="How often a flight of this cause with such hands, two of them at their "
        "short-term force, would fit as poorly or worse."
    )
    price: float | None = Field(
        default=None, description="Least force that does, N; null: none, or more than measured."
    )


class Need(Part):
    """The extreme that was needed of a cause, with its 90 % band, beside what there is; SI."""

    quantity: Literal[
        "trim-angle", "trim-rate", "elevator", "force", "cg-shift", "thrust", "incidence", "bank"
    ]
    low90: float
    median: float
    high90: float
    least: float | None = Field(default=None, description="Least available; null: no limit.")
    most: float | None = Field(default=None, description="Most available; null: no limit.")


class Estimated(Part):
    """A parameter of the histories that fit, with the 90 % band they leave; SI."""

    name: str
    low90: float
    best: float
    high90: float


class CauseVerdict(Part):
    """What a stage says of one cause, and the numbers that the word follows from."""

    cause: str = Field(description="Its name in the data and on the command line.")
    title: str = Field(default="", description="What people read; empty: as the name.")
    word: Literal["cannot", "can if", "can", "not judged"]
    probability: Fraction | None = Field(
        default=None,
        description="How often a flight of this cause would fit as poorly or worse.",
    )
    judged_from: float | None = Field(default=None, description="s; first time looked at.")
    judged_to: float | None = Field(default=None, description="s; last time looked at.")
    hands: list[HandsRow] = Field(default=[])
    needs: list[Need] = Field(default=[])
    estimates: list[Estimated] = Field(default=[])
    grant: str = Field(default="", description="Key of what saves it.")
    grant_value: float | None = Field(default=None, description="The value it takes, SI.")
    miss_time: float | None = Field(default=None, description="Where it is furthest off, s.")
    miss_deviations: float | None = None
    miss_moment: float | None = Field(default=None, description="N m, needed less made.")
    condition: str = Field(default="", description="The parameter and value that save it.")
    closest_miss: str = Field(default="", description="What a cause that cannot comes nearest to.")
    sentence: str
    basis: list[str] = Field(default=[])

    @property
    def said(self) -> str:
        """The cause as people read it."""
        return self.title or self.cause


class CauseOdds(Part):
    """Probability of one cause against the others of the list, with its 90 % band."""

    cause: str = Field(description="Its name in the data and on the command line.")
    title: str = Field(default="", description="What people read; empty: as the name.")
    probability: Fraction = Field(description="Among the causes listed and an unlisted one.")
    low90: Fraction = Field(description="Lower end over numerical error and choice of prior.")
    high90: Fraction
    listed: bool = Field(default=True, description="False for the row of an unlisted cause.")
    sentence: str = ""

    @property
    def said(self) -> str:
        """The cause as people read it."""
        return self.title or self.cause


class Score(Part):
    """How well the method did on flights whose cause was known."""

    name: str = Field(description="Such as log score, Brier score, coverage of the 90 % band.")
    value: float
    low90: float | None = Field(default=None, description="Lower end over the flights drawn.")
    high90: float | None = None
    cases: int = Field(ge=1, description="Number of flights.")
    sentence: str = Field(description="What the figure means, and for which data it holds.")


class Settling(Part):
    """A piece of evidence that is not in hand, and what it would tell."""

    item: str
    gain: float = Field(ge=0.0, description="Expected fall of entropy over the causes, bit.")
    low90: float | None = None
    high90: float | None = None
    effort: str = Field(default="", description="What it takes to get it, in words.")
    outcomes: list[str] = Field(default=[], description="If this is found, then that follows.")
