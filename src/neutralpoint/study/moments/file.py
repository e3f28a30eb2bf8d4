"""`moments.nc`: the required moment as a NetCDF file by the CF conventions."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.numerics.intervals import half_width
from neutralpoint.quantities import GRAVITY
from neutralpoint.study.moments.work_out import Moments
from neutralpoint.study.motion.file import time_attributes
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.cautions import IN_BRIEF

MOMENTS_FILE = "moments.nc"
EVERY = 0.5  # s between the times kept; the smoothing window is four times as long or more
THRUST_LIMIT = 0.1  # of the weight: half width of the 90% band of thrust; analyst's


def moment_paths(found: Moments) -> dict[str, Array]:
    """Sample paths by variable, on the grid of the required moment.

    Args:
        found: What the stage found.

    Returns:
        Paths of shape (S, m) of every variable that this airplane has.
    """
    required, energy = found.required, found.energy
    paths = {
        "moment": required.moment,
        "moment_coefficient": required.moment_coefficient,
        "standing_coefficient": required.standing_coefficient,
        "needed_stabilizer": required.stabilizer,
        "needed_tab": required.tab,
        "needed_elevator": required.elevator,
        "needed_column_force": required.column_force,
        "needed_cg_shift": required.cg_shift,
        "needed_thrust": energy.thrust,
        "power_needed": energy.power,
        "full_thrust": energy.full,
        "idle_thrust": energy.idle,
        "stall_margin": required.stall_margin,
    }
    return {name: values for name, values in paths.items() if not np.isnan(values).all()}


def moment_flags(found: Moments, paths: dict[str, Array]) -> dict[str, Flags]:
    """Where the data bear a value of each variable.

    Args:
        found: What the stage found.
        paths: Sample paths by variable, each (S, m).

    Returns:
        True where they do, each (m,).
    """
    weight = float(found.airplane.airplane.mass.mass) * GRAVITY
    thrust = half_width(paths["needed_thrust"]) <= THRUST_LIMIT * weight
    coefficient = QUANTITIES["moment_coefficient"]
    flags = {}
    for name, values in paths.items():
        variable = coefficient if name == "moment" else QUANTITIES[name]
        shown = paths["moment_coefficient"] if name == "moment" else values
        known = np.isfinite(values).all(axis=0)
        if variable.limit is not None:
            known &= half_width(np.nan_to_num(shown)) <= variable.limit
        if variable.needs_lift:
            known &= ~found.required.stalled
        if name in ("needed_thrust", "power_needed"):
            known = known & thrust
        flags[name] = known
    return flags


def moments_dataset(found: Moments, *, epoch: datetime, version: str) -> xr.Dataset:
    """The required moment with names and units.

    Args:
        found: What the stage found.
        epoch: UTC time that times count from.
        version: Of the program.

    Returns:
        Dataset with dimensions `sample` and `time`.
    """
    kept = slice(None, None, max(1, round(EVERY / found.flight.step)))
    paths = moment_paths(found)
    flags = moment_flags(found, paths)
    samples = next(iter(paths.values())).shape[0]
    numbers = np.arange(samples, dtype=np.int32)
    data: dict[str, tuple] = {
        name: _variable(name, values[:, kept]) for name, values in paths.items()
    }
    for name, known in flags.items():
        data[f"observable_{name}"] = _flag(
            f"Whether the data support a value of {name}", known[kept]
        )
    data["is_reference"] = _flag("True in the last trimmed flight", found.required.trimmed[kept])
    return xr.Dataset(
        data,
        {
            "time": ("time", found.required.time[kept], time_attributes(epoch)),
            "sample": (
                "sample",
                numbers,
                {"long_name": "Number of the joint sample path, that of motion.nc"},
            ),
        },
        {
            "Conventions": "CF-1.11",
            "title": "Moment required by one flight",
            "source": f"Neutral Point {version}",
            "comment": f"Smoothed over {found.window:g} s. Each sample is one joint path; bands "
            f"are quantiles over samples. {IN_BRIEF}",
        },
    )


def _variable(name: str, values: Array):
    variable = QUANTITIES[name]
    attributes: dict[str, object] = {"units": variable.udunits, "long_name": variable.long_name}
    if variable.limit is not None:
        attributes["observable_half_width"] = variable.limit
    return ("sample", "time"), _rounded(values), attributes


def _rounded(values: Array) -> NDArray[np.float32]:
    """Kept to 12 bits of the fraction, far below any band, so that paths compress."""
    fraction, exponent = np.frexp(values)
    return np.ldexp(np.rint(fraction * 4096.0) / 4096.0, exponent).astype(np.float32)


def _flag(meaning: str, flags: Flags):
    attributes = {
        "long_name": meaning,
        "flag_values": np.array([0, 1], dtype=np.int8),
        "flag_meanings": "no yes",
    }
    return "time", flags.astype(np.int8), attributes
