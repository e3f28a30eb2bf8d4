"""A track as it was received, for a picture before any form is filled in.

Nothing is smoothed, joined or corrected: readings of one file, on the file's own clock.
"""

from __future__ import annotations

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
# What is drawn of a track, in this order.
SHOWN = ("pressure_altitude", "geometric_altitude", "ground_speed", "vertical_rate", "track_angle")


def raw_picture(path: Path, case: Mapping[str, Any]) -> dict[str, Any]:
    """The readings of a track file.

    Args:
        path: The file, in the case folder.
        case: The case file as TOML; what it says of the file's columns holds.

    Returns:
        `start` in s after midnight UTC, `day`, and `curves`: title, unit, time in s after the
        start, value, and 1 where a reading is suspect.

    Raises:
        NeutralPointError: Of the reader, or `file-format` where the file is no track.
    """
    track = _track(path, case)
    channels = track.channels()
    begin = min(float(channel.time[0]) for channel in channels.values())
    since = track.epoch.hour * 3600.0 + track.epoch.minute * 60.0 + track.epoch.second
    curves = [_curve(name, channels[name], begin) for name in SHOWN if name in channels]
    return {
        "start": since + track.epoch.microsecond * 1e-6 + begin,
        "day": track.epoch.date().isoformat(),
        "readings": sum(len(channel.time) for channel in channels.values()),
        "curves": curves,
    }


def _track(path: Path, case: Mapping[str, Any]) -> Track:
    data = path.read_bytes()
    kind = kind_of(data[:HEAD], path.name)
    if kind == "table":
        return read_as(data, case, path.name)
    if kind in ("gpx", "kml"):
        read = read_gpx if kind == "gpx" else read_kml
        return read(data, HeightDatum(), path.name)[0]
    raise NeutralPointError(
        "file-format",
        f"{path.name} is read once the case says what it is used as.",
        where=path.name,
        hint="Use it as a track, in the preview of the file.",
    )


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
