"""A case is changed losslessly, checked before it is written, and every change can be undone."""

from __future__ import annotations

import difflib
import os
from pathlib import Path

import pytest

from neutralpoint.app.workbench import make_app
from neutralpoint.case import load_case
from neutralpoint.errors import NeutralPointError

API = "/c/hollow/api"


def revision(workbench) -> str:
    return workbench.get(f"{API}/case.toml").json()["revision"]


def fill(workbench, **values):
    paths = {key.replace("__", "."): value for key, value in values.items()}
    return put(workbench, paths)


def put(workbench, values):
    body = {"revision": revision(workbench), "values": values}
    return workbench.put(f"{API}/form", json=body)


def changed_lines(before: str, after: str) -> list[str]:
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return [line for line in lines if line.startswith(("+ ", "- "))]


def test_the_form_shows_what_the_case_says(workbench):
    form = workbench.get(f"{API}/form").json()
    fields = {f["path"]: f for group in form["groups"] for f in group["fields"]}
    assert fields["airplane.name"]["required"] is True
    assert fields["altimeter_setting"]["value"] == "1009.5 hPa +- 1 hPa"
    assert fields["altimeter_setting"]["kind"] == "quantity"
    assert fields["altimeter_setting"]["unit"] == "Pa"
    assert fields["analysis.onset"]["value"] == "18:54:30"
    assert fields["tracks[1].vertical_rate_source"]["choices"] == ["baro", "geometric", "unknown"]
    assert fields["invented"] | {"value": "true", "kind": "flag"} == fields["invented"]
    assert fields["events[2].error"]["value"] == "3 s"
    kinds = {part["path"]: [k["kind"] for k in part["kinds"]] for part in form["addable"]}
    assert "constant" in kinds["weather[3]"]
    assert kinds["events[3]"] == [""]


def test_a_value_changes_one_line_and_keeps_comments(workbench, served_case):
    before = (served_case / "case.toml").read_text()
    answer = fill(workbench, analysis__onset="18:54:31")
    assert answer.status_code == 200
    assert answer.json()["revision"] == revision(workbench)
    after = (served_case / "case.toml").read_text()
    assert changed_lines(before, after) == [
        "- onset = 18:54:30                     # the last moment of the steady descent",
        "+ onset = 18:54:31                     # the last moment of the steady descent",
    ]
    assert fill(workbench, analysis__onset="18:54:31").status_code == 200
    assert workbench.get(f"{API}/state").json()["can_undo"] is True
    workbench.post(f"{API}/undo")
    assert (served_case / "case.toml").read_text() == before
    assert workbench.get(f"{API}/state").json()["can_undo"] is False  # no change, no step


def test_entries_come_and_go(workbench, served_case):
    before = (served_case / "case.toml").read_text()
    fresh = {
        "events[3].time": "18:55:01",
        "events[3].kind": "witness",
        "events[3].text": 'a "bang"',
    }
    assert put(workbench, fresh).status_code == 200
    after = (served_case / "case.toml").read_text()
    added = [line for line in changed_lines(before, after) if line.strip("+ ")]
    assert added == [
        "+ [[events]]", "+ time = 18:55:01", '+ kind = "witness"', '+ text = "a \\"bang\\""',
    ]  # fmt: skip
    assert put(workbench, {"events[1]": None, "events[3]": None}).status_code == 200
    left = (served_case / "case.toml").read_text()
    assert "bang" not in left
    assert "unable to descend" not in left
    assert "open microphone" in left
    assert put(workbench, {"events[9]": None}).status_code == 422


def test_every_fault_is_said_beside_its_field_and_nothing_is_written(workbench, served_case):
    before = (served_case / "case.toml").read_text()
    sent = put(
        workbench,
        {
            "airplane.mass": "5 furlong",
            "seed": "-1",
            "altimeter_setting": "1009 ft",
            "position_age": "soon",
        },
    )
    assert sent.status_code == 422
    errors = {error["path"]: error for error in sent.json()["errors"]}
    assert set(errors) == {"airplane.mass", "seed", "altimeter_setting", "position_age"}
    assert all(error["message"] and error["hint"] for error in errors.values())
    sent = put(
        workbench,
        {
            "analysis.onset": "later\n[x]",
            "cut_off": "tomorrow",
            "seed": "many",
            "nothing": "x",
            "airplane": "x",
            "__class__.x": "1",
            "tracks[99].only": "x",
            "invented": "perhaps",
            "tracks[1].vertical_rate_source": "magic",
            "question": "\x07",
            "place": {"a": 1},
        },
    )
    assert sent.status_code == 422
    assert len(sent.json()["errors"]) == 11
    assert (served_case / "case.toml").read_text() == before
    assert not (served_case / ".history").exists()


