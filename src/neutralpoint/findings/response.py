"""What time and strength come to, in numbers."""

from __future__ import annotations

import math
from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part
from neutralpoint.vocabulary import CauseName

Direction = Literal["nose-down", "nose-up", "none"]
DirectionFrom = Literal["stays", "nearest", "both", "nature", "no-side", "not-weighed"]


class SampledShare(Part):
    """A share of simulated pilots with its 95% sampling error."""

    share: Fraction
    low95: Fraction
    high95: Fraction


class PilotSpread(Part):
    """Median and 90% of pilots, SI."""

    median: float
    low90: float
    high90: float


class LatestAction(Part):
    """The latest moment at which a procedure could still begin."""

    time: float | None = Field(default=None, description="s after the fault began.")
    end: Literal["known", "not-recoverable", "later-than-tested", "not-begun"] = "known"

    @classmethod
    def of(cls, value: float) -> LatestAction:
        """A moment as `response.nc` holds it.

        Args:
            value: s after the fault began; -1 even at once is too late, infinite no end within
                what was tested, NaN where nothing is begun.

        Returns:
            The moment.
        """
        if math.isnan(value):
            return cls(end="not-begun")
        if value < 0.0:
            return cls(end="not-recoverable")
        return cls(end="later-than-tested") if math.isinf(value) else cls(time=value)


class ProcedureRow(Part):
    """One thing that could be done."""

    procedure: str
    latest: list[LatestAction] = Field(default=[], description="5, 50 and 95% of pilots.")
    too_late: SampledShare | None = Field(
        default=None, description="For whom immediate action is too late."
    )
    by_rule: list[SampledShare] = Field(description="Saved, by the delays of rules.")
    by_delay: list[SampledShare] = Field(
        default=[], description="Saved, by each of `ResponseFindings.delays`."
    )
    saved: SampledShare = Field(description="At the stated reaction.")
    within_limits: SampledShare
    height_lost: PilotSpread | None = Field(default=None, description="null: too few were saved.")
    lowest_speed: PilotSpread | None = Field(
        default=None, description="Equivalent airspeed at the lowest point."
    )
    load_factor: PilotSpread | None = Field(default=None, description="The largest.")
    slowest: PilotSpread | None = Field(
        default=None, description="Smallest equivalent airspeed on the way, of those saved."
    )
    pitch_highest: PilotSpread | None = Field(
        default=None, description="Largest pitch angle, of those saved."
    )
    height_gained: PilotSpread | None = Field(
        default=None, description="To the highest point, of those saved."
    )
    dropped: PilotSpread | None = Field(
        default=None, description="From the highest point to the lowest after it, of those saved."
    )
    stalled: SampledShare | None = Field(
        default=None, description="Share of all that stalls on the way; null in older files."
    )


class LessonRow(Part):
    """What a change of design or training would have bought."""

    lesson: str = Field(description="Its key; the report has the words.")
    sentence: str = Field(default="", description="Empty but in older files.")
    gain: float = Field(description="Change of the share saved; the same pilots fly both.")
    error: float = Field(description="95% sampling error of it.")
    before: LatestAction = Field(description="Half of the pilots, without it.")
    after: LatestAction = Field(description="Half of the pilots, with it.")


class HoldingForce(Part):
    """Column force that unaccelerated flight would take at a time, controls free before."""

    time: float = Field(description="s after the fault began.")
    pull: float = Field(description="N")
    one_hand: Fraction = Field(description="Share of the population whose pull reaches it.")
    two_hands: Fraction


class HoldingFindings(Part):
    """Holding level flight with a typical fault of the cause."""

    span: float = Field(description="s that were looked at.")
    exceeds_at: float | None = Field(
        default=None, description="When it exceeds the short-term limit, s; null: it does not."
    )
    rows: list[HoldingForce]


class RecoveredRule(Part):
    """When a flight counts as recovered, SI."""

    lasting: float = Field(description="So long all of it must hold, s.")
    sink: float = Field(description="Most sink beyond the descent it was in, m/s.")
    bank: float = Field(description="Most bank, rad.")
    rise: float = Field(
        description="After a nose-up fault: most climb beyond the climb it was in, m/s; the wing "
        "must be below its stall too. After any other fault a climb counts as recovered."
    )


class ResponseRow(Part):
    """One cause."""

    cause: CauseName
    direction: Direction = Field(
        default="nose-down", description="Of the faults that are flown; none: they have no side."
    )
    direction_from: DirectionFrom = Field(
        default="not-weighed",
        description="stays: the flights of the cause that stay with the data went that way. "
        "nearest: none stays; the nearest ones went that way. both: they went both ways, and down "
        "is flown. nature: the cause goes one way. no-side: it goes no certain way. not-weighed: "
        "nothing was weighed, and down is flown.",
    )
    nose_up: Fraction | None = Field(
        default=None,
        description="Share of the flights of the cause that follow the track whose fault raises "
        "the nose; null: not known, or the cause does not go both ways.",
    )
    nothing: str = Field(description="The procedure in which nothing is done.")
    nothing_saved: SampledShare
    reference: str = Field(description="The procedure that lessons are compared with.")
    reference_saved: SampledShare
    enough_height: float | None = Field(
        default=None,
        description="Above the ground, m, from which more height would have saved nobody more; "
        "null where that is over half of what there was.",
    )
    procedures: list[ProcedureRow]
    lessons: list[LessonRow] = Field(default=[])
    holding: HoldingFindings | None = None


class LeftOut(Part):
    """A cause that was not computed, and why."""

    title: str
    reason: str


class StartReading(Part):
    """What one cause comes to for the pilots that start from one reference."""

    cause: CauseName
    saved: SampledShare = Field(description="At the stated reaction, by the row's `reference`.")
    latest: LatestAction = Field(description="Of half of the pilots.")


class ResponseStart(Part):
    """A reference that flights could start from, and what the airplane flew there."""

    end: float = Field(description="Of the reference, s after the epoch.")
    weight: Fraction = Field(description="Probability that it is the last before the fault.")
    speed: float = Field(description="True airspeed, m/s.")
    altitude: float = Field(description="Above mean sea level, m.")
    pilots: int = Field(default=0, ge=0, description="That started here at the stated reaction.")
    rows: list[StartReading] = Field(default=[], description="Empty where nobody started here.")


class ResponseFindings(Part):
    """Time to act."""

    file: str
    begin: float | None = Field(default=None, description="Of all flights, s after the epoch.")
    starts: list[ResponseStart] = Field(
        default=[],
        description="The earliest first; pilots are shared out by their probabilities. Empty "
        "where the start was told.",
    )
    height: float = Field(description="Above the ground at the start, m.")
    height_source: str = Field(description="Where that is from.")
    reaction_median: float = Field(description="From recognition to the first action, s.")
    reaction_factor: float = Field(description="One standard deviation, as a factor.")
    reaction_source: str
    pull_median: float = Field(description="Largest short pull of the population, two hands, N.")
    pull_spread: float = Field(description="Standard deviation of its logarithm.")
    one_hand: float = Field(description="One-handed over two-handed pull.")
    short_term: float = Field(description="Short-term limit of rules with two hands, N.")
    rule_delays: list[float] = Field(description="s")
    delays: list[float] = Field(
        default=[], description="From recognition to the first action, s; those of `by_delay`."
    )
    longest: float = Field(description="Latest moment of action that was tested, s.")
    recovered: RecoveredRule | None = Field(
        default=None, description="When a flight counts as recovered; null in older files."
    )
    rows: list[ResponseRow]
    left_out: list[LeftOut] = Field(default=[])
