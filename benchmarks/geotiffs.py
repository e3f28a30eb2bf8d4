"""Small GeoTIFF files made on the spot, for tests and for the fuzzing of readers."""

from __future__ import annotations

import io

import numpy as np
import tifffile

GEOGRAPHIC = {1024: 2, 1025: 1, 2048: 4326}  # model, cells as areas, EPSG:4326


def slope(rows: int = 41, columns: int = 61) -> np.ndarray:
    """1000 m more for each degree north of 46 N, 100 m for each degree east of 37 W."""
    north = 46.0 + (rows - 0.5 - np.arange(rows))[:, None] * 0.01
    east = (np.arange(columns) + 0.5)[None, :] * 0.01
    return (1000.0 * (north - 46.0) + 100.0 * east).astype(np.float32)


def written(height, keys=GEOGRAPHIC, *, tie=None, void=None, west=-37.0, **how) -> bytes:
    """A GeoTIFF with steps of 0.01 degree whose north edge is 46 N and the rows."""
    directory = [1, 1, 1, len(keys)]
    for key, value in sorted(keys.items()):
        directory += [key, 0, 1, value]
    tie = tie or (0.0, 0.0, 0.0, west, 46.0 + 0.01 * height.shape[0], 0.0)
    tags = [
        (33550, "d", 3, (0.01, 0.01, 0.0), True),
        (33922, "d", 6, tie, True),
        (34735, "H", len(directory), tuple(directory), True),
    ]
    if void is not None:
        tags.append((42113, "s", 0, str(void), True))
    out = io.BytesIO()
    tifffile.imwrite(out, height, extratags=tags, **{"photometric": "minisblack", **how})
    return out.getvalue()