def test_a_case_is_begun_empty_and_filled_in_any_order(workbench, served_case):
    begun = {"name": "lake 2031", "title": "", "question": "What happened over the lake?"}
    assert workbench.post("/cases", json=begun).json() == {"case": "lake 2031"}
    assert workbench.post("/cases", json=begun).json()["error"]["code"] == "case-exists"
    for name in ("../x", ".x", "a/b", ""):
        assert workbench.post("/cases", json=begun | {"name": name}).status_code == 400
    assert "lake 2031" in workbench.get("/").text
    api, folder = "/c/lake 2031/api", served_case.parent / "lake 2031"

    def save(values):
        body = {"revision": workbench.get(f"{api}/form").json()["revision"], "values": values}
        return workbench.put(f"{api}/form", json=body)

    def wanted() -> set[str]:
        state = workbench.get(f"{api}/state").json()
        assert state["problem"] is None
        found = {gap["path"] for gap in state["missing"] if gap["stage"] == "motion"}
        reason = state["stages"]["motion"]["cannot"]
        assert bool(found) == reason.startswith("The case still needs: ")
        return found

    assert {"title", "cut_off", "tracks", "weather", "airplane.name", "airplane.mass"} <= wanted()
    # Weather first, then a reading, then a title: each is kept although the case is not whole.
    wind = {"kind": "constant", "wind_from": "270 deg", "wind_speed": "15 kt"}
    assert save({f"weather[1].{key}": value for key, value in wind.items()}).status_code == 200
    assert save({"airplane.mass": "5 200 kg +- 90 kg", "title": "Over the lake"}).status_code == 200
    faults = save({"airplane.wing_area": "28 kg"})
    assert [error["path"] for error in faults.json()["errors"]] == ["airplane.wing_area"]
    text = (folder / "case.toml").read_text()
    assert text.startswith("# Begun in the workbench")
    assert text.index("title =") < text.index("[[weather]]")
    assert "wing_area" not in text
    assert {"cut_off", "tracks", "airplane.name"} <= wanted()
    with pytest.raises(NeutralPointError) as refused:
        load_case(folder)
    assert refused.value.code == "case-incomplete"
    # A track at last: the file, its columns, and what the form still wants.
    workbench.put(f"{api}/file?name=flight.csv", content=(served_case / "track.csv").read_bytes())
    assert save({"tracks[1].file": "flight.csv"}).status_code == 200
    assert "tracks[1].columns" in wanted()
    columns = workbench.get(f"{api}/preview?name=flight.csv").json()["columns"]
    chosen = {c["name"]: {"quantity": c["quantity"], "unit": c["unit"]} for c in columns}
    assert workbench.put(f"{api}/columns?name=flight.csv", json=chosen).status_code == 200
    rest = {"name": "An airplane", "wing_area": "28 m2", "lift_slope": "5.4 1/rad"}
    rest |= {"zero_lift_angle": "-2 deg", "maximum_lift": "1.6"}
    values = {f"airplane.{key}": value for key, value in rest.items()} | {"cut_off": "2031-05-01"}
    assert save(values).status_code == 200
    assert wanted() == set()
    later = workbench.get(f"{api}/state").json()["missing"]
    assert [(gap["path"], gap["stage"]) for gap in later] == [("airplane.file", "moments")]
    assert load_case(folder).document.title == "Over the lake"
    # An airplane that nobody has is not taken in silence; the catalogue is named.
    assert save({"airplane.file": "ostrel-9"}).status_code == 200
    assert wanted() == {"airplane.file"}
    (gap,) = workbench.get(f"{api}/state").json()["missing"]
    assert "ostrel-9 is neither" in gap["hint"] and "ostrel-7" in gap["hint"]
    assert save({"airplane.file": "ostrel-7"}).status_code == 200
    assert wanted() == set()


