"""The map without a network: coast where the coast is, airfields and ground too."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from neutralpoint.app.world import surroundings
from neutralpoint.quantities import NAUTICAL_MILE
from neutralpoint.report import Results, load_results
from neutralpoint.report.figures.views import flat_paths

# Source: WGS 84 positions as charts print them, from memory: the light of a strait between two
# continents, at 36 00 N 5 36 W, with an airfield 24 NM to its east-northeast at 36.151 N 5.350 W.
LIGHT, FIELD, CODE = (36.00, -5.61), (36.151, -5.350), "LXGB"


def moved(results: Results, latitude: float, longitude: float) -> Results:
    """The same path elsewhere: its first place there, degrees."""
    off = {
        "latitude": np.radians(latitude) - results.bands["latitude"][2, 0],
        "longitude": np.radians(longitude) - results.bands["longitude"][2, 0],
    }
    bands = results.bands | {name: results.bands[name] + by for name, by in off.items()}
    samples = results.samples | {name: results.samples[name] + by for name, by in off.items()}
    return Results(**{**vars(results), "bands": bands, "samples": samples})


@pytest.fixture(scope="module")
def results(results_folder: Path) -> Results:
    return load_results(results_folder)


def nowhere(latitude: Any, _longitude: Any) -> Any:
    return np.full(len(latitude), np.nan)


def test_coast_and_airfield_lie_where_they_are(results: Results) -> None:
    found = surroundings(moved(results, *LIGHT), nowhere)
    coast = np.hstack([[one["x"], one["y"]] for one in found["lines"] if not one["border"]])
    assert np.hypot(*coast).min() < 4000.0  # m: thinned and rounded to about 2 km
    # North of the light lies land, south of it the sea: land is to the right of the coast.
    line = max(
        (one for one in found["lines"] if not one["border"]),
        key=lambda one: -np.hypot(one["x"], one["y"]).min(),
    )
    k = min(int(np.hypot(line["x"], line["y"]).argmin()), len(line["x"]) - 2)
    along = np.array([np.diff(line["x"])[k], np.diff(line["y"])[k]])
    right = np.array([along[1], -along[0]])
    assert right[1] > 0.0
    (field,) = [one for one in found["fields"] if one["code"] == CODE]
    north = (FIELD[0] - LIGHT[0]) * 111_000.0
    east = (FIELD[1] - LIGHT[1]) * 111_300.0 * np.cos(np.radians(36.1))
    assert [field["x"], field["y"]] == pytest.approx([east, north], abs=1500.0)
    assert found["ground"] is None


def test_the_ground_lies_below_the_path(results: Results) -> None:
    """A ground that rises by a meter each thousandth of a degree north, and two east."""

    def slope(latitude: Any, longitude: Any) -> Any:
        return 1000.0 * np.degrees(latitude) + 2000.0 * np.degrees(longitude)

    found = surroundings(results, slope)["ground"]
    height = np.reshape(found["height"], (found["count"], found["count"]))
    # Of the first place and the last, by the corners of the grid alone.
    north, east = (np.median(one, axis=0) * NAUTICAL_MILE for one in flat_paths(results))
    row = np.linspace(found["south"], found["north"], found["count"])
    column = np.linspace(found["west"], found["east"], found["count"])
    for k in (0, -1):
        i, j = abs(row - north[k]).argmin(), abs(column - east[k]).argmin()
        place = (results.bands[name][2, [k]] for name in ("latitude", "longitude"))
        spacing = max(np.ptp(height[:2, 0]), np.ptp(height[0, :2]))
        assert height[i, j] == pytest.approx(slope(*place)[0], abs=2 * spacing)


def test_across_the_date_line_nothing_is_lost(results: Results) -> None:
    here = [surroundings(moved(results, 51.9, 177.46 + turn), nowhere) for turn in (0.0, 360.0)]
    assert len(here[0]["lines"]) == len(here[1]["lines"]) > 0
    over = surroundings(moved(results, 51.9, 180.0), nowhere)
    xs = np.hstack([one["x"] for one in over["lines"]])
    assert xs.min() < 0.0 < xs.max()
    assert max(np.abs(np.diff(one["x"])).max() for one in over["lines"]) < 200_000.0


def test_the_call_answers_numbers(workbench: Any, served_case: Path) -> None:
    answer = workbench.get(f"/c/{served_case.name}/api/surroundings")
    size = int.from_bytes(answer.content[:4], "little")
    plain = json.loads(answer.content[4 : 4 + size])
    assert set(plain) == {"lines", "fields", "ground", "wind"}
    assert workbench.post(f"/c/{served_case.name}/api/surroundings", json={}).status_code == 405
