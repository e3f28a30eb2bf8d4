"""An examination: how long the airplane was banked beyond some angles, path by path."""

from __future__ import annotations

import numpy as np
import xarray as xr

from neutralpoint import Results

ANGLES = (15.0, 30.0, 45.0)  # deg


def time_in_bank(results: Results) -> xr.Dataset:
    """Time beyond each angle of bank, of every sample path.

    Args:
        results: Of a study.

    Returns:
        `time_beyond`, s, dimensions sample and angle: a quantile over the paths is a statement
        with its band.
    """
    motion = results.motion
    grid = motion["is_fix"].values == 0
    bank = np.abs(np.degrees(motion["bank_angle"].values[:, grid]))
    step = np.diff(motion["time"].values[grid]).astype("timedelta64[ms]").astype(float)
    seconds = 1e-3 * float(np.median(step))
    beyond = np.stack([(bank > angle).sum(axis=1) * seconds for angle in ANGLES], axis=1)
    return xr.Dataset(
        {"time_beyond": (("sample", "angle"), beyond, {"units": "s", "long_name": "time beyond"})},
        {"angle": ("angle", list(ANGLES), {"units": "degree"})},
        {
            "title": "Time in bank",
            "source": "counted on the sample paths of motion.nc",
            "comment": "A stretch without bank in the data counts as the paths have it",
        },
    )
