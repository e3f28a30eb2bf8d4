"""What is drawn, without saying how: one description for the page, for print and for film.

Values are in the units shown; times are seconds after `Strips.start`, which is itself seconds
after midnight UTC of the day in `Strips.day`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from neutralpoint.numerics.arrays import Array

Standing = Literal["fact", "derived", "inferred"]


@dataclass(frozen=True)
class Axis:
    """The scale of a panel; `second_unit` labels the right-hand scale, empty for none."""

    unit: str
    low: float
    high: float
    decimals: int
    second_unit: str = ""
    second_factor: float = 1.0
    wrap: float = 0.0


@dataclass(frozen=True)
class Band:
    """A curve with its bands.

    Attributes:
        label: What it is.
        standing: Derived or inferred.
        quantiles: 5, 25, 50, 75 and 95%, shape (5, m); NaN where not observable.
        ink: Index of the colour and dash.
    """

    label: str
    standing: Standing
    quantiles: Array
    ink: int = 0


@dataclass(frozen=True)
class PlottedReadings:
    """PlottedReadings as received: facts.

    Attributes:
        label: What they are.
        time: s, shape (n,).
        value: Shape (n,).
        suspect: 1 where a reading was marked, shape (n,).
        half_step: Half of the quantization step.
    """

    label: str
    time: Array
    value: Array
    suspect: Array
    half_step: float


@dataclass(frozen=True)
class Level:
    """A limit drawn across a panel."""

    value: float
    label: str


@dataclass(frozen=True)
class Shade:
    """A stretch in which the panel's quantity is not observable."""

    start: float
    end: float


@dataclass(frozen=True)
class Panel:
    """One strip chart."""

    key: str
    title: str
    axis: Axis
    bands: tuple[Band, ...]
    readings: PlottedReadings | None = None
    levels: tuple[Level, ...] = ()
    shades: tuple[Shade, ...] = ()


@dataclass(frozen=True)
class Mark:
    """An event on the time axis, with its number in the list of events."""

    number: int
    time: float
    half_width: float
    kind: str
    text: str


@dataclass(frozen=True)
class Strips:
    """Strip charts over one time axis.

    Attributes:
        day: Date of the epoch, ISO 8601.
        start: s after midnight UTC.
        time: s after start, shape (m,).
        panels: From top to bottom.
        marks: Events.
    """

    day: str
    start: float
    time: Array
    panels: tuple[Panel, ...]
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class PathView:
    """The path in a plane: seen from above, or height against distance.

    Attributes:
        key: `plan` or `profile`.
        title: What it is.
        x_unit: Unit of x.
        y_unit: Unit of y.
        equal: True where both scales must be the same (seen from above, north up).
        x: Median path, shape (m,), on the times of the strips.
        y: Likewise.
        sample_x: A few sample paths that show the spread, shape (k, m).
        sample_y: Likewise.
        reading_time: Time of each fix, s, shape (n,).
        reading_x: Fixes as received, shape (n,).
        reading_y: Likewise.
    """

    key: str
    title: str
    x_unit: str
    y_unit: str
    equal: bool
    x: Array
    y: Array
    sample_x: Array
    sample_y: Array
    reading_time: Array
    reading_x: Array
    reading_y: Array


@dataclass(frozen=True)
class Figure:
    """Everything that a page draws of one case."""

    strips: Strips
    views: tuple[PathView, ...]
