"""`track.nc`: the readings themselves, so that pages can show them beside the motion."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import xarray as xr

from neutralpoint.study.motion.file import time_attributes
from neutralpoint.track import CHANNELS, Observations, Track
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.cautions import IN_BRIEF

TRACK_FILE = "track.nc"


def track_dataset(track: Track, *, version: str) -> xr.Dataset:
    """The readings of every channel, each on its own times.

    Args:
        track: The record.
        version: Of the program.

    Returns:
        For each channel a dimension `<channel>_reading` with time, value, file row and mark.
    """
    data: dict[str, tuple] = {}
    for name in CHANNELS:
        channel = getattr(track, name)
        if channel is not None and len(channel):
            data |= _channel(name, channel, track.epoch)
    attributes = {
        "Conventions": "CF-1.11",
        "title": "Readings of the track of one flight",
        "source": f"Neutral Point {version}",
        "comment": IN_BRIEF,
    }
    return xr.Dataset(data, attrs=attributes)


def _channel(name: str, channel: Observations, epoch: datetime) -> dict[str, tuple]:
    along = f"{name}_reading"
    words = name.replace("_", " ")
    unit = {"units": QUANTITIES[name].udunits, "quantization_step": float(channel.step)}
    values = {name: channel.value}
    if name == "position":
        values = {"latitude": channel.value[:, 0], "longitude": channel.value[:, 1]}
    found: dict[str, tuple] = {key: (along, array, unit) for key, array in values.items()}
    found[f"{name}_time"] = (along, channel.time, time_attributes(epoch))
    found[f"{name}_row"] = (along, channel.row.astype(np.int32), {"long_name": "Row of the file"})
    found[f"{name}_suspect"] = (
        along,
        channel.suspect.astype(np.int8),
        {"long_name": f"Suspect reading of {words}", "flag_values": np.array([0, 1], np.int8)},
    )
    return found