def test_two_tabs_do_not_overwrite_each_other(workbench, served_case):
    old = revision(workbench)
    assert fill(workbench, place="Here").status_code == 200
    late = workbench.put(f"{API}/form", json={"revision": old, "values": {"place": "There"}})
    assert late.status_code == 409
    assert late.json()["error"]["code"] == "revision-old"
    late = workbench.put(f"{API}/case.toml", params={"revision": old}, content="schema = 1")
    assert late.status_code == 409
    assert "Here" in (served_case / "case.toml").read_text()


def test_the_text_is_checked_before_it_is_written(workbench, served_case):
    good = (served_case / "case.toml").read_text()
    for bad, code in (
        ("schema = ", "case-syntax"),
        (good + "\nnothing = 1\n", "case-invalid"),
        (good.replace("[airplane]", "[airplan]"), "case-invalid"),
        ("", "case-incomplete"),
    ):
        answer = workbench.put(
            f"{API}/case.toml", params={"revision": revision(workbench)}, content=bad
        )
        assert answer.status_code == 422
        assert answer.json()["error"]["code"] == code
    assert (served_case / "case.toml").read_text() == good
    better = good.replace("seed = 20310414", "seed = 7  # mine")
    answer = workbench.put(
        f"{API}/case.toml", params={"revision": revision(workbench)}, content=better
    )
    assert answer.json() == {"revision": revision(workbench)}
    assert (served_case / "case.toml").read_text() == better


def test_undo_and_redo_walk_through_texts_and_files(workbench, served_case):
    texts = [(served_case / "case.toml").read_text()]
    for number in range(3):
        fill(workbench, seed=str(number))
        texts.append((served_case / "case.toml").read_text())
    workbench.put(f"{API}/file?name=new.csv", content=b"first")
    assert workbench.put(f"{API}/file?name=new.csv", content=b"second").status_code == 409
    workbench.put(f"{API}/file?name=new.csv&replace=1", content=b"second")
    workbench.delete(f"{API}/file?name=new.csv")
    new = served_case / "new.csv"
    seen = []
    for _ in range(6):
        assert workbench.post(f"{API}/undo").status_code == 200
        seen.append(
            (new.read_bytes() if new.exists() else None, (served_case / "case.toml").read_text())
        )
    assert [data for data, _ in seen] == [b"second", b"first", None, None, None, None]
    assert [text for _, text in seen] == [texts[3]] * 3 + texts[2::-1]
    assert workbench.post(f"{API}/undo").status_code == 409
    for _ in range(5):
        assert workbench.post(f"{API}/redo").status_code == 200
    assert new.read_bytes() == b"second"
    fill(workbench, seed="99")
    assert workbench.post(f"{API}/redo").status_code == 409  # a new change forgets what was undone
    assert workbench.get(f"{API}/state").json()["can_redo"] is False


def test_undo_never_overwrites_what_was_changed_by_hand(workbench, served_case):
    fill(workbench, seed="5")
    text = (served_case / "case.toml").read_text() + "# by hand\n"
    (served_case / "case.toml").write_text(text)
    answer = workbench.post(f"{API}/undo")
    assert answer.status_code == 409
    assert (served_case / "case.toml").read_text() == text


def test_a_damaged_history_reaches_nothing_outside(workbench, served_case, tmp_path):
    fill(workbench, seed="5")
    entry = next((served_case / ".history").glob("*.json"))
    entry.write_text('{"texts": {}, "moves": [["../../x", "track.csv"]]}')
    (served_case.parent.parent / "x").write_text("x")
    assert workbench.post(f"{API}/undo").status_code == 409
    assert (served_case.parent.parent / "x").exists()


def test_what_a_killed_server_left_is_removed(served_case):
    old, fresh = served_case / ".upload-old", served_case / ".upload-fresh"
    for path in (old, fresh):
        path.write_bytes(b"half")
    os.utime(old, (1e9, 1e9))
    make_app(served_case, hosts=frozenset(), upload_limit=1)
    assert not old.exists()
    assert fresh.exists()  # perhaps being sent to another server at this moment


