"""Readings gathered one by one, and made a track with its report."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.sources.report import Refusals, SourceReport
from neutralpoint.track import (
    CHANNELS,
    Observations,
    Suspicion,
    Track,
    VerticalRateSource,
    assess,
    flag_suspects,
    quantization_step,
)
from neutralpoint.track.record import Floats, Ints
from neutralpoint.vocabulary import QUANTITIES

# Sizes beyond which a reading is none, SI.
BOUNDS = {name: (quantity.bound,) for name, quantity in QUANTITIES.items()} | {
    "position": (QUANTITIES["latitude"].bound + 1e-9, QUANTITIES["longitude"].bound + 1e-9)
}


@dataclass
class ChannelReadings:
    """Readings of one quantity as they come in.

    Attributes:
        time: s after the epoch.
        value: SI; pairs for positions.
        row: Row of the file.
        source: Index of the receiver.
        doubt: Why the reading is doubtful; empty where it is not.
        sigma: Standard deviation that is stated of it; NaN where none is.
        step: Quantization step of it, SI; NaN where it is that of the channel.
    """

    time: list[float] = field(default_factory=list)
    value: list[float | tuple[float, float]] = field(default_factory=list)
    row: list[int] = field(default_factory=list)
    source: list[int] = field(default_factory=list)
    doubt: list[str] = field(default_factory=list)
    sigma: list[float] = field(default_factory=list)
    step: list[float] = field(default_factory=list)

    def observations(self, step: float | None) -> Observations:
        """The readings in order of time.

        Args:
            step: Quantization step as the format defines it; None to look for it.

        Returns:
            The channel; readings with a doubt are marked.
        """
        time = np.asarray(self.time, dtype=np.float64)
        order = np.argsort(time, kind="stable")
        value = np.asarray(self.value, dtype=np.float64)[order]
        stated = np.asarray(self.sigma, dtype=np.float64)
        if step is None:
            step = quantization_step(value[:, 0] if value.ndim == 2 else value)
        own = np.asarray(self.step, dtype=np.float64)
        own = np.where(np.isfinite(own), own, step)
        return Observations(
            time=time[order],
            value=value,
            step=step,
            row=np.asarray(self.row, dtype=np.int64)[order],
            source=np.asarray(self.source, dtype=np.int64)[order],
            suspect=np.asarray([d != "" for d in self.doubt], dtype=bool)[order],
            sigma=stated[order] if np.isfinite(stated).any() else None,
            steps=own[order] if np.ptp(own) > 0.0 else None,
        )


class Assembly:
    """Gathers the readings of a file by channel."""

    def __init__(self) -> None:
        self.channels: dict[str, ChannelReadings] = defaultdict(ChannelReadings)
        self.refusals = Refusals()

    def add(
        self,
        channel: str,
        time: float,
        value: float | tuple[float, float],
        row: int,
        *,
        source: int = 0,
        doubt: str = "",
        sigma: float = float("nan"),
        step: float = float("nan"),
    ) -> None:
        """Take one reading; one without a time or a value that can be is refused and counted.

        Args:
            channel: One of `CHANNELS`, or a name of the reader's own.
            time: s after the epoch.
            value: SI.
            row: Row of the file.
            source: Index of the receiver.
            doubt: Why it is doubtful.
            sigma: Standard deviation that is stated of it.
            step: Quantization step, where it differs from that of others.
        """
        if not (np.isfinite(time) and np.isfinite(value).all()):
            self.refusals.add(f"{channel.replace('_', ' ')} has no usable time or value", row)
            return
        parts = value if isinstance(value, tuple) else (value,)
        bounds = BOUNDS.get(channel, ())
        if any(abs(part) > bound for part, bound in zip(parts, bounds, strict=False)):
            self.refusals.add(f"{channel} is out of range", row)
            return
        readings = self.channels[channel]
        readings.time.append(float(time))
        readings.value.append(value)
        readings.row.append(row)
        readings.source.append(source)
        readings.doubt.append(doubt)
        readings.sigma.append(sigma)
        readings.step.append(step)

    def extend(self, channel: str, time: Floats, value: Floats, row: Ints) -> None:
        """Take a column of readings; those without a time or a finite value are left out.

        What is larger than any reading can be is refused and counted.

        Args:
            channel: One of `CHANNELS`.
            time: s after the epoch, shape (n,).
            value: SI, shape (n,); for positions (n, 2).
            row: Rows of the file, shape (n,).
        """
        known = np.isfinite(time) & np.isfinite(value.reshape(len(value), -1)).all(axis=1)
        beyond = known & (np.abs(value.reshape(len(value), -1)) > BOUNDS[channel]).any(axis=1)
        for line in row[beyond]:
            self.refusals.add(f"{channel} is out of range", int(line))
        known &= ~beyond
        if not known.any():
            return
        readings, count = self.channels[channel], int(known.sum())
        readings.time += time[known].tolist()
        readings.value += value[known].tolist()
        readings.row += row[known].tolist()
        readings.source += [0] * count
        readings.doubt += [""] * count
        readings.sigma += [float("nan")] * count
        readings.step += [float("nan")] * count

    def doubts(self) -> tuple[Suspicion, ...]:
        """Every reading with a doubt.

        Returns:
            One entry for each, in order of time.
        """
        found = [
            Suspicion(name, r.source[k], r.row[k], r.time[k], doubt)
            for name, r in self.channels.items()
            for k, doubt in enumerate(r.doubt)
            if doubt
        ]
        return tuple(sorted(found, key=lambda s: (s.time, s.row)))

    def others(self) -> dict[str, Observations]:
        """Channels that are no channels of a track.

        Returns:
            Readings by name.
        """
        return {n: r.observations(0.0) for n, r in self.channels.items() if n not in CHANNELS}

    def finish(
        self,
        epoch: datetime,
        kind: str,
        rows_read: int,
        where: str,
        *,
        steps: dict[str, float] | None = None,
        vertical_rate_source: VerticalRateSource = "unknown",
        assumed: tuple[str, ...] = (),
    ) -> tuple[Track, SourceReport]:
        """The track of the readings, doubtful ones marked, and the report.

        Args:
            epoch: UTC time that the readings count from.
            kind: Name of the format.
            rows_read: Data rows in the file.
            where: Name of the file, for errors.
            steps: Quantization steps that the format defines, SI; others are looked for.
            vertical_rate_source: What the vertical rate is the rate of.
            assumed: What was assumed, in sentences.

        Returns:
            Track and report.

        Raises:
            NeutralPointError: `file-empty` where no reading is left.
        """
        steps = steps or {}
        channels = {
            name: self.channels[name].observations(steps.get(name))
            for name in CHANNELS
            if name in self.channels
        }
        if not channels:
            raise self.nothing(rows_read, where)
        made = replace(Track(epoch, vertical_rate_source=vertical_rate_source), **channels)
        track, suspicions = flag_suspects(made)
        own = self.doubts()
        told = {(s.quantity, s.source, s.row) for s in own}
        more = [s for s in suspicions if (s.quantity, s.source, s.row) not in told]
        first, last = track.span()
        return track, SourceReport(
            format=kind,
            rows_read=rows_read,
            first=first,
            last=last,
            refused=self.refusals.result(),
            quality={name: assess(channel) for name, channel in track.channels().items()},
            suspicions=tuple(sorted([*own, *more], key=lambda s: (s.time, s.row))),
            assumed=assumed,
        )

    def nothing(self, rows_read: int, where: str) -> NeutralPointError:
        """The error for a file of which nothing is left.

        Args:
            rows_read: Data rows in the file.
            where: Name of the file.

        Returns:
            The error, with the most frequent reason.
        """
        reasons = [f"{r.count} x {r.reason}" for r in self.refusals.result()[:3]]
        return NeutralPointError(
            "file-empty",
            f"None of the {rows_read} rows could be used: {'; '.join(reasons) or 'no rows'}.",
            where=where,
            hint="Check that the file is of the kind that the case says, and whole.",
        )


def turned(angle: float) -> float:
    """An angle in [0, 2 pi).

    Args:
        angle: rad.

    Returns:
        rad.
    """
    return float(np.mod(angle, 2.0 * np.pi))


def place(latitude: float, longitude: float) -> tuple[float, float]:
    """A position with its longitude in (-pi, pi]; NaN where it is none.

    Args:
        latitude: rad.
        longitude: rad.

    Returns:
        Latitude and longitude, rad.
    """
    if not abs(latitude) <= 0.5 * np.pi or not abs(longitude) <= 2.0 * np.pi:
        return float("nan"), float("nan")
    return latitude, float(np.pi - np.mod(np.pi - longitude, 2.0 * np.pi))
