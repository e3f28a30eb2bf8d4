"""Heights of the ground from HGT tiles, for height above ground."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE

NAME = re.compile(r"(?:.*/)?([NS])(\d{2})([EW])(\d{3})\.hgt$", re.IGNORECASE)
SIDES = (1201, 3601)  # posts along a side of one degree: 3 and 1 arc second
VOID = -32768  # mark of a post without a height (same description)


@dataclass(frozen=True)
class Terrain:
    """One tile; heights are above the sea (EGM96), of the surface with trees and buildings.

    Attributes:
        south: Latitude of the lowest row of posts, degrees.
        west: Longitude of the first column of posts, degrees.
        height: m, north row first, NaN where void, shape (k, k).
    """

    south: float
    west: float
    height: NDArray[np.float32]

    def at(self, latitude: NDArray[np.float64], longitude: NDArray[np.float64]):
        """Height of the ground.

        Args:
            latitude: rad, shape (n,).
            longitude: rad, shape (n,).

        Returns:
            m above the sea, linear between posts; NaN outside the tile and next to voids, (n,).
        """
        last = self.height.shape[0] - 1
        down = (self.south + 1.0 - np.asarray(latitude) / DEGREE) * last
        right = (np.asarray(longitude) / DEGREE - self.west) * last
        inside = (down >= 0.0) & (down <= last) & (right >= 0.0) & (right <= last)
        row = np.clip(np.floor(np.where(inside, down, 0.0)).astype(int), 0, last - 1)
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
    return Terrain(south, west, height)