def test_source_files_stay_as_they_are(workbench, served_case):
    before = {p.name: p.read_bytes() for p in served_case.iterdir() if p.is_file()}
    workbench.delete(f"{API}/file?name=track.csv")
    assert not (served_case / "track.csv").exists()
    kept = list((served_case / ".removed").iterdir())
    assert [p.read_bytes() for p in kept] == [before["track.csv"]]
    state = workbench.get(f"{API}/state").json()
    assert state["problem"]["code"] == "file-missing"  # the page still says what is wrong
    workbench.post(f"{API}/undo")
    assert {p.name: p.read_bytes() for p in served_case.iterdir() if p.is_file()} == before


def test_a_broken_case_file_can_be_seen_and_mended(workbench, served_case):
    good = (served_case / "case.toml").read_text()
    (served_case / "case.toml").write_text("title = [\n")
    assert workbench.get("/").status_code == 200
    assert workbench.get("/c/hollow/").status_code == 200
    assert workbench.get(f"{API}/state").json()["problem"]["code"] == "case-syntax"
    assert workbench.get(f"{API}/form").json()["error"]["code"] == "case-syntax"
    answer = workbench.put(
        f"{API}/case.toml", params={"revision": revision(workbench)}, content=good
    )
    assert answer.status_code == 200


def test_a_dropped_table_becomes_a_track(workbench, served_case):
    rows = "".join(
        f"18:54:{s:02d},{46.2 + s * 1e-4:.5f},{-37.1 + s * 1e-4:.5f},{5000 + 25 * s},120,x\n"
        for s in range(40)
    )
    data = "when_utc_time,lat,lon,alt_ft,GS (kt),remark\n" + rows
    workbench.put(f"{API}/file?name=dropped.csv", content=data.encode())
    found = workbench.get(f"{API}/preview?name=dropped.csv").json()
    assert found["kind"] == "table"
    columns = {column["name"]: column for column in found["columns"]}
    assert columns["lat"]["quantity"] == "latitude"
    assert columns["alt_ft"]["quantity"] == "pressure_altitude"
    assert columns["remark"]["quantity"] == ""
    assert found["error"]["code"] == "time-unclear"  # no date is in the file
    assert len(found["rows"]) == 20
    assert found["choices"]["ground_speed"] == ["kt", "m/s", "km/h", "mph"]
    chosen = {
        "when_utc_time": {"quantity": "time"},
        "lat": {"quantity": "latitude", "unit": "deg"},
        "lon": {"quantity": "longitude", "unit": "deg"},
        "alt_ft": {"quantity": "pressure_altitude", "unit": "ft"},
        "remark": {"quantity": ""},
    }
    before = (served_case / "case.toml").read_text()
    saved = workbench.put(f"{API}/columns?name=dropped.csv", json=chosen)
    assert saved.json() == {"revision": revision(workbench)}
    text = (served_case / "case.toml").read_text()
    assert all(line.startswith("+ ") for line in changed_lines(before, text))
    assert 'pressure_altitude = { column = "alt_ft", unit = "ft" }' in text.replace(
        "{c", "{ c"
    ).replace('t"}', 't" }')
    assert put(workbench, {"tracks[2].date": "2031-04-14"}).status_code == 200
    found = workbench.get(f"{API}/preview?name=dropped.csv").json()
    assert found["error"] is None
    assert {c["confidence"] for c in found["columns"] if c["quantity"]} == {"named"}
    used = {f["name"]: f["used"] for f in workbench.get(f"{API}/state").json()["files"]}
    assert used["dropped.csv"] == "track"


