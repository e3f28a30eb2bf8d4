"""A track as it was received, for a picture before any form is filled in.

Nothing is smoothed, joined or corrected: readings of one file, on the file's own clock.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from neutralpoint.app.columns import read_as
from neutralpoint.app.sniffing import HEAD, kind_of
from neutralpoint.errors import NeutralPointError
from neutralpoint.sources import HeightDatum, read_gpx, read_kml
from neutralpoint.track import Observations, Track
from neutralpoint.vocabulary import QUANTITIES

MOST = 6000  # points of a curve that are sent
WHOLE_HEAD = 40  # lines that may hold names of columns and remarks
# What is drawn of a track, in this order.
SHOWN = ("pressure_altitude", "geometric_altitude", "ground_speed", "vertical_rate", "track_angle")


def raw_picture(path: Path, case: Mapping[str, Any], rows: int = 0) -> dict[str, Any]:
    """The readings of a track file.

    Args:
        path: The file, in the case folder.
        case: The case file as TOML; what it says of the file's columns holds.
        rows: About how many rows of a table are enough for a first picture; 0 for all.

    Returns:
        `start` in s after midnight UTC, `day`, and `curves`: title, unit, time in s after the
        start, value, and 1 where a reading is suspect; `of` is 1, or n where one row in n was
        read.

    Raises:
        NeutralPointError: Of the reader, or `file-format` where the file is no track.
    """
    track, apart = _track(path, case, rows)
    channels = track.channels()
    begin = min(float(channel.time[0]) for channel in channels.values())
    since = track.epoch.hour * 3600.0 + track.epoch.minute * 60.0 + track.epoch.second
    curves = [_curve(name, channels[name], begin) for name in SHOWN if name in channels]
    return {
        "start": since + track.epoch.microsecond * 1e-6 + begin,
        "day": track.epoch.date().isoformat(),
        "of": apart,
        "readings": sum(len(channel.time) for channel in channels.values()),
        "curves": curves,
    }


def _track(path: Path, case: Mapping[str, Any], rows: int) -> tuple[Track, int]:
    data = path.read_bytes()
    kind = kind_of(data[:HEAD], path.name)
    if kind == "table":
        return _table(data, case, path.name, rows)
    if kind in ("gpx", "kml"):
        read = read_gpx if kind == "gpx" else read_kml
        return read(data, HeightDatum(), path.name)[0], 1
    raise NeutralPointError(
        "file-format",
        f"{path.name} is read once the case says what it is used as.",
        where=path.name,
        hint="Use it as a track, in the preview of the file.",
    )


def _table(data: bytes, case: Mapping[str, Any], name: str, rows: int) -> tuple[Track, int]:
    """A table, or one row in so many of it; what a thinned one does not read is read whole."""
    some, apart = thinned(data, rows)
    if apart > 1:
        with contextlib.suppress(NeutralPointError):
            return read_as(some, case, name), apart
    return read_as(data, case, name), 1


def thinned(data: bytes, rows: int) -> tuple[bytes, int]:
    """A table with one row in so many, its head whole.

    Args:
        data: The table.
        rows: About how many rows are wanted; 0 for all.

    Returns:
        The table, and how many rows apart those kept are; 1 where nothing was left out.
    """
    lines = data.splitlines(keepends=True)
    apart = len(lines) // rows if rows else 1
    if apart < 2:
        return data, 1
    return b"".join([*lines[:WHOLE_HEAD], *lines[WHOLE_HEAD::apart]]), apart


def _curve(name: str, channel: Observations, begin: float) -> dict[str, Any]:
    about = QUANTITIES[name]
    kept = _kept(channel.value)
    value = channel.value[kept] / about.shown.factor
    return {
        "key": name,
        "title": about.title,
        "unit": about.shown.symbol,
        "decimals": about.shown.decimals,
        "time": channel.time[kept] - begin,
        "value": value,
        "suspect": channel.suspect[kept].astype(float),
    }


def _kept(value: np.ndarray) -> np.ndarray:
    """Indices of all readings, or of the lowest and highest of each run where there are many."""
    if len(value) <= MOST:
        return np.arange(len(value))
    length = -(-2 * len(value) // MOST)
    parts = np.arange(len(value) // length * length).reshape(-1, length)
    each = np.arange(len(parts))
    ends = [parts[each, pick(value[parts], axis=1)] for pick in (np.argmin, np.argmax)]
    return np.unique(np.concatenate([*ends, [0, len(value) - 1]]))
