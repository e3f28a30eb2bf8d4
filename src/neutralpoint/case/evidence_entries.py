"""Prior weights and evidence other than the track in `case.toml`: one table for each kind."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from neutralpoint.documents.fields import (
    Angle,
    Height,
    PlaceError,
    Section,
    Speed,
    Text,
    TimeError,
    When,
    refused,
)
from neutralpoint.documents.quantity import Uncertain, parse_quantity
from neutralpoint.vocabulary import CauseName, Mechanism

Doubt = Annotated[float, Field(gt=0.0, lt=1.0)]
# A position whose marks agree can still have been read wrongly; one without marks is as likely to
# have been moved by the impact as not. Analyst's estimate.
MARKS_AGREE, NO_MARKS = 0.1, 0.5
IMPACT = ("pitch", "bank", "path_angle", "speed", "altitude")
PLACE = ("latitude", "longitude", "place_error")


def check_name(name: str) -> None:
    """Refuse what is neither a cause nor a mechanism.

    Args:
        name: As written.

    Raises:
        ValueError: As the reader of the case understands it.
    """
    known = dict.fromkeys((*map(str, CauseName), *map(str, Mechanism)))
    if name not in known:
        raise refused(
            "case-invalid", f"there is no cause {name!r}.", f"Give one of: {', '.join(known)}."
        )


class PriorEntry(Section):
    """Weight of a cause before the track is looked at; a cause without one has weight 1.

    Every mechanism has one weight, which its causes share equally.
    """

    cause: Text = Field(
        description="As in the list of causes, `unlisted`, or a mechanism for all its causes: "
        "`trim-drive`, `control-run`, `loading`, `engine`, `aerodynamics`, `structure`, `air`, "
        "`person`."
    )
    weight: Annotated[float, Field(gt=0.0, le=1e6)]
    reason: Text = Field(description="Why, and where it is from: it is printed with the odds.")

    @field_validator("cause")
    @classmethod
    def known(cls, name: str) -> str:
        """A cause of the list, or a mechanism."""
        check_name(name)
        return name


class ImpactEntry(Section):
    """Attitude, speed and place at impact, as marks and wreckage show them."""

    kind: Literal["impact"]
    time: When | None = Field(default=None, description="UTC; the end of the track where left out.")
    pitch: Angle | None = None
    bank: Angle | None = None
    path_angle: Angle | None = Field(default=None, description="Down is negative.")
    speed: Speed | None = Field(default=None, description="True airspeed.")
    altitude: Height | None = Field(default=None, description="Pressure altitude of the place.")
    latitude: Angle | None = None
    longitude: Angle | None = None
    place_error: PlaceError | None = Field(
        default=None, description="95% half-width of the place, as `50 m`."
    )
    doubt: Doubt = Field(
        default=0.1,
        description="Probability that it says nothing of the flight; analyst's estimate.",
    )
    source: Text

    @model_validator(mode="after")
    def something(self) -> ImpactEntry:
        """At least one value, each with its +-, and a place that is whole."""
        values = {key: getattr(self, key) for key in IMPACT}
        given = {key: value for key, value in values.items() if value is not None}
        place = [key for key in PLACE if getattr(self, key) is not None]
        if not given and not place:
            raise refused(
                "case-invalid",
                "an impact without a value says nothing.",
                f"Give one of {IMPACT}, or a place.",
            )
        if place and len(place) < len(PLACE):
            raise refused(
                "case-invalid", f"a place needs {', '.join(PLACE)}.", "Give all of them, or none."
            )
        for key, value in given.items():
            if value.sigma == 0.0:
                raise refused(
                    "case-invalid",
                    f"`{key}` has no +-.",
                    'Evidence counts by its error: write it like "40 deg +- 15 deg".',
                )
        return self


class TreeCutsEntry(Section):
    """Two cuts in trees on the way to the ground: they show the angle of the path."""

    kind: Literal["tree-cuts"]
    first_height: Height = Field(description="Of the earlier cut above the ground under it.")
    second_height: Height = Field(description="Of the later one.")
    distance: Height = Field(description="Level distance between them along the path.")
    slope: Angle = Field(description="Of the ground along the path, up positive, with +-.")
    doubt: Doubt = Field(
        default=0.1,
        description="Probability that the cuts are of another part or another day; analyst's "
        "estimate.",
    )
    source: Text

    @model_validator(mode="after")
    def apart(self) -> TreeCutsEntry:
        """Two places, measured with an error."""
        if self.distance.value <= 0.0:
            raise refused(
                "quantity-range", "the cuts lie at one place.", "Give the distance between them."
            )
        if not any(q.sigma for q in (self.first_height, self.second_height, self.distance)):
            raise refused(
                "case-invalid",
                "the heights of the cuts have no +-.",
                'Evidence counts by its error: write it like "14 m +- 0.8 m".',
            )
        return self

    @property
    def path_angle(self) -> tuple[float, float]:
        """Angle of the path, up positive, rad, and its standard deviation."""
        from neutralpoint.wreckage.marks import descent_angle  # loads SciPy: not to read a case

        cuts = (self.first_height, self.second_height, self.distance, self.slope)
        return descent_angle(*((q.value, q.sigma) for q in cuts))


class VoiceEntry(Section):
    """A note on effort in a voice: weak, and held down whatever it says."""

    kind: Literal["voice"]
    time: When = Field(description="UTC.")
    error: TimeError = Field(
        default=parse_quantity("3 s", "s"), description="95% half-width, as `3 s`."
    )
    strain: bool = Field(description="True where strain was noted, false where its absence was.")
    source: Text


class WordsEntry(Section):
    """Words on the radio or a recording: they count by the likelihood that the analyst states.

    Words name what was felt, seldom what was wrong; without this entry they do not enter the odds.
    """

    kind: Literal["words"]
    words: Text = Field(description="The words, as transcribed.")
    cause: Text = Field(description="Which cause they favor, or which mechanism as a whole.")
    likelihood: Annotated[float, Field(gt=0.0, le=1000.0)] = Field(
        description="How much likelier these words are with it than with any other."
    )
    doubt: Doubt = Field(
        default=0.3,
        description="Probability that they say nothing of the cause; analyst's estimate.",
    )
    source: Text

    @field_validator("cause")
    @classmethod
    def known(cls, name: str) -> str:
        """A cause of the list, or a mechanism."""
        check_name(name)
        return name


class TrimPositionEntry(Section):
    """Trim surface, or its actuator, as found."""

    kind: Literal["trim-position"]
    angle: Angle = Field(description="Of the surface, as the airplane file counts it, with +-.")
    marks_agree: bool = Field(
        description="Whether marks inside agree with the length: as found is not in flight "
        "until they do."
    )
    doubt: Doubt | None = Field(
        default=None,
        description="Probability that impact moved it; 0.1 where marks agree, else 0.5.",
    )
    source: Text

    @field_validator("angle")
    @classmethod
    def with_error(cls, value: Uncertain) -> Uncertain:
        """Evidence counts by its error."""
        if value.sigma == 0.0:
            raise refused(
                "case-invalid",
                "`angle` has no +-.",
                'Evidence counts by its error: write it like "-3 deg +- 0.5 deg".',
            )
        return value

    @property
    def share_moved(self) -> float:
        """Probability that it says nothing of the flight."""
        return self.doubt or (MARKS_AGREE if self.marks_agree else NO_MARKS)


class FindingEntry(Section):
    """What was found of an item of the list that `neutralpoint next-evidence` ranks."""

    kind: Literal["finding"]
    item: Text = Field(description="Its key.")
    found: Text = Field(description="One of its outcomes.")
    doubt: Doubt = Field(
        default=0.2,
        description="Probability that it says nothing of the flight; analyst's estimate.",
    )
    source: Text

    @model_validator(mode="after")
    def known(self) -> FindingEntry:
        """An item of the list and one of its outcomes."""
        from neutralpoint.weighing.items import ITEMS  # not needed by a case without findings

        outcomes = {item.key: item.outcomes for item in ITEMS}
        if self.item not in outcomes:
            raise refused(
                "case-invalid",
                f"there is no item {self.item!r}.",
                f"Give one of: {', '.join(outcomes)}.",
            )
        if self.found not in outcomes[self.item]:
            raise refused(
                "case-invalid",
                f"{self.found!r} is no outcome of {self.item!r}.",
                f"Give one of: {'; '.join(outcomes[self.item])}.",
            )
        return self


AnyEvidenceEntry = Annotated[
    ImpactEntry | TreeCutsEntry | VoiceEntry | WordsEntry | TrimPositionEntry | FindingEntry,
    Field(discriminator="kind"),
]