def test_columns_that_cannot_be_are_refused(workbench, served_case):
    before = (served_case / "case.toml").read_text()
    answer = workbench.put(
        f"{API}/columns?name=track.csv",
        json={
            "latitude": {"quantity": "latitude", "unit": "kt"},
            "longitude": {"quantity": "wisdom"},
            "nothing": {"quantity": "time"},
            "track_deg": {"quantity": "track_angle"},
            "altitude_ft": {"quantity": "track_angle"},
        },
    )
    assert answer.status_code == 422
    paths = [error["path"] for error in answer.json()["errors"]]
    assert paths == ["latitude", "longitude", "nothing", "altitude_ft"]
    answer = workbench.put(f"{API}/columns?name=track.csv", json={})
    assert "time" in answer.json()["errors"][0]["message"]
    alone = {"time_utc": {"quantity": "time"}}
    answer = workbench.put(f"{API}/columns?name=track.csv", json=alone)
    assert "No column holds a position" in answer.json()["errors"][0]["message"]
    wrong = alone | {"ground_speed_kt": {"quantity": "ground_speed", "unit": "m/s"}}
    wrong |= {"latitude": {"quantity": "latitude"}, "longitude": {"quantity": "longitude"}}
    assert workbench.put(f"{API}/columns?name=none.csv", json={}).status_code == 404
    assert (served_case / "case.toml").read_text() == before
    # A unit that can be, but does not fit, is saved and spoken against.
    assert workbench.put(f"{API}/columns?name=track.csv", json=wrong).status_code == 200
    warnings = workbench.get(f"{API}/preview?name=track.csv").json()["warnings"]
    assert any("ground_speed" in line and "kt" in line for line in warnings)


@pytest.mark.parametrize(
    ("name", "data", "kind"),
    [
        ("a.gpx", b"<?xml version='1.0'?><gpx></gpx>", "gpx"),
        ("a.kml", b"<kml/>", "kml"),
        ("a.bin", b"\x3e\x00\x30\x01\x02", "asterix"),
        ("a.txt", b"18:00:01.0 8DD840D6202CC371C32CE0812537\n" * 4, "modes"),
        ("a.nc", b"\x89HDF\r\n\x1a\n", "netcdf"),
        ("a.png", b"\x89PNG\r\n\x1a\n\x00\x00", "other"),
        ("b.txt", b"METAR QQCH 141850Z 24008KT 9999 SCT030 09/06 Q1010\n", "metar"),
    ],
)  # fmt: skip
def test_kinds_of_files_are_told_apart(workbench, name, data, kind):
    workbench.put(f"{API}/file?name={name}", content=data)
    found = workbench.get(f"{API}/preview?name={name}").json()
    assert found["kind"] == kind
    assert found["report"]


NONSENSE = [
    b"\x00\x01\x02",
    b"hello",
    b"\xff\xfea\x00",
    b"a,b\n",
    b"1,2\n3,4\n",
    b"\n\n \n",
    b",,,\n,,,\n",
    b'"' * 5000,
    b"a,b\n" + b"x," * 8000,
]


@pytest.mark.parametrize("data", NONSENSE)
def test_nonsense_gets_four_fields_or_a_preview(workbench, data):
    workbench.put(f"{API}/file?name=odd.csv", content=data)
    answer = workbench.get(f"{API}/preview?name=odd.csv")
    assert answer.status_code in (200, 422)
    if answer.status_code == 422:
        assert answer.json()["error"]["code"] in ("file-empty", "file-format", "column-missing")


def test_rows_behind_a_moment(workbench, served_case: Path):
    rows = workbench.get(f"{API}/rows?time=-11&half=1.2").json()
    lines = (served_case / "track.csv").read_text().splitlines()
    assert rows
    for row in rows:
        assert row["text"] == lines[row["row"] - 1]
        assert abs(row["time"] + 11) <= 1.2
        assert row["source"] == "track.csv"
    assert workbench.get(f"{API}/rows?time=x").status_code == 400
    assert workbench.get(f"{API}/rows?time=1e9").json() == []


@pytest.mark.parametrize("planted", ["new.csv", ".new.csv.new", ".upload-0"])
def test_an_upload_follows_no_planted_link(workbench, served_case, planted):
    victim = served_case.parent / "victim.txt"
    victim.write_text("whole", "utf-8")
    (served_case / planted).symlink_to(victim)
    answer = workbench.put(f"{API}/file?name=new.csv", content=b"a,b\n1,2\n")
    assert victim.read_text("utf-8") == "whole" and not victim.is_symlink()
    if answer.status_code == 200:
        kept = served_case / answer.json()["file"]
        assert kept.read_bytes() == b"a,b\n1,2\n" and not kept.is_symlink()
    else:
        assert answer.json()["error"]["code"] in ("link-refused", "case-exists", "request-invalid")
