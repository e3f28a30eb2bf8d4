"""One record from several: channels of files or receivers merged in order of time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from neutralpoint.errors import NeutralPointError
from neutralpoint.track.record import (
    CHANNELS,
    Floats,
    Ints,
    Observations,
    Track,
)


def join_tracks(tracks: Sequence[Track]) -> Track:
    """Merge the records of several sources; every reading is kept.

    Args:
        tracks: Records, each with its own epoch; the index becomes the readings' source.

    Returns:
        One record on the epoch of the first. Its vertical-rate source is that of the records that
        hold a vertical rate where they agree, else `unknown`; the error that its time stamps share
        is the largest of the records'.

    Raises:
        NeutralPointError: `argument-invalid` without a record.
    """
    if not tracks:
        raise NeutralPointError(
            "argument-invalid",
            "There is no track to join.",
            where="join_tracks(tracks)",
            hint="Give at least one track.",
        )
    epoch = tracks[0].epoch
    moved = [
        _rebased(track, (track.epoch - epoch).total_seconds(), index)
        for index, track in enumerate(tracks)
    ]
    merged = {
        name: _merged([c for t in moved if (c := getattr(t, name)) is not None])
        for name in CHANNELS
    }
    kinds = {t.vertical_rate_source for t in tracks if t.vertical_rate is not None}
    return replace(
        Track(epoch),
        vertical_rate_source=kinds.pop() if len(kinds) == 1 else "unknown",
        time_sigma=max(track.time_sigma for track in tracks),
        **merged,
    )


def _rebased(track: Track, shift: float, index: int) -> Track:
    channels = {
        name: replace(
            channel, time=channel.time + shift, source=np.full(len(channel), index, dtype=np.int64)
        )
        for name, channel in track.channels().items()
    }
    return replace(track, **channels)


def _steps(channels: list[Observations], order: Ints) -> Floats | None:
    """Step of each reading; None where all are the same."""
    if len({c.step for c in channels}) < 2 and all(c.steps is None for c in channels):
        return None
    every = [np.full(len(c), c.step) if c.steps is None else c.steps for c in channels]
    return np.concatenate(every)[order]


def _stated(channels: list[Observations], order: Ints) -> Floats | None:
    """Standard deviations stated by some of the sources; NaN for the others."""
    if all(c.sigma is None for c in channels):
        return None
    every = [np.full(len(c), np.nan) if c.sigma is None else c.sigma for c in channels]
    return np.concatenate(every)[order]


def _merged(channels: list[Observations]) -> Observations | None:
    """Readings in order of time, the step of each source kept where they differ."""
    if not channels:
        return None
    if len(channels) == 1:
        return channels[0]
    time = np.concatenate([c.time for c in channels])
    order = np.argsort(time, kind="stable")
    return Observations(
        time=time[order],
        value=np.concatenate([c.value for c in channels])[order],
        step=max(c.step for c in channels),
        steps=_steps(channels, order),
        row=np.concatenate([c.row for c in channels])[order],
        source=np.concatenate([c.source for c in channels])[order],
        suspect=np.concatenate([c.suspect for c in channels])[order],
        sigma=_stated(channels, order),
    )
