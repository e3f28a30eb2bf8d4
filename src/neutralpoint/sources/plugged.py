"""Tracks that a plug-in of another package reads, held against its protocol."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.plugins import SOURCES, called, faulty, load_plugin
from neutralpoint.sources.assembly import Assembly
from neutralpoint.sources.report import SourceReport
from neutralpoint.track import CHANNELS, Track

UNIX = datetime(1970, 1, 1, tzinfo=UTC)
DAY = 86400.0  # s
EARLIEST, LATEST = 86400.0, 7.3e9  # s after the Unix epoch: 1970-01-02 to 2201; as `clock`


def read_plugged(
    data: bytes, name: str, options: Mapping[str, Any], where: str
) -> tuple[Track, SourceReport]:
    """A track as a plug-in reads it.

    Args:
        data: The file.
        name: Of the plug-in, in the group `neutralpoint.sources`.
        options: Of the case.
        where: Name of the file, for errors.

    Returns:
        Track and report; suspect readings are looked for as in any other file.

    Raises:
        NeutralPointError: `plugin-missing`, `plugin-fault`, `file-empty`; of the plug-in.
    """
    read = load_plugin(SOURCES, name, where)
    found = called(lambda: read(data, dict(options)), name, where)
    channels = _held(found, name, where)
    first = min(float(time[0]) for time, _ in channels.values())
    midnight = first - first % DAY
    readings = Assembly()
    for channel, (time, value) in channels.items():
        readings.extend(channel, time - midnight, value, np.arange(1, time.size + 1))
    count = max(time.size for time, _ in channels.values())
    epoch = UNIX + timedelta(seconds=midnight)
    said = (f"Read by the plug-in {name!r} of another package; it is not checked here.",)
    return readings.finish(epoch, f"plug-in {name}", count, where, assumed=said)


def _held(found: Any, name: str, where: str) -> dict[str, tuple[Array, Array]]:
    """The channels of a plug-in, in order of time, where they keep to the protocol."""
    if not isinstance(found, Mapping) or not found:
        raise faulty(name, "it returned no channels by name", where)
    channels = {}
    for channel, pair in found.items():
        if channel not in CHANNELS:
            raise faulty(name, f"{str(channel)[:40]!r} is none of {', '.join(CHANNELS)}", where)
        time, value = called(lambda p=pair: (_array(p[0]), _array(p[1])), name, where)
        shape = (time.size, 2) if channel == "position" else (time.size,)
        if time.ndim != 1 or not time.size or value.shape != shape:
            raise faulty(name, f"{channel} has shapes {time.shape} and {value.shape}", where)
        if not (np.isfinite(time).all() and (time > EARLIEST).all() and (time < LATEST).all()):
            raise faulty(name, f"times of {channel} are not seconds after 1970, UTC", where)
        order = np.argsort(time, kind="stable")
        channels[channel] = (time[order], value[order])
    return channels


def _array(values: Any) -> Array:
    return np.asarray(values, dtype=np.float64)
