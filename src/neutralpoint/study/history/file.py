"""`history.nc`: what was measured in the earlier flights of the airplane, and their curves."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.history.parts import CURVE
from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.vocabulary.cautions import IN_BRIEF
from neutralpoint.vocabulary.measure import MEASURES

if TYPE_CHECKING:
    from neutralpoint.study.history.work_out import ComparedFlight

HISTORY_FILE = "history.nc"
DRAWN = 300  # flights whose curves are kept, the latest
COMMENT = (
    f"Earlier flights of one airplane. Standing out of them is no finding of a fault. {IN_BRIEF}"
)


def history_dataset(found: ComparedFlight) -> xr.Dataset:
    """What is kept of the earlier flights of the airplane.

    Args:
        found: The flight of the case among the others.

    Returns:
        Dataset over flight and moment; `case_` of the flight of the case.
    """
    fleet = found.fleet
    drawn = np.flatnonzero(found.own)[-DRAWN:]
    size = max([len(found.curve[0]), *(int(np.ptp(fleet.curve_first[k])) for k in drawn), 1])
    own = np.flatnonzero(found.own)
    data: dict = {
        "start": (("flight",), fleet.start[own], {"units": "seconds since 1970-01-01"}),
        "duration": (("flight",), fleet.length[own], {"units": "s"}),
        "file": (("flight",), fleet.file[own].astype(object)),
    }
    for name, measure in MEASURES.items():
        about = {"units": measure.unit, "long_name": measure.title}
        value, sigma = found.values.get(name, (np.nan, np.nan))
        data[name] = (("flight",), fleet.values[name][0, own], about)
        data[f"sigma_{name}"] = (("flight",), fleet.values[name][1, own], {"units": measure.unit})
        data[f"case_{name}"] = ((), value, about)
        data[f"case_sigma_{name}"] = ((), sigma, {"units": measure.unit})
    for number, name in enumerate(("pressure_altitude", "vertical_speed")):
        unit = {"units": "m" if number == 0 else "m s-1"}
        data[f"curve_{name}"] = (("drawn", "moment"), _padded(found, drawn, size, number), unit)
        line = np.full(size, np.nan, np.float32)
        line[: len(found.curve[number])] = found.curve[number]
        data[f"case_curve_{name}"] = (("moment",), line, unit)
    return xr.Dataset(
        data,
        {"moment": ("moment", CURVE * np.arange(size), {"units": "s"})},
        {
            "Conventions": "CF-1.11",
            "title": f"{found.case.document.title}: earlier flights",
            "source": f"Neutral Point {neutralpoint.__version__}",
            "comment": COMMENT,
        },
    )


def _padded(found: ComparedFlight, drawn: Index, size: int, number: int) -> Array:
    """Curves of several flights in one array, NaN after the end of each."""
    together = np.full((len(drawn), size), np.nan, np.float32)
    for row, flight in enumerate(drawn):  # over the flights that are drawn
        line = found.fleet.curve(int(flight))[number]
        together[row, : len(line)] = line
    return together
