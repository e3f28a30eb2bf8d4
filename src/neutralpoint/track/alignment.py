"""Several records of one flight put on the clock of the first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, sqrt

import numpy as np

from neutralpoint.track.clocks import ClockFit, fit_tracks, moved, retimed
from neutralpoint.track.record import Track


@dataclass(frozen=True)
class Clock:
    """The clock of one record.

    Attributes:
        fit: Against the first record; None for that one, and where the two could not be compared.
        said: What was found, in sentences.
        compared: Whether it is on the clock of the first record.
    """

    fit: ClockFit | None
    said: tuple[str, ...] = ()
    compared: bool = True

    @property
    def offset(self) -> float:
        """Seconds taken off the times of the record."""
        return 0.0 if self.fit is None else self.fit.offset


def align_tracks(
    tracks: Sequence[Track], sigmas: Sequence[float] | None = None
) -> tuple[list[Track], list[Clock]]:
    """Records with their times corrected to the clock of the first.

    Every reading is kept: what two receivers saw of one transmission tells their clocks apart.

    Args:
        tracks: Records, each with its own epoch.
        sigmas: Standard deviation of each clock as the case states it, s; 0 where left out.

    Returns:
        The records, each with the error that the time stamps of the joined record share, and the
        clock of each.
    """
    if not tracks:
        return [], []
    sigmas = [0.0] * len(tracks) if sigmas is None else sigmas
    first = tracks[0]
    found, clocks = [first], [Clock(None)]
    for track in tracks[1:]:
        shift = (track.epoch - first.epoch).total_seconds()
        fit = fit_tracks(first, moved(track, shift))
        if fit is None:
            said = (
                "Its clock cannot be compared with that of the first track file: too little "
                "moving flight in common. Its times are left as they are.",
            )
            found.append(track)
            clocks.append(Clock(None, said, compared=False))
            continue
        corrected = retimed(track, lambda t, s=shift, f=fit: f.corrected(t + s) - s)
        found.append(corrected)
        clocks.append(Clock(fit, (_said(fit, corrected, shift),)))
    shared = _shared(found, clocks, sigmas)
    return [replace(track, time_sigma=hypot(track.time_sigma, shared)) for track in found], clocks


def _shared(tracks: list[Track], clocks: list[Clock], sigmas: Sequence[float]) -> float:
    """The error that the joined record has in common, s, one sigma.

    The error of the first clock is that of all. What is left of each other clock moves the joined
    record by the share of its readings; the errors of several clocks are independent.
    """
    counts = [0 if t.position is None else len(t.position) for t in tracks]
    total = max(sum(counts), 1)
    squares = sigmas[0] ** 2
    for track, clock, own, count in zip(
        tracks[1:], clocks[1:], sigmas[1:], counts[1:], strict=True
    ):
        left = own
        if clock.fit is not None:
            shift = (track.epoch - tracks[0].epoch).total_seconds()
            left = float(np.max(clock.fit.sigma(np.array(track.span()) + shift)))
        squares += (left * count / total) ** 2
    return sqrt(squares)


def _said(fit: ClockFit, corrected: Track, shift: float) -> str:
    first, last = corrected.span()
    ends = float(np.max(fit.sigma(np.array([first, last]) + shift)))
    drift = (
        f", drift {1e6 * fit.drift:.0f} +- {2e6 * fit.drift_sigma:.0f} microseconds a second"
        if fit.drift_sigma
        else ""
    )
    return (
        f"Clock against the first track file: offset {fit.offset:.3f} +- "
        f"{2.0 * fit.offset_sigma:.3f} s{drift}, jitter {fit.jitter:.3f} s, from {fit.count} "
        f"positions; corrected, which leaves at most +- {2.0 * ends:.3f} s (95%)."
    )
