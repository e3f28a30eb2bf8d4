"""A cause: a hatch ahead of the tailplane opens, and its wake takes lift from the tail."""

from __future__ import annotations

import numpy as np
import xarray as xr

# Change of the pitching-moment coefficient with the hatch open, nose down; invented.
SIZES = -np.geomspace(0.005, 0.15, 40)
OPENS = (0.3, 2.0)  # s that it takes to open; invented
STARTS = 96  # a third of a second apart in half a minute: a coarser grid would exclude wrongly


def tail_hatch(flight: xr.Dataset) -> xr.Dataset:
    """Every history that the hatch can make: it opens once, and stays open.

    Args:
        flight: Speed, dynamic pressure, Mach number and load factor at the times asked for.

    Returns:
        `moment_coefficient`, dimensions history and time, with the parameters of each history.
    """
    time = flight["time"].values
    first, last = float(time.min()), float(time.max())
    starts = np.linspace(first - 1.0, first + 0.75 * (last - first), STARTS)
    start, size, opens = (each.ravel() for each in np.meshgrid(starts, SIZES, OPENS, indexing="ij"))
    share = np.clip((time - start[:, None]) / opens[:, None], 0.0, 1.0)
    return xr.Dataset(
        {
            "moment_coefficient": (("history", "time"), share * size[:, None], {"units": "1"}),
            "start": ("history", start, {"units": "s"}),
            "size": ("history", size, {"units": "1"}),
            "opening_time": ("history", opens, {"units": "s"}),
        },
        attrs={
            "title": "Hatch ahead of the tailplane open",
            "mechanism": "The wake of the open hatch takes a share of the tailplane's lift",
            "source": "Invented sizes, no measurement",
            "settles": "Latches and hinges of the hatch; paint marks on the tailplane",
        },
    )
