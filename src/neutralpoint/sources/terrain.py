"""Heights of the ground on a grid, and HGT tiles of them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE

TerrainDatum = Literal["sea level", "ellipsoid"]

NAME = re.compile(r"(?:.*/)?([NS])(\d{2})([EW])(\d{3})\.hgt$", re.IGNORECASE)
SIDES = (1201, 3601)  # posts along a side of one degree: 3 and 1 arc second
ROUNDING = 1e-9  # degrees: a place on the western edge must not be 360 degrees off
VOID = -32768  # mark of a post without a height (same description)


@dataclass(frozen=True)
class Terrain:
    """Heights of the ground at posts of a geographic grid (WGS-84).

    Attributes:
        north: Latitude of the first row of posts, degrees.
        west: Longitude of the first column of posts, degrees.
        steps: Degrees from row to row southwards and from column to column eastwards.
        height: m, north row first, NaN where void, shape (k, l).
        datum: What heights count from.
    """

    north: float
    west: float
    steps: tuple[float, float]
    height: NDArray[np.float32]
    datum: TerrainDatum = "sea level"

    def at(self, latitude: Array, longitude: Array):
        """Height of the ground.

        Args:
            latitude: rad, shape (n,).
            longitude: rad, any turn, shape (n,).

        Returns:
            m above the datum, linear between posts; NaN outside the grid and next to voids, (n,).
        """
        lowest, last = self.height.shape[0] - 1, self.height.shape[1] - 1
        down = (self.north - np.asarray(latitude) / DEGREE) / self.steps[0]
        eastwards = np.mod(np.asarray(longitude) / DEGREE - self.west + ROUNDING, 360.0)
        right = np.maximum(eastwards - ROUNDING, 0.0) / self.steps[1]
        inside = (down >= 0.0) & (down <= lowest) & (right >= 0.0) & (right <= last)
        row = np.clip(np.floor(np.where(inside, down, 0.0)).astype(int), 0, lowest - 1)
        column = np.clip(np.floor(np.where(inside, right, 0.0)).astype(int), 0, last - 1)
        y, x = down - row, right - column
        h = self.height
        found = (
            h[row, column] * (1 - y) * (1 - x)
            + h[row, column + 1] * (1 - y) * x
            + h[row + 1, column] * y * (1 - x)
            + h[row + 1, column + 1] * y * x
        )
        return np.where(inside, found, np.nan)


def read_hgt(data: bytes, name: str) -> Terrain:
    """A tile of one degree.

    Args:
        data: The file: big-endian 16-bit heights in m, north row first.
        name: Its name, which says where it lies: `N46W037.hgt` names the centre of the lowest,
            leftmost post.

    Returns:
        The tile.

    Raises:
        NeutralPointError: `file-format` where name or size are not those of a tile.

    Source: description of SRTM height files (USGS, as the trade notes have it).
    Checked against: tests/unit/test_sources_terrain.py.
    """
    match = NAME.match(name)
    side = round((len(data) / 2.0) ** 0.5)
    if match is None or side not in SIDES or side * side * 2 != len(data):
        raise NeutralPointError(
            "file-format",
            f"A file of {len(data)} bytes named {name[-60:]!r} is no height tile.",
            where=name[-60:],
            hint="A tile is named like N46W037.hgt and has 1201 or 3601 posts along a side.",
        )
    south = float(match[2]) * (1.0 if match[1].upper() == "N" else -1.0)
    west = float(match[4]) * (1.0 if match[3].upper() == "E" else -1.0)
    height = np.frombuffer(data, dtype=">i2").reshape(side, side).astype(np.float32)
    height[height == VOID] = np.nan
    step = 1.0 / (side - 1)
    return Terrain(south + 1.0, west, (step, step), height)
