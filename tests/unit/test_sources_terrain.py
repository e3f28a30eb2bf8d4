"""HGT tiles: the north row first, named by the lowest, leftmost post; voids stay unknown."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE
from neutralpoint.sources import read_hgt


def tile() -> bytes:
    """Height is 1000 m times the way north plus 100 m times the way east, with one void."""
    north = np.linspace(1.0, 0.0, 1201)[:, None]
    east = np.linspace(0.0, 1.0, 1201)[None, :]
    height = np.rint(1000.0 * north + 100.0 * east).astype(">i2")
    height[600, 600] = -32768
    return height.tobytes()


def test_heights_between_posts():
    terrain = read_hgt(tile(), "tiles/S46W037.hgt")
    latitude, longitude = np.array([-45.9, -45.25]) * DEGREE, np.array([-36.9, -36.3]) * DEGREE
    assert terrain.at(latitude, longitude) == pytest.approx([110.0, 820.0], abs=1.0)


def test_voids_and_places_outside_are_unknown():
    terrain = read_hgt(tile(), "N46E037.hgt")
    latitude, longitude = np.array([46.5, 48.0]) * DEGREE, np.array([37.5, 37.5]) * DEGREE
    assert np.isnan(terrain.at(latitude, longitude)).all()


@pytest.mark.parametrize(("size", "name"), [(10, "N46E037.hgt"), (1201**2 * 2, "ground.hgt")])
def test_other_files_are_refused(size, name):
    with pytest.raises(NeutralPointError, match="no height tile"):
        read_hgt(bytes(size), name)
