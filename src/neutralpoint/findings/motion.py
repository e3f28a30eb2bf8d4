"""What the flight path establishes, in numbers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.part import Fraction, Part

Origin = Literal["altitudes", "vertical-rates", "positions"]
EstimateName = Literal["altitude-age", "velocity-latency", "vertical-rate-lag", "noise"]


class Stretch(Part):
    """A stretch of time, s after the epoch."""

    start: float
    end: float


class ResolutionRow(Part):
    """What this data rate and quantization can resolve of the load factor, from readings alone."""

    origin: Origin
    window: float = Field(gt=0.0, description="s")
    sigma: float = Field(ge=0.0, description="Standard deviation of the load factor.")
    usable: bool = Field(description="Fine enough to tell an ordinary turn from a dive.")


class EstimatedValue(Part):
    """A level, latency or lag that was estimated from the data themselves."""

    name: EstimateName
    readings: str = Field(default="", description="Kind of readings, of a noise.")
    value: float
    sigma: float | None = None
    unit: str


class LostQuantity(Part):
    """Where the data support no value of a quantity."""

    quantity: str = Field(description="Variable of motion.nc.")
    share: Fraction = Field(description="Of the time.")
    stretches: list[Stretch] = Field(description="The longest, in order of time.")


class OpenFlaps(Part):
    """Flight so slow that flaps may be out, where nobody says that they were not."""

    duration: float = Field(description="s")
    lift_share: Fraction = Field(description="Of the largest lift coefficient without them.")


class OnsetFindings(Part):
    """When the motion left ordinary flight, and when what caused it began; s after the epoch."""

    probability: Fraction = Field(description="That the record holds a departure.")
    found: bool = Field(description="False where none is more likely than one.")
    left: list[float] = Field(
        default=[], description="5, 25, 50, 75 and 95% quantiles of the departure."
    )
    begun: list[float] = Field(
        default=[], description="The same of its cause, by the delays of simulated faults."
    )


class MotionFindings(Part):
    """The flight path."""

    first: float = Field(description="First fix, s after the epoch.")
    span: float = Field(description="s")
    fixes: int = Field(ge=0)
    settled: bool = Field(description="False where noise levels had not settled.")
    step: float = Field(description="Of the uniform grid, s.")
    usual_step: float = Field(description="Of the uniform grid of a short record, s.")
    on_ground: list[Stretch] = Field(default=[])
    lost: list[LostQuantity] = Field(default=[])
    flaps: OpenFlaps | None = None
    onset: OnsetFindings | None = None
