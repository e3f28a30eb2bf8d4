"""Physics that a reader can check by hand: the numbers of each box, SI."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.moments import Drive
from neutralpoint.findings.part import Fraction, Part
from neutralpoint.findings.signatures import Banded90


class ShiftBox(Part):
    """Why an aft center of gravity raises the nose: dx = M / (n W)."""

    time: float = Field(description="Where the path asked for most, s after the epoch.")
    moment: Banded90 = Field(description="Unexplained, controls free, nose up positive, N m.")
    weight: float = Field(description="N")
    load_factor: Banded90
    shift: Banded90 = Field(description="That makes the moment, m, aft positive.")
    aft: float | None = Field(default=None, description="All loose items aft, m; null: not known.")
    forward: float | None = Field(default=None, description="All loose items forward, m.")
    within: Fraction | None = Field(default=None, description="That the load reaches the shift.")
    margin: Banded90 = Field(description="Static margin with the elevator free, chords.")
    chord: float = Field(description="m")
    speed: Banded90 = Field(description="Equivalent airspeed in trimmed flight, m/s.")
    speed_after: Banded90 | None = Field(
        default=None,
        description="At which it would settle with all loose items aft; null: nowhere, or not "
        "known.",
    )


class MistrimBox(Part):
    """Force and elevator that hold a mistrim: F' = F (V'/V)^2."""

    drive: Drive
    mistrim: Banded90 = Field(description="Trim needed beside that of trimmed flight, rad.")
    nose_down: bool
    speed: Banded90 = Field(description="Equivalent airspeed in trimmed flight, m/s.")
    force: Banded90 = Field(description="That holds the mistrim there, N, positive.")
    other: Banded90 = Field(description="The speed after it that differs most from that, m/s.")
    force_other: Banded90 = Field(description="That holds it there by the square of the speed, N.")
    force_model: Banded90 = Field(description="The same from the flight model, N.")
    available: float = Field(description="Short-term force with two hands, N.")
    crossover: Banded90 = Field(description="Speed beyond which it takes more, m/s equivalent.")
    elevator: Banded90 = Field(description="That balances it in level flight at `speed`, rad.")
    stop: float = Field(description="Of the elevator on that side, rad.")
    balanced: Fraction = Field(description="That the stop suffices at `speed`.")
    balanced_other: Fraction = Field(description="That it suffices at `other`.")
    elevator_crossover: Banded90 | None = Field(
        default=None, description="Speed at which it takes the stop, m/s; null: none does."
    )


class PhugoidBox(Part):
    """How long a phugoid is, T = pi sqrt(2) V / g, and whether the oscillation seen is one."""

    speed: Banded90 = Field(description="True airspeed in trimmed flight, m/s.")
    mean_speed: Banded90 = Field(description="Mean true airspeed of what was looked at, m/s.")
    lanchester: Banded90 = Field(description="s")
    period: Banded90 | None = Field(default=None, description="Of the airplane's own mode, s.")
    damping: Banded90 | None = Field(default=None, description="Damping ratio of that mode.")
    span: float = Field(description="Of flight that was looked at, s.")
    cycles: float = Field(description="Of the airplane's own mode, at that mean speed, in it.")
    seen: Literal["phugoid", "another", "none", "too short"]
    seen_period: Banded90 | None = Field(default=None, description="Of what oscillates, s.")
    explained: Fraction = Field(description="Share that one sine explains beside a parabola.")
    exchange: float | None = Field(
        default=None, description="Kinetic height gained for height lost; 1: energy is kept."
    )


class PhysicsFindings(Part):
    """The boxes; null where one does not apply to the case."""

    shift: ShiftBox | None = None
    mistrim: MistrimBox | None = None
    phugoid: PhugoidBox | None = None
