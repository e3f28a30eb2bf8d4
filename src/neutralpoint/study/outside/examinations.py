"""Examinations of other packages: asked, and what they return as numbers with bands."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.findings import OutsideExamination, OutsideNumber
from neutralpoint.plugins import EXAMINATIONS, called, faulty, load_plugin
from neutralpoint.study.outside.origin import dataset_of, origin_of, text_of

WHERE = "case.toml: outside.examinations"
MOST = 24  # numbers of one examination that the report prints
LARGEST = 5_000_000  # values that one may return
BAND = (0.05, 0.5, 0.95)


def examine_named(name: str, results: Path) -> tuple[OutsideExamination, xr.Dataset]:
    """Ask an examination of another package.

    Args:
        name: Of the plug-in.
        results: The results folder, with the findings of the stages before.

    Returns:
        Its numbers, and all that it returned.

    Raises:
        NeutralPointError: `plugin-missing`; `plugin-fault`; of the plug-in.
    """
    work = load_plugin(EXAMINATIONS, name, WHERE)
    given = neutralpoint.Results(results)
    found = dataset_of(called(lambda: work(given), name, WHERE), name, WHERE)
    if sum(each.size for each in found.variables.values()) > LARGEST:
        raise faulty(name, f"it returned more than {LARGEST:,} values", WHERE)
    numbers = numbers_of(found)
    said = OutsideExamination(
        origin=origin_of(found, EXAMINATIONS, name, WHERE),
        note=text_of(found, "comment", name, WHERE, needed=False),
        group=group_of(name),
        numbers=numbers[:MOST],
        more=max(len(numbers) - MOST, 0),
    )
    return said, found


def group_of(name: str) -> str:
    """Name of the group of a plug-in in the file."""
    return "".join(letter if letter.isalnum() else "_" for letter in name)


def numbers_of(found: xr.Dataset) -> list[OutsideNumber]:
    """Every number of a dataset; over `sample` a median with its 90% band.

    Args:
        found: Of an examination.

    Returns:
        One entry a place of each numeric variable.
    """
    return [
        number
        for name, each in found.data_vars.items()
        if np.issubdtype(each.dtype, np.number)
        for number in _of(str(each.attrs.get("long_name", name)), each)
    ]


def _of(title: str, values: xr.DataArray) -> list[OutsideNumber]:
    banded = "sample" in values.dims
    rest = [dim for dim in values.dims if dim != "sample"]
    found = []
    for place in product(*(range(values.sizes[dim]) for dim in rest)):
        picked = values.isel(dict(zip(rest, place, strict=True)))
        shown = np.asarray(picked, float)
        shown = shown[np.isfinite(shown)]
        low, middle, high = np.quantile(shown, BAND) if shown.size else (None, None, None)
        found.append(
            OutsideNumber(
                label=", ".join([title[:80], *(_where(picked, str(dim)) for dim in rest)]),
                unit=str(values.attrs["units"])[:20],
                value=middle,
                low90=low if banded else None,
                high90=high if banded else None,
            )
        )
        if len(found) > 10 * MOST:
            break  # the rest stands in the file
    return found


def _where(picked: xr.DataArray, dim: str) -> str:
    """The place along a dimension, as `angle 30 degree`."""
    if dim not in picked.coords:
        return dim
    at = picked.coords[dim]
    value = at.item()
    text = f"{value:g}" if isinstance(value, int | float) else str(value)
    return f"{dim} {text[:40]} {at.attrs.get('units', '')}".strip()
