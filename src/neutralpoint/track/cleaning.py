"""Doubtful readings: marked with a reason, never removed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.track.record import Flags, Floats, Observations, Track

# A reading is called impossible where it lies off every chord between its neighbours by more than
# this acceleration allows. Structural limits of civil airplanes lie below 6 g (CS-23.337,
# from memory); the rest is margin, because an upset must never be flagged away.
GREATEST_ACCELERATION = 60.0  # m/s2
POSITION_NOISE = 60.0  # m, allowance for position noise and time jitter
ALTITUDE_NOISE = 30.0  # m
SPEED_NOISE = 10.0  # m/s
STEPS_ALLOWED = 3.0
MOVED = 15.0  # m: a repeated position is stale where the airplane must have moved this far
NEIGHBOURS = 2


@dataclass(frozen=True)
class Suspicion:
    """Why one reading is doubtful.

    Attributes:
        quantity: Channel of the track.
        source: Index of the file or receiver.
        row: Row of the source file.
        time: s after the epoch.
        reason: `duplicate`, `stale repeat` or `impossible jump`.
    """

    quantity: str
    source: int
    row: int
    time: float
    reason: str


def flag_suspects(track: Track) -> tuple[Track, tuple[Suspicion, ...]]:
    """Mark duplicates, stale repeats and impossible jumps.

    Args:
        track: The record.

    Returns:
        The record with the doubtful readings marked, and one reason for each of them.
    """
    stale_rows = _stale_rows(track)
    marked: dict[str, Observations] = {}
    suspicions: list[Suspicion] = []
    for name, channel in track.channels().items():
        reasons = _reasons(name, channel, stale_rows)
        suspect = reasons != ""
        marked[name] = channel.marked(suspect)
        suspicions += [
            Suspicion(
                name,
                int(channel.source[k]),
                int(channel.row[k]),
                float(channel.time[k]),
                str(reasons[k]),
            )
            for k in np.flatnonzero(suspect)
        ]
    return replace(track, **marked), tuple(sorted(suspicions, key=lambda s: (s.time, s.row)))


def _reasons(name: str, channel: Observations, stale_rows: set[tuple[int, int]]):
    reasons = np.full(len(channel), "", dtype="U16")
    reasons[_jumps(name, channel)] = "impossible jump"
    if name == "position":
        reasons[_stale_positions(channel)] = "stale repeat"
    if stale_rows:
        pairs = zip(channel.source.tolist(), channel.row.tolist(), strict=True)
        reasons[np.array([pair in stale_rows for pair in pairs])] = "stale repeat"
    reasons[_duplicates(channel)] = "duplicate"
    return reasons


def _duplicates(channel: Observations) -> Flags:
    """Readings of one source equal to an earlier one in time and value."""
    values = channel.value.reshape(len(channel), -1)
    table = np.column_stack([channel.source, channel.time, values])
    _, first = np.unique(table, axis=0, return_index=True)
    flags = np.ones(len(channel), dtype=bool)
    flags[first] = False
    return flags


def metres(position: Observations) -> Floats:
    """Positions as metres north and east of the first one, good enough to size a jump.

    Args:
        position: Latitude and longitude, rad, shape (n, 2).

    Returns:
        m, shape (n, 2).
    """
    latitude, longitude = position.value[:, 0], position.value[:, 1]
    turn = np.mod(longitude - longitude[0] + np.pi, 2.0 * np.pi) - np.pi
    scale = np.cos(np.median(latitude))
    return EARTH_RADIUS * np.column_stack([latitude - latitude[0], turn * scale])


def _stale_positions(position: Observations) -> Flags:
    """Positions equal to the one before while the airplane moved on.

    The motion is taken from the nearest distinct positions on both sides, so that an airplane at
    rest is not called stale.
    """
    count = len(position)
    flags = np.zeros(count, dtype=bool)
    if count < 3:
        return flags
    place = metres(position)
    same = np.r_[False, (np.diff(position.value, axis=0) == 0.0).all(axis=1)]
    starts = np.flatnonzero(~same)
    run = np.cumsum(~same) - 1
    for k in np.flatnonzero(same):
        here, after = starts[run[k]], run[k] + 1
        if after >= starts.size or position.time[k] == position.time[k - 1]:
            continue
        ahead = starts[after]
        lapse = position.time[ahead] - position.time[here]
        speed = np.linalg.norm(place[ahead] - place[here]) / max(lapse, 1e-9)
        moved = speed * (position.time[k] - position.time[here])
        flags[k] = moved > max(MOVED, STEPS_ALLOWED * position.step * EARTH_RADIUS)
    return flags


def _stale_rows(track: Track) -> set[tuple[int, int]]:
    """Rows whose position is stale and whose other readings all repeat the row before."""
    if track.position is None:
        return set()
    flagged = _stale_positions(track.position)
    rows = {
        (int(track.position.source[k]), int(track.position.row[k])) for k in np.flatnonzero(flagged)
    }
    for name, channel in track.channels().items():
        if name == "position" or not rows:
            continue
        changed = np.r_[True, np.diff(channel.value) != 0.0]
        rows -= {(int(channel.source[k]), int(channel.row[k])) for k in np.flatnonzero(changed)}
    return rows


def _jumps(name: str, channel: Observations) -> Flags:
    """Readings off every chord between a neighbour before and a neighbour after.

    Every pair of up to two neighbours on each side is tried, so that a bad neighbour does not
    throw doubt on a good reading. The first and last readings are never doubted.
    """
    count = len(channel)
    if name == "track_angle" or count < 3:
        return np.zeros(count, dtype=bool)
    if name == "position":
        value, step = metres(channel), channel.step * EARTH_RADIUS
    else:
        value, step = channel.value[:, None], channel.step
    noise = STEPS_ALLOWED * step + (
        POSITION_NOISE
        if name == "position"
        else ALTITUDE_NOISE
        if name.endswith("altitude")
        else SPEED_NOISE
    )
    rate = name in ("ground_speed", "vertical_rate")
    jump = np.ones(count, dtype=bool)
    jump[0] = jump[-1] = False
    for back in range(1, NEIGHBOURS + 1):
        for ahead in range(1, NEIGHBOURS + 1):
            jump &= _off_chord(channel.time, value, back, ahead, rate, noise)
    return jump


def _off_chord(
    time: Floats, value: Floats, back: int, ahead: int, rate: bool, noise: float
) -> Flags:
    """Whether each reading lies off one chord; True where the chord does not exist.

    The widest gap between a chord and a path of bounded acceleration is a t1 t2 / 2; a speed can
    leave the chord by 2 a t1 t2 / (t1 + t2).
    """
    count = time.size
    off = np.ones(count, dtype=bool)
    middle = np.arange(back, count - ahead)
    if not middle.size:
        return off
    before = time[middle] - time[middle - back]
    after = time[middle + ahead] - time[middle]
    whole = np.maximum(before + after, 1e-9)
    chord = (
        value[middle - back] * after[:, None] + value[middle + ahead] * before[:, None]
    ) / whole[:, None]
    distance = np.linalg.norm(value[middle] - chord, axis=1)
    reach = GREATEST_ACCELERATION * before * after * (2.0 / whole if rate else 0.5)
    off[middle] = distance > reach + noise
    return off
