"""GeoTIFF heights: posts where the keys say, voids unknown, everything else refused in words."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE

pytest.importorskip("tifffile", reason="needs the optional extra `terrain`")

from geotiffs import GEOGRAPHIC, slope, written

from neutralpoint.sources.geotiff import (
    ABOVE_ELLIPSOID,
    UNITS,
    WITHIN_TWO_METRES,
    read_geotiff,
)


def at(grid, latitude_deg, longitude_deg):
    return grid.at(np.array([latitude_deg]) * DEGREE, np.array([longitude_deg]) * DEGREE)[0]


@pytest.mark.parametrize(
    "how", [{}, {"compression": "deflate"}, {"tile": (16, 16)}, {"byteorder": ">"}]
)
def test_heights_lie_where_the_keys_say(how):
    grid, said = read_geotiff(written(slope(), **how), "ground.tif")
    assert at(grid, 46.2, -36.7) == pytest.approx(230.0, abs=0.05)  # single precision
    assert np.isnan(at(grid, 45.9, -36.7))
    assert np.isnan(at(grid, 46.2, -36.3))
    assert grid.datum == "sea level"
    assert "does not name a vertical datum" in said[0]


def test_a_tie_at_the_centre_of_a_post_moves_the_grid_by_half_a_step():
    keys = {**GEOGRAPHIC, 1025: 2}
    corner, _ = read_geotiff(written(slope()), "a.tif")
    centre, _ = read_geotiff(written(slope(), keys), "b.tif")
    assert centre.north - corner.north == pytest.approx(0.005)
    assert corner.west - centre.west == pytest.approx(0.005)


def test_a_grid_over_the_antimeridian_is_one_piece():
    grid, _ = read_geotiff(written(slope(), west=179.8), "ground.tif")
    assert at(grid, 46.2, -179.9) == pytest.approx(230.0, abs=0.05)
    assert at(grid, 46.2, 179.9) == pytest.approx(210.0, abs=0.05)


def test_voids_stay_unknown():
    height = slope()
    height[20, 30] = -9999.0
    grid, _ = read_geotiff(written(height, void=-9999), "ground.tif")
    assert np.isnan(grid.height[20, 30])
    assert np.isfinite(grid.height).sum() == height.size - 1


def test_feet_and_the_ellipsoid_are_read_off_the_keys():
    keys = {**GEOGRAPHIC, 4096: 4979, 4099: 9002}
    grid, said = read_geotiff(written(slope(), keys), "ground.tif")
    assert grid.datum == "ellipsoid"
    assert "above the ellipsoid" in said[0]
    assert at(grid, 46.2, -36.7) == pytest.approx(230.0 * 0.3048, abs=0.05)


def test_codes_are_those_of_the_register():
    """Against the names that the library gives the codes."""
    from tifffile import geodb

    names = [geodb.GCS(code).name for code in WITHIN_TWO_METRES if code != 4979]
    assert names == ["WGS_84", "EUREF89", "NAD83"]
    lengths = [geodb.Linear(code).name for code in UNITS]
    assert lengths == ["Meter", "Foot", "Foot_US_Survey"]
    assert geodb.VertCS(ABOVE_ELLIPSOID[1]).name == "WGS_84_ellipsoid"


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (lambda: written(slope(), {1024: 1, 3072: 32632}), "projected coordinates"),
        (lambda: written(slope(), {}), "no coordinate system"),
        (lambda: written(slope(), {1024: 2, 2048: 4267}), "EPSG:4267"),
        (lambda: written(np.zeros((40, 50, 3), np.uint8), photometric="rgb"), "one band"),
        (lambda: written(np.full((9, 9), 9e9, np.float32)), "No post holds"),
        (lambda: written(slope(), tie=(0, 0, 0, 0, 200.0, 0)), "nowhere on the earth"),
        (lambda: written(slope())[:300], "cannot be read"),
        (lambda: b"II*\x00" + bytes(4), "cannot be read"),
    ],
)
def test_other_files_are_refused_in_words(data, message):
    with pytest.raises(NeutralPointError, match=message) as refused:
        read_geotiff(data(), "ground.tif")
    assert refused.value.code == "file-format"


def test_a_huge_image_is_refused_before_it_is_unpacked(monkeypatch):
    monkeypatch.setattr("neutralpoint.sources.geotiff.MOST_POSTS", 1000)
    with pytest.raises(NeutralPointError) as refused:
        read_geotiff(written(slope(), compression="deflate"), "ground.tif")
    assert refused.value.code == "file-too-large"
