"""The record: one channel of readings, and the channels of one flight."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Flags, Floats

Ints = NDArray[np.int64]

VerticalRateSource = Literal["baro", "geometric", "unknown"]

CHANNELS = (
    "position",
    "pressure_altitude",
    "geometric_altitude",
    "ground_speed",
    "track_angle",
    "vertical_rate",
)


@dataclass(frozen=True)
class Observations:
    """Readings of one quantity, in order of time.

    Attributes:
        time: Seconds after the track's epoch, shape (n,), never decreasing.
        value: SI or radians, shape (n,); for positions latitude and longitude, shape (n, 2).
        step: Quantization step in the unit of `value`; 0 where the readings are continuous; the
            coarsest, where they differ.
        row: Row of the source file, counted as in the file, shape (n,).
        source: Index of the file or receiver, shape (n,).
        suspect: True where the reading is doubtful; it stays in the record, shape (n,).
        sigma: Standard deviation that the airplane or the tracker states of it, of each axis, m for
            positions and in the unit of `value` otherwise, NaN where it states none, shape (n,);
            None where it never does.
        steps: Step of each reading, where they differ, shape (n,); None where all have `step`.
    """

    time: Floats
    value: Floats
    step: float
    row: Ints
    source: Ints
    suspect: Flags
    sigma: Floats | None = None
    steps: Floats | None = None

    def __len__(self) -> int:
        return int(self.time.size)

    def by_step(self) -> tuple[Observations, ...]:
        """The readings of each step: a rounding error is common to those that share it.

        Returns:
            One set of readings for each step, in order of time.
        """
        if self.steps is None:
            return (self,)
        return tuple(
            replace(self.taken(self.steps == step), step=float(step), steps=None)
            for step in np.unique(self.steps)
        )

    def taken(self, index: Ints | Flags) -> Observations:
        """Some of the readings.

        Args:
            index: Which of them, in order of time.

        Returns:
            Those readings, with all that is known of them.
        """
        return replace(
            self,
            time=self.time[index],
            value=self.value[index],
            row=self.row[index],
            source=self.source[index],
            suspect=self.suspect[index],
            sigma=None if self.sigma is None else self.sigma[index],
            steps=None if self.steps is None else self.steps[index],
        )

    def marked(self, suspect: Flags) -> Observations:
        """The same readings with more of them marked.

        Args:
            suspect: True where a reading is doubtful, shape (n,).

        Returns:
            Readings marked where they were marked before or are now.
        """
        return replace(self, suspect=self.suspect | suspect)


@dataclass(frozen=True)
class Track:
    """Every channel that was seen of one flight; None where a channel is absent.

    Attributes:
        epoch: UTC time that all readings count from.
        position: Geodetic latitude and longitude (WGS-84), rad, (n, 2).
        pressure_altitude: Altitude in the standard atmosphere, m.
        geometric_altitude: Height above the WGS-84 ellipsoid, m.
        ground_speed: m/s.
        track_angle: Direction of the ground velocity from true north, rad, in [0, 2 pi).
        vertical_rate: m/s, positive up.
        vertical_rate_source: What the vertical rate is the rate of.
        time_sigma: Standard deviation of the error that the time stamps share, s.
    """

    epoch: datetime
    position: Observations | None = None
    pressure_altitude: Observations | None = None
    geometric_altitude: Observations | None = None
    ground_speed: Observations | None = None
    track_angle: Observations | None = None
    vertical_rate: Observations | None = None
    vertical_rate_source: VerticalRateSource = "unknown"
    time_sigma: float = 0.0

    @property
    def fixes(self) -> Observations:
        """The positions, where there is nothing to do without them.

        Raises:
            NeutralPointError: `track-too-short`: it has none.
        """
        return _present(self.position, "positions")

    @property
    def altitudes(self) -> Observations:
        """Pressure altitudes, or where there are none the geometric ones.

        Raises:
            NeutralPointError: `track-too-short`: it has neither.
        """
        return _present(self.pressure_altitude or self.geometric_altitude, "altitudes")

    def channels(self) -> dict[str, Observations]:
        """The channels present.

        Returns:
            Readings by name, in the order of `CHANNELS`.
        """
        found = {name: getattr(self, name) for name in CHANNELS}
        return {name: channel for name, channel in found.items() if channel is not None}

    def between(self, start: float, end: float) -> Track:
        """The readings of a stretch of time.

        Args:
            start: s after the epoch.
            end: Likewise.

        Returns:
            The same channels with the readings from `start` to `end`; None for one without any.
        """
        cut: dict[str, Observations | None] = {}
        for name, channel in self.channels().items():
            inside = (channel.time >= start) & (channel.time <= end)
            cut[name] = channel.taken(inside) if inside.any() else None
        return replace(self, **cut)

    def span(self) -> tuple[float, float]:
        """When the record begins and ends.

        Returns:
            First and last time of any reading, s after the epoch; (0, 0) without readings.
        """
        times = [channel.time for channel in self.channels().values() if len(channel)]
        if not times:
            return 0.0, 0.0
        return float(min(t[0] for t in times)), float(max(t[-1] for t in times))


def _present(channel: Observations | None, name: str) -> Observations:
    if channel is None:
        raise NeutralPointError(
            "track-too-short",
            f"The track has no {name}",
            where="track",
            hint="Name a column with them in the column map",
        )
    return channel
