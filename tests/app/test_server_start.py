"""The start of a case: a file as received, stated defaults, the catalogue, the example."""

from __future__ import annotations

import csv
import io
import json
import tomllib
import zipfile
from datetime import date
from importlib import resources
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from neutralpoint.app.archive import write_archive
from neutralpoint.app.defaults import with_defaults
from neutralpoint.app.raw import raw_picture, thinned
from neutralpoint.app.workbench import make_app
from neutralpoint.case import parse_case
from neutralpoint.quantities import KNOT
from neutralpoint.report import load_results
from neutralpoint.sources import HeightDatum, read_gpx, read_kml

API = "/c/hollow/api"


def unpacked(data: bytes) -> dict:
    size = int.from_bytes(data[:4], "little")
    plain = json.loads(data[4 : 4 + size])
    floats = np.frombuffer(data[4 + size :], "<f4")
    for curve in plain["curves"]:
        for name in ("time", "value", "suspect"):
            held = curve[name]
            curve[name] = floats[held["at"] : held["at"] + held["shape"][0]]
    return plain


def test_a_track_is_drawn_as_received(workbench, repository: Path) -> None:
    answer = workbench.get(f"{API}/raw", params={"name": "track.csv"})
    assert answer.status_code == 200
    found = unpacked(answer.content)
    assert found["day"] == "2031-04-14"
    curves = {curve["key"]: curve for curve in found["curves"]}
    assert list(curves)[:2] == ["pressure_altitude", "ground_speed"]
    rows = (repository / "examples/quorleigh/track.csv").read_text().splitlines()
    at = rows[0].split(",").index("altitude_ft")
    first = next(float(row.split(",")[at]) for row in rows[1:] if row.split(",")[at])
    assert curves["pressure_altitude"]["value"][0] == pytest.approx(first)  # ft, as in the file
    refused = workbench.get(f"{API}/raw", params={"name": "sounding.txt"})
    assert refused.json()["error"]["code"] == "file-format"


