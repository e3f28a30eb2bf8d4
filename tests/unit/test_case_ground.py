"""Ground and geoid of a case: heights above ground from either datum, and what is warned of."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr

pytest.importorskip("tifffile", reason="needs the optional extra `terrain`")
from geotiffs import GEOGRAPHIC, slope, written

from neutralpoint.case.document import TerrainEntry
from neutralpoint.case.geoid import geoid_taken, geoid_warnings
from neutralpoint.case.ground import load_ground
from neutralpoint.documents.quantity import parse_quantity
from neutralpoint.earth.weather import constant
from neutralpoint.motion.height import in_pressure_altitude, mean_sea_level_height
from neutralpoint.quantities import DEGREE
from neutralpoint.study.response.stage import _above_ground
from neutralpoint.track import Observations, Track

GEOID = parse_quantity("50 m +- 2 m", "m")
STANDARD = 101325.0


def level(altitude: float, geometric: bool) -> Track:
    """Ten minutes of level flight over the slope."""
    time = np.arange(0.0, 60.0)
    place = np.column_stack([np.full(60, 46.2) * DEGREE, np.linspace(-36.9, -36.6, 60) * DEGREE])
    row, none = np.arange(60), np.zeros(60, dtype=bool)
    seen = Observations(time, place, 0.0, row, row * 0, none)
    height = Observations(time, np.full(60, altitude), 0.0, row, row * 0, none)
    name = "geometric_altitude" if geometric else "pressure_altitude"
    return Track(datetime(2031, 4, 14, tzinfo=UTC), position=seen, **{name: height})


def lowest(folder, track, keys, geoid):
    (folder / "ground.tif").write_bytes(written(slope(), keys))
    entry = TerrainEntry(file="ground.tif")
    (found,) = load_ground(folder, (entry,), track, STANDARD, geoid)
    return found.report.assumed[-1]


@pytest.mark.parametrize(
    ("geometric", "ellipsoid", "height"),
    [(False, False, 760), (False, True, 810), (True, False, 710), (True, True, 760)],
)
def test_ground_and_track_are_put_on_one_datum(tmp_path, geometric, ellipsoid, height):
    """The ground below the track is 240 m at the highest; the geoid is 50 m up."""
    keys = {**GEOGRAPHIC, 4096: 4979} if ellipsoid else GEOGRAPHIC
    said = lowest(tmp_path, level(1000.0, geometric), keys, GEOID)
    assert float(said.split(": ")[1].split(" m")[0]) == pytest.approx(height, abs=1.0)


def test_without_a_geoid_no_height_is_claimed(tmp_path):
    said = lowest(tmp_path, level(1000.0, True), GEOGRAPHIC, None)
    assert said.startswith("No height above ground")


def test_geometric_altitudes_alone_need_a_geoid():
    track = level(1000.0, True)
    assert geoid_taken(None, track)[0].value == "0 m +- 60 m"
    assert geoid_taken(GEOID, track)[0].value == "50 m +- 2 m"
    assert geoid_warnings(None, track)[0].where == "case.toml: geoid_height"
    assert geoid_warnings(GEOID, track) == ()
    assert (
        geoid_taken(None, level(1000.0, False)) == geoid_warnings(None, level(1000.0, False)) == ()
    )


def test_the_geoid_is_taken_off_geometric_altitudes():
    weather = constant(0.0, 0.0, temperature_deviation=10.0)
    track = in_pressure_altitude(level(1000.0, True), weather, STANDARD, 50.0)
    back = mean_sea_level_height(track.pressure_altitude.value, weather, STANDARD)
    assert back == pytest.approx(950.0, abs=0.01)


def test_time_and_strength_take_the_height_of_the_track_over_its_ground(tmp_path):
    """The ground below the end of the flight at 1,000 m is 240 m high; beside the grid none is."""
    (tmp_path / "ground.tif").write_bytes(written(slope(), GEOGRAPHIC))
    terrain = (TerrainEntry(file="ground.tif"),)
    case = SimpleNamespace(
        folder=tmp_path, document=SimpleNamespace(terrain=terrain, geoid_height=None)
    )
    place = level(1000.0, False).position

    def flown(east):
        rows = {"latitude": place.value[:, 0], "longitude": place.value[:, 1] + east}
        rows["altitude"] = np.full(60, 1000.0)
        both = {name: (("sample", "time"), np.stack([row, row])) for name, row in rows.items()}
        return xr.Dataset(both, {"time": place.time})

    assert _above_ground(case, flown(0.0), 59.0) == pytest.approx(760.0, abs=1.0)
    assert _above_ground(case, flown(20.0 * DEGREE), 59.0) is None
