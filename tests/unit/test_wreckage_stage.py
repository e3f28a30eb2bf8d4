"""Parts in the case file, maps for any viewer, and what places of parts say of the causes."""

from __future__ import annotations

import json
import xml.etree.ElementTree as Tree
from types import SimpleNamespace

import numpy as np
import pytest
from pydantic import ValidationError

from neutralpoint.case.debris_entry import DebrisEntry
from neutralpoint.case.evidence_entries import TreeCutsEntry
from neutralpoint.errors import NeutralPointError
from neutralpoint.report.figures.wreckage_sheet import wreckage_sheets
from neutralpoint.study.wreckage import stage
from neutralpoint.study.wreckage.maps import MapFeature, geojson, kml, rings_of
from neutralpoint.study.wreckage.work_out import PlaneFrame
from neutralpoint.weighing.evidence import parts_likelihood
from neutralpoint.wreckage import likely_region

PART = {"name": "flap", "mass": "4 kg +- 1 kg", "area": "1 m2", "drag": "0.8 +- 0.2", "source": "x"}
CUTS = {
    "kind": "tree-cuts", "first_height": "12 m +- 1 m", "second_height": "4 m +- 1 m",
    "distance": "20 m +- 1 m", "slope": "0 deg +- 2 deg", "source": "x",
}  # fmt: skip


def test_a_part_has_a_whole_place_or_is_missing():
    assert DebrisEntry.model_validate(PART).missing
    with pytest.raises(ValidationError, match="half a place"):
        DebrisEntry.model_validate(PART | {"latitude": "46 deg"})
    for key, zero in (("mass", "0 kg"), ("area", "0 m2"), ("drag", "0")):
        with pytest.raises(ValidationError):
            DebrisEntry.model_validate(PART | {key: zero})


def test_cuts_need_a_distance_and_an_error():
    angle, sigma = TreeCutsEntry.model_validate(CUTS).path_angle
    assert np.degrees(angle) == pytest.approx(-21.8, abs=0.05)
    assert 0.02 < sigma < 0.06  # 1 m at 95% of each height over 20 m, and 1 deg of slope
    with pytest.raises(ValidationError, match="one place"):
        TreeCutsEntry.model_validate(CUTS | {"distance": "0 m"})
    bare = {key: CUTS[key].split(" +-")[0] for key in ("first_height", "second_height", "distance")}
    with pytest.raises(ValidationError, match="no \\+-"):
        TreeCutsEntry.model_validate(CUTS | bare)


def test_the_region_of_a_normal_scatter_holds_what_it_says():
    """The 90% ring of a circular normal has the radius sigma sqrt(2 ln 10)."""
    rng = np.random.default_rng(20261128)
    north, east = rng.normal(0.0, 300.0, (2, 4000))
    region = likely_region(north, east, np.full(4000, 1.0 / 4000.0), 1.0)
    assert region.area(0.9) == pytest.approx(np.pi * 300.0**2 * 2.0 * np.log(10.0), rel=0.15)
    (ring,) = rings_of(region, 0.9)
    assert np.hypot(*ring).mean() == pytest.approx(300.0 * np.sqrt(2.0 * np.log(10.0)), rel=0.1)
    fresh = rng.normal(0.0, 300.0, (2, 4000))
    row = np.clip(np.searchsorted(region.north, fresh[0]), 0, 59)
    column = np.clip(np.searchsorted(region.east, fresh[1]), 0, 59)
    held = (region.probability[row, column] >= region.level(0.9)).mean()
    assert 0.87 < held < 0.95


def test_maps_are_valid_and_hostile_names_are_escaped():
    name = '</name><script>x</script> & "flap"'
    square = [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (0.0, 0.0)]
    features = [
        MapFeature(name, "part found", (-36.4, 46.2), said={"release_height_m": 900.0}),
        MapFeature(name, "search", rings=[square], said={"probability": 0.9}),
    ]
    document = json.loads(geojson(features))
    assert [f["geometry"]["type"] for f in document["features"]] == ["Point", "MultiPolygon"]
    assert document["features"][0]["geometry"]["coordinates"] == [-36.4, 46.2]
    tree = Tree.fromstring(kml(features))  # our own text
    space = {"k": "http://www.opengis.net/kml/2.2"}
    assert [n.text for n in tree.findall(".//k:Placemark/k:name", space)] == [name, name]


def test_a_place_goes_to_meters_and_back_across_the_date_line():
    frame = PlaneFrame(0.8, np.pi - 1e-5)
    north, east = np.array([1200.0, -400.0]), np.array([900.0, -2000.0])
    back = frame.flat(*frame.round(north, east))
    assert np.allclose(back, (north, east), atol=1e-3)
    assert abs(float(frame.flat(np.array([0.8]), np.array([-np.pi + 1e-5]))[1][0])) < 200.0


def test_parts_move_the_odds_no_further_than_their_doubt():
    causes = ("structural-failure", "separation", "elevator-jam")
    flight, ground = (parts_likelihood(causes, sign * 500.0, 0.1) for sign in (1.0, -1.0))
    assert flight[0] > flight[1] > flight[2] and ground[2] > ground[1] > ground[0]
    assert np.ptp(flight) < np.log(30.0)
    assert np.ptp(parts_likelihood(causes, 0.0, 0.1)) < 1e-9


def test_the_map_is_drawn_from_the_file_and_a_damaged_file_is_refused(tmp_path):
    rng = np.random.default_rng(5)
    north, east = rng.normal(0.0, 300.0, (2, 400))
    region = likely_region(north, east, np.full(400, 1.0 / 400.0), 1.0)
    ending = SimpleNamespace(reached=np.arange(20) < 15, north=north[:20], east=east[:20])
    found = SimpleNamespace(
        ending=ending, scene=SimpleNamespace(frame=SimpleNamespace(latitude=0.8, longitude=0.1)),
        parts=[SimpleNamespace(name="flap", north=120.0, east=-40.0)],
        regions=[(SimpleNamespace(name="fin"), region, False)],
    )  # fmt: skip
    kept = stage._map(found)
    assert len(kept.ending.north) == 15
    assert np.sum(kept.regions[0].probability) == pytest.approx(1.0, abs=1e-4)
    (tmp_path / "wreckage.json").write_text(kept.model_dump_json(), "utf-8")
    results = SimpleNamespace(
        folder=tmp_path, time=np.arange(40.0),
        findings=SimpleNamespace(wreckage=SimpleNamespace(file="wreckage.json", last=39.0)),
        bands={name: np.full((5, 40), value) for name, value in
               (("latitude", 0.8), ("longitude", 0.1))},
    )  # fmt: skip
    (sheet,) = wreckage_sheets(results)
    labels = [text.get_text() for text in sheet.legends[0].get_texts()]
    assert "1  flap, found" in labels and "fin, missing: 50%, 90%" in labels
    (tmp_path / "wreckage.json").write_text('{"parts": []}', "utf-8")
    with pytest.raises(NeutralPointError) as refused:
        wreckage_sheets(results)
    assert refused.value.code == "results-version"