def test_a_long_file_is_drawn_first_by_some_of_its_rows(tmp_path: Path) -> None:
    head = "time,altitude_ft,remark\n"
    text = head + "".join(f"2031-04-14T18:{k // 60:02}:{k % 60:02}Z,{k},x\n" for k in range(3000))
    some, apart = thinned(text.encode(), 500)
    assert apart == 6
    lines = some.decode().splitlines()
    assert lines[0] == head.strip() and lines[1].endswith(",0,x")
    assert len(lines) == 40 + -(-(3001 - 40) // 6)
    path = tmp_path / "long.csv"
    path.write_text(text.replace(":60:", ":59:"), encoding="utf-8")
    for rows, read_of in ((500, 6), (0, 1), (3001, 1)):
        found = raw_picture(path, {}, rows)
        assert found["of"] == read_of
    assert thinned(b"a\nb\n", 500) == (b"a\nb\n", 1)


def test_stated_defaults_make_a_whole_case() -> None:
    before = '# mine\nschema = 1\n\n[[tracks]]\nfile = "lake.csv"\ncolumns = { time = "t" }\n'
    text = with_defaults(before, date(2031, 5, 1))
    assert "# mine" in text
    table = tomllib.loads(text)
    assert table["title"] == "Flight of lake"
    assert table["weather"][0]["wind_error"] == "40 kt"
    assert table["tracks"] == [{"file": "lake.csv", "columns": {"time": "t"}}]
    lift = 'name = "x"\nmass = "5000 kg"\nwing_area = "28 m2"\nlift_slope = "5.4 1/rad"\n'
    lift += 'zero_lift_angle = "-2 deg"\nmaximum_lift = "1.6"\n'
    assert parse_case(text + f"\n[airplane]\n{lift}").cut_off == date(2031, 5, 1)
    assert with_defaults(text, date(2040, 1, 1)) == text  # what is stated stays


def test_an_airplane_is_copied_into_the_case(workbench, served_case: Path) -> None:
    cards = {card["name"]: card for card in workbench.get(f"{API}/airplanes").json()}
    card = cards["ostrel-7"]
    items = [card["empty"], *card["items"]]
    mass = sum(item["mass"] for item in items)
    assert mass == pytest.approx(card["mass"])  # the page adds up what the loading adds up
    moment = sum(item["mass"] * item["station"] for item in items)
    assert moment / mass == pytest.approx(card["station"], abs=1e-6)
    answer = workbench.post(f"{API}/airplanes", json={"name": "ostrel-7"})
    assert answer.status_code == 200, answer.text
    assert tomllib.loads((served_case / "case.toml").read_text())["airplane"]["file"] == (
        "ostrel-7.toml"
    )
    assert b'name = "Ostrel 7"' in (served_case / "ostrel-7.toml").read_bytes()
    again = workbench.post(f"{API}/airplanes", json={"name": "ostrel-7"})
    assert again.status_code == 409
    assert workbench.post(f"{API}/airplanes", json={"name": "../x"}).status_code == 404


def test_the_shipped_example_is_begun(workbench, served_case: Path, repository: Path) -> None:
    names = [workbench.post("/cases", json={"example": True}).json()["case"] for _ in range(2)]
    assert names == ["example-quorleigh", "example-quorleigh-2"]
    shipped = resources.files("neutralpoint.app") / "example"
    for entry in shipped.iterdir():
        begun = served_case.parent / names[0] / entry.name
        original = repository / "examples/quorleigh" / entry.name
        assert begun.read_bytes() == entry.read_bytes() == original.read_bytes(), entry.name


def test_stretches_and_hatches_are_found_in_the_path(workbench) -> None:
    found = workbench.get(f"{API}/stretches").json()
    names = [one["name"] for one in found["stretches"]]
    assert "Last 90 s" not in names[:1]
    # The hand-made path sinks and rises by 500 m about 80 s after its beginning.
    dive = next(one for one in found["stretches"] if one["name"] == "Dive")
    climb = next(one for one in found["stretches"] if one["name"] == "Climb")
    assert 65.0 < dive["start"] < dive["end"] <= 80.0 <= climb["start"] + 2.0
    bank = [one for one in found["hatches"] if one["quantity"] == "bank_angle"]
    assert len(bank) == 1
    assert bank[0]["start"] == pytest.approx(74.25, abs=0.5)
    assert "load factor is near zero" in bank[0]["why"]
    assert bank[0]["helps"][0]["path"] == "tracks"


def test_the_path_is_handed_on_and_read_back(workbench, results_folder: Path) -> None:
    results = load_results(results_folder)
    rows = list(csv.DictReader(io.StringIO(workbench.get(f"{API}/out/series.csv").text)))
    assert len(rows) == len(results.time)
    low, high = (float(rows[0][f"calibrated_airspeed_kt_p{p}"]) for p in ("05", "95"))
    band = results.bands["calibrated_airspeed"][:, 0] / KNOT
    assert [low, high] == pytest.approx([band[0], band[4]], abs=0.006)  # two decimals
    hidden = next(k for k, seen in enumerate(results.observable["bank_angle"]) if not seen)
    assert rows[hidden]["bank_angle_deg_p50"] == ""
    polars = pytest.importorskip("polars", reason="needs the optional extra `history`")
    answer = workbench.get(f"{API}/out/series.parquet").content
    table = polars.read_parquet(io.BytesIO(answer))
    assert [table.columns, len(table)] == [list(rows[0]), len(rows)]
    assert table["calibrated_airspeed_kt_p95"][0] == pytest.approx(band[4])
    assert table["bank_angle_deg_p50"][hidden] is None
    assert f"{table['time_utc'][hidden]:%H:%M:%S}" == rows[hidden]["time_utc"][11:19]
    assert "Not for flight" in polars.read_parquet_metadata(io.BytesIO(answer))["caution"]
    # Read by the readers of this program, which are written to the formats, not to this writer.
    for name, read in (("path.gpx", read_gpx), ("path.kml", read_kml)):
        answer = workbench.get(f"{API}/out/{name}")
        assert "attachment" in answer.headers["content-disposition"]
        track, _ = read(answer.content, HeightDatum(), name)
        place = results.bands["latitude"][2, 0], results.bands["longitude"][2, 0]
        assert track.fixes.value[0] == pytest.approx(place, abs=2e-9)  # seven decimals of a degree
        assert len(track.fixes.time) == len(results.time)


def test_a_packed_case_is_that_case_again(workbench, served_case: Path, tmp_path: Path) -> None:
    packed = write_archive(served_case).read_bytes()
    app = make_app(served_case.parent, hosts=frozenset({"127.0.0.1:8000"}), upload_limit=10**7)
    base = "http://127.0.0.1:8000"
    headers = {"Origin": base, "X-NP-Token": app.state.workbench.access.token}
    with TestClient(app, base_url=base, headers=headers) as client:
        assert client.put("/cases", content=packed).json() == {"case": "hollow-2"}
        again = served_case.parent / "hollow-2"
        for path in (*served_case.glob("*.*"), *served_case.glob("results/*.nc")):
            assert (again / path.relative_to(served_case)).read_bytes() == path.read_bytes()
        before = sorted(served_case.parent.rglob("*"))
        for name in ("../out.toml", "hollow/sub/x.txt", "hollow/.hidden", "/etc/x", "a/b\\c"):
            wrong = tmp_path / "wrong.zip"
            with zipfile.ZipFile(wrong, "w") as made:
                made.writestr("hollow/case.toml", "schema = 1")
                made.writestr(name, "x")
            refused = client.put("/cases", content=wrong.read_bytes())
            assert refused.status_code in (400, 422), name
        assert client.put("/cases", content=b"PK no archive").status_code == 422
        assert client.put("/cases", content=packed, headers={"X-NP-Token": "x"}).status_code == 403
        assert sorted(served_case.parent.rglob("*")) == before
