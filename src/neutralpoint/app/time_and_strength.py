"""The saved maps of time and strength as the page draws them, in the units shown."""

from __future__ import annotations

import json
import math
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from neutralpoint.app.folders import RESULTS
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import check_netcdf
from neutralpoint.findings import CAUTIONS, LatestAction
from neutralpoint.quantities import FOOT, POUND_FORCE
from neutralpoint.report.figures.display import SHOWN
from neutralpoint.report.words.lessons import lesson_line
from neutralpoint.report.words.response import latest_words
from neutralpoint.vocabulary.quantity import RECOVERY

FILE = "response.nc"
AT_RECOVERY = {q.name: SHOWN[q.name] for q in RECOVERY}


def time_and_strength(folder: Path) -> dict[str, Any]:
    """Maps, latest moments, forces and lessons of a case.

    Args:
        folder: The case folder.

    Returns:
        JSON values; NaN and infinities are for the sender to take out.

    Raises:
        NeutralPointError: `results-missing` without the file, `results-version` for one of
            another version.
    """
    path = folder / RESULTS / FILE
    if not path.is_file():
        raise _unusable("results-missing", "Time to act has not been computed yet.", path)
    about = path.stat()
    return _read(path, (about.st_size, about.st_mtime_ns))


@lru_cache(maxsize=4)
def _read(path: Path, _mark: tuple[int, int]) -> dict[str, Any]:
    """The document of a file as it was when it had this size and time."""
    try:
        with xr.open_datatree(check_netcdf(path), engine="h5netcdf", decode_times=False) as tree:
            groups = {name: node.to_dataset().load() for name, node in tree.children.items()}
            about = {str(name): value for name, value in tree.attrs.items()}
        return _document(groups, about)
    except (OSError, ValueError, KeyError) as broken:
        said = f"{FILE} cannot be read by this version: {broken}."
        raise _unusable("results-version", said, path) from broken


def _document(groups: dict[str, xr.Dataset], about: dict[str, Any]) -> dict[str, Any]:
    return {
        "causes": list(groups),
        "titles": {name: str(group.attrs["title"]) for name, group in groups.items()},
        "reference": {name: str(group.attrs["reference"]) for name, group in groups.items()},
        "faults": {name: _fault(name, group) for name, group in groups.items()},
        "directions": {name: _direction(group) for name, group in groups.items()},
        "maps": [m for name, group in groups.items() for m in _maps(name, group)],
        "latest": [row for name, group in groups.items() for row in _latest(name, group)],
        "recoveries": [row for name, group in groups.items() for row in _recovery(name, group)],
        "force": {name: _force(g) for name, g in groups.items() if "pull_to_hold" in g},
        "lessons": [lesson_line(key) for key in json.loads(str(about["lessons"]))],
        "left_out": json.loads(str(about["left_out"])),
        "height": {
            "value": float(about["height_above_ground_m"]) / FOOT,
            "unit": "ft",
            "stated": str(about["height_stated"]),
        },
        "reaction": {
            "median": float(about["reaction_median_s"]),
            "spread": float(about["reaction_spread"]),
            "source": str(about["reaction_source"]),
            "of_rules": [float(x) for x in np.atleast_1d(about["regulatory_delays_s"])],
        },
        "cautions": [str(about["comment"]), *CAUTIONS],
    }


def _direction(group: xr.Dataset) -> str:
    """Which way the faults of a cause were flown; older files flew them nose down."""
    return str(group.attrs.get("direction", "nose-down"))


def _fault(name: str, group: xr.Dataset) -> dict[str, float]:
    """The typical fault of the maps but for when it begins: the page has the case's own onset."""
    from neutralpoint.study.flying.cause_list import (
        fault_of_maps,  # loads JAX: not before the page is up
    )

    nose = -1 if _direction(group) == "nose-up" else 1
    fault = fault_of_maps(name, nose=nose)
    return {key: value for key, value in fault.items() if key != "start"}


def _maps(cause: str, group: xr.Dataset) -> list[dict[str, Any]]:
    delay = {
        "label": "Delay from recognition to the first action",
        "unit": "s",
        "values": group["delay"].values.tolist(),
        "parameter": "reaction",
    }
    height = {
        "label": "Height above the ground at the start",
        "unit": "ft",
        "values": (group["level"].values / FOOT).round().tolist(),
        "parameter": "ground",
    }
    found = []
    for procedure in _procedures(group):
        one = group.sel(procedure=procedure)
        common = {
            "cause": cause,
            "procedure": procedure,
            "lesson": procedure.startswith("lesson"),
            "x": delay,
        }
        found.append(common | {"y": height, **_shares(one, "saved_over_height", "level")})
        if "saved_over_rate" in group:
            rate = {
                "label": "Trim rate, share of the motor's",
                "unit": "",
                "values": group["rate"].values.round(3).tolist(),
                "parameter": "rate_share",
            }
            fewer = delay | {"values": group["rate_delay"].values.tolist()}
            shares = _shares(one, "saved_over_rate", "rate", "rate_delay")
            found.append(common | {"x": fewer, "y": rate, **shares})
    return found


def _shares(one: xr.Dataset, name: str, side: str, delay: str = "delay") -> dict[str, Any]:
    """Shares with their 95% ends over delays, one row for each value of the other side."""
    keys = {"share": name, "low": f"{name}_low", "high": f"{name}_high"}
    return {
        key: one[variable].transpose(side, delay).values.round(4).tolist()
        for key, variable in keys.items()
        if variable in one
    }


def _latest(cause: str, group: xr.Dataset) -> list[dict[str, Any]]:
    """Latest effective action: 5th, 50th and 95th percentile of the pilots."""
    from neutralpoint.study.response.work_out import LONGEST  # loads JAX, as `_fault` does

    return [
        {
            "cause": cause,
            "procedure": procedure,
            "percentile of pilots": share,
            "latest": latest_words(LatestAction.of(value), LONGEST),
        }
        for procedure in _procedures(group)
        for share, value in zip(
            ("5%", "50%", "95%"),
            group["latest_safe_action"].sel(procedure=procedure).values,
            strict=True,
        )
        if not math.isnan(value)
    ]


def _recovery(cause: str, group: xr.Dataset) -> list[dict[str, Any]]:
    """What a recovery takes of height, speed and force, of those saved; medians."""
    rows = []
    for procedure in _procedures(group):
        one = group.sel(procedure=procedure)
        row: dict[str, Any] = {"cause": cause, "procedure": procedure}
        for name, shown in AT_RECOVERY.items():
            low, middle, high = (float(x) for x in one[name].values)
            if not math.isnan(middle):
                ends = f"{shown.number(low)} to {shown.number(high)}"
                row[shown.title] = f"{shown.with_unit(shown.number(middle))} ({ends})"
        row["saved within limits"] = f"{100 * float(one['saved_within_limits']):.0f}%"
        rows.append(row)
    return rows


def _force(group: xr.Dataset) -> dict[str, Any]:
    return {
        "time": group["force_time"].values.tolist(),
        "pull": (group["pull_to_hold"].values / POUND_FORCE).round(1).tolist(),
        "unit": "lb",
        "one_hand": group["share_one_hand"].values.round(3).tolist(),
        "two_hands": group["share_two_hands"].values.round(3).tolist(),
    }


def _procedures(group: xr.Dataset) -> list[str]:
    return [str(name) for name in group["procedure"].values]


def _unusable(code: str, message: str, path: Path) -> NeutralPointError:
    return NeutralPointError(
        code, message, where=str(path), hint="Run `neutralpoint response CASE`, or the job here."
    )
