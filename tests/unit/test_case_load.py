"""Case folders: a good one becomes SI values; each fault gives exactly one clear error."""

from __future__ import annotations

import hashlib
import re
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neutralpoint.airplane_file.catalogue import catalogue_names
from neutralpoint.case import load_case, parse_case, parse_draft
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, KNOT, POUND

EXAMPLE = Path(__file__).parents[2] / "examples" / "quorleigh"
TEXT = """\
# An invented case: the airplane, the place, the weather and the words are made up. The source
# files beside this one are made by examples/make_quorleigh.py.
schema = 1
title = "Quorleigh, 14 April 2031"
question = "What did the airplane do between the level-off and the last return?"
place = "An invented island at 46 N 36 W"
invented = true
cut_off = 2031-05-02
seed = 20310414

# Text after +- is the half-width of a 95 % interval.
[airplane]
name = "Alder 9, an invented twin turboprop"
registration = "QQ-CHW"
mass = "10 900 lb +- 300 lb"
wing_area = "28.0 m2 +- 0.1 m2"
lift_slope = "5.4 1/rad +- 0.4 1/rad"
zero_lift_angle = "-2.5 deg +- 0.6 deg"
maximum_lift = "1.55 +- 0.10"
aspect_ratio = "9.8"
fuel_flow = "620 lb/h +- 60 lb/h"

[[tracks]]
file = "track.csv"
vertical_rate_source = "baro"

[tracks.columns]
time = "time_utc"
latitude = "latitude"
longitude = "longitude"
pressure_altitude = { column = "altitude_ft", unit = "ft" }
ground_speed = { column = "ground_speed_kt", unit = "kt" }
track_angle = { column = "track_deg", unit = "deg" }
vertical_rate = { column = "vertical_rate_ftmin", unit = "ft/min" }

[[weather]]
kind = "sounding"
file = "sounding.txt"
wind_error = "8 kt"
temperature_error = "2 K"

[[weather]]
kind = "metar"
file = "metar.txt"
elevation = "360 m"

[[events]]
time = 18:57:27
error = "2 s"
kind = "voice"
text = "The crew reports a pitch trim problem (invented words)."
source = "invented radio recording"

[[events]]
time = 18:57:41
error = "3 s"
kind = "witness"
text = "A witness on the shore sees the airplane descend steeply (invented)."
source = "invented statement"
"""


@pytest.fixture
def folder(tmp_path):
    copy = tmp_path / "case"
    shutil.copytree(EXAMPLE, copy, ignore=shutil.ignore_patterns("results", "*.toml"))
    (copy / "case.toml").write_text(TEXT, encoding="utf-8")
    return copy


def changed(folder: Path, old: str, new: str) -> Path:
    text = (folder / "case.toml").read_text(encoding="utf-8")
    assert old in text
    (folder / "case.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


def refused(folder: Path) -> NeutralPointError:
    with pytest.raises(NeutralPointError) as caught:
        load_case(folder)
    error = caught.value
    assert error.message and error.where and error.hint
    return error


def rows_of(folder: Path) -> int:
    """Rows of the example's track below its header."""
    return len((folder / "track.csv").read_text(encoding="utf-8").splitlines()) - 1


def test_the_example_becomes_si_values(folder):
    case = load_case(folder)
    assert case.lift.mass == pytest.approx(10900 * POUND)
    assert case.lift.mass_sigma == pytest.approx(150 * POUND)
    assert case.altimeter_setting.value == 100900.0
    assert len(case.track.position) == rows_of(folder)
    assert case.track.vertical_rate_source == "baro"
    assert case.weather.sigma_wind[-1] == pytest.approx(4 * KNOT)
    moments = [case.track.epoch.timestamp() + event.time for event in case.events]
    assert moments[0] == datetime(2031, 4, 14, 18, 57, 27, tzinfo=UTC).timestamp()


def test_every_file_is_hashed_and_none_is_changed(folder):
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    case = load_case(folder)
    assert {s.path: s.sha256 for s in case.sources} == {
        name: hashlib.sha256(data).hexdigest() for name, data in before.items()
    }
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


@pytest.mark.parametrize(
    ("old", "new", "code", "where", "hint"),
    [
        ('title = "Q', 'titel = "Q', "case-invalid", "case.toml:4: titel", "`title`"),
        ("mass =", "mas =", "case-invalid", "airplane.mas", "`mass`"),
        ('mass = "10 900 lb', 'mass = "10 900 kt', "quantity-unit", "airplane.mass", "kg"),
        ('mass = "10 900 lb +- 300 lb"', "mass = 10900", "quantity-invalid", "mass", "+-"),
        (
            '"28.0 m2 +- 0.1 m2"',
            '"-28 m2"',
            "quantity-range",
            "airplane.wing_area",
            "0 m2 to 2000 m2",
        ),
        ('column = "altitude_ft"', 'colum = "altitude_ft"', "case-invalid", "colum", "`column`"),
        ('"ground_speed_kt"', '"ground_speed"', "column-missing", "track.csv:1", "_kt"),
        ('unit = "kt"', 'unit = "kg"', "quantity-unit", "ground_speed", "kt"),
        ('time = "time_utc"\n', "", "case-incomplete", "tracks[1].columns.time", "default"),
        ('latitude = "latitude"', 'latitde = "latitude"', "case-invalid", "latitde", "`latitude`"),
        ('file = "track.csv"', 'file = "../track.csv"', "case-invalid", "tracks[1].file", "into"),
        ('file = "track.csv"', 'file = "/etc/passwd"', "case-invalid", "tracks[1].file", "into"),
        ('file = "track.csv"', 'file = "trak.csv"', "file-missing", "tracks[1]", "track.csv"),
        ('kind = "metar"', 'kind = "taf"', "case-invalid", "weather[2]", "sounding"),
        ('wind_error = "8 kt"', 'wind_eror = "8 kt"', "case-invalid", "wind_eror", "wind_error"),
        ('elevation = "360 m"', "", "case-incomplete", "weather[2].elevation", "default"),
        ("time = 18:57:27", 'time = "soon"', "case-invalid", "events[1].time", "case-file"),
        ('kind = "voice"', 'kind = "gossip"', "case-invalid", "events[1].kind", "case-file"),
        ("schema = 1", "schema = 7", "case-invalid", "schema", "case-file"),
        ("schema = 1", "schema = ", "case-syntax", "case.toml", "quotes"),
        ("schema = 1", "schema = 1\nx = " + "[" * 5000, "case-syntax", "case.toml", ""),
        ("seed = 20310414", "seed = -1", "case-invalid", "seed", "case-file"),
    ],
)
def test_each_fault_gives_one_clear_error(folder, old, new, code, where, hint):
    error = refused(changed(folder, old, new))
    assert error.code == code
    assert where in error.where
    assert hint in error.hint


def test_an_airplane_of_the_catalogue_is_hashed_too(folder):
    name = catalogue_names()[0]
    changed(folder, 'registration = "QQ-CHW"', f'file = "{name}"')
    source = load_case(folder).sources[-1]
    assert (source.role, source.path) == ("airplane", f"catalogue: {name}")
    changed(folder, f'file = "{name}"', 'file = "no-such"')
    assert refused(folder).code == "file-missing"


def test_the_line_of_the_fault_is_named(folder):
    error = refused(changed(folder, 'kind = "witness"', 'kind = "rumour"'))
    line = int(re.match(r"case\.toml:(\d+)", error.where)[1])
    text = (folder / "case.toml").read_text(encoding="utf-8")
    assert text.splitlines()[line - 1] == 'kind = "rumour"'


def test_other_faults_are_counted(folder):
    changed(folder, "mass =", "mas =")
    error = refused(changed(folder, "wing_area =", "wing_are ="))
    assert "more key(s)" in error.hint


def test_a_folder_without_a_case_is_said(tmp_path):
    assert refused(tmp_path).code == "case-missing"


def test_a_link_out_of_the_folder_is_refused(folder, tmp_path):
    secret = tmp_path / "secret.csv"
    secret.write_text("x", encoding="utf-8")
    (folder / "track.csv").unlink()
    (folder / "track.csv").symlink_to(secret)
    assert refused(folder).code == "case-invalid"


def test_empty_and_disordered_files_are_said(folder):
    rows = (folder / "track.csv").read_text(encoding="utf-8").splitlines()
    (folder / "track.csv").write_text("\n".join([rows[0], *rows[:0:-1]]), encoding="utf-8")
    assert refused(folder).code == "time-order"
    (folder / "track.csv").write_text("", encoding="utf-8")
    assert refused(folder).code == "file-empty"
    (folder / "case.toml").write_bytes(b"\xff\xfe\x00")
    assert refused(folder).code == "case-syntax"


WEATHER = TEXT[: TEXT.index("[[weather]]")]


@pytest.mark.parametrize(
    ("entry", "wind"),
    [
        ('kind = "constant"\nwind_from = "270 deg"\nwind_speed = "20 kt"', 20 * KNOT),
        (
            'kind = "profile"\nlevels = [{ altitude = "FL050", wind_from = "270 deg", '
            'wind_speed = "20 kt", temperature = "5 degC" }, { altitude = "0 m" }]',
            20 * KNOT,
        ),
        ('kind = "metar"\ntext = "QQCH 141844Z 27020KT 14/06 Q1009"\nelevation = "0 m"', 20 * KNOT),
        (
            'kind = "table"\nfile = "wind.csv"\n[weather.columns]\naltitude = "h_ft"\n'
            'wind_from = "from"\nwind_speed = { column = "ff", unit = "kt" }',
            20 * KNOT,
        ),
    ],
)
def test_every_kind_of_weather_gives_a_profile(folder, entry, wind):
    (folder / "wind.csv").write_text("h_ft,from,ff\n5000,270,20\n", encoding="utf-8")
    (folder / "case.toml").write_text(f"{WEATHER}[[weather]]\n{entry}\n", encoding="utf-8")
    case = load_case(folder)
    north, east, _ = case.weather.at(1500.0)
    assert (float(north), float(east)) == pytest.approx((0.0, wind), abs=1e-6)


def test_without_an_altimeter_setting_a_warning_is_given(folder):
    entry = 'kind = "constant"\nwind_from = "270 deg"\nwind_speed = "20 kt"'
    (folder / "case.toml").write_text(f"{WEATHER}[[weather]]\n{entry}\n", encoding="utf-8")
    assert any("altimeter setting" in w.message for w in load_case(folder).warnings)
    both = f"{WEATHER}[[weather]]\n{entry}\n" + TEXT[TEXT.index("[[weather]]") :]
    (folder / "case.toml").write_text(both, encoding="utf-8")
    assert refused(folder).code == "case-invalid"


def test_two_receivers_keep_their_rows(folder):
    shutil.copy(folder / "track.csv", folder / "second.csv")
    block = TEXT[TEXT.index("[[tracks]]") : TEXT.index("[[weather]]")]
    changed(folder, "[[weather]]", block.replace("track.csv", "second.csv") + "[[weather]]")
    track = load_case(folder).track
    assert len(track.position) == 2 * rows_of(folder)
    assert set(track.position.source.tolist()) == {0, 1}
    assert track.position.time[0] / DEGREE > 0


LINES = TEXT.splitlines()


@given(
    st.lists(st.tuples(st.integers(0, len(LINES) - 1), st.text(max_size=30)), max_size=3),
    st.integers(0, len(TEXT)),
)
@settings(max_examples=150, deadline=None)
def test_no_case_text_raises_anything_but_a_clear_error(edits, end):
    lines = list(LINES)
    for line, text in edits:
        lines[line] = text
    try:
        parse_case("\n".join(lines)[: end + 1])
    except NeutralPointError as error:
        assert error.where.startswith("case.toml")


def test_lift_line_comes_from_the_airplane_file(folder):
    text = (folder / "case.toml").read_text(encoding="utf-8")
    start, end = text.index("[airplane]"), text.index("[[tracks]]")
    entry = '[airplane]\nname = "Velmar"\nfile = "velmar-c7"\nmass = "6000 kg +- 100 kg"\n\n'
    entry += "[analysis]\nflap = 0.5\n\n"
    (folder / "case.toml").write_text(text[:start] + entry + text[end:], encoding="utf-8")
    case = load_case(folder)
    assert case.lift.mass == 6000.0 and case.lift.mass_sigma == 50.0
    assert case.airplane.airplane.mass.mass == pytest.approx(6000.0)
    assert case.lift.wing_area == 32.0
    assert 1.3 < case.lift.maximum_lift < 1.7 and -0.12 < case.lift.zero_lift_angle < 0.0
    # The line that pitch is read from is not stated: wider than the lift line alone.
    assert 1.2 * DEGREE < case.lift.zero_lift_angle_sigma < 2.0 * DEGREE
    assert case.analysis.flap == 0.5 and case.analysis.onset is None
    assert "airplane" in {s.role for s in case.sources}


def test_without_an_airplane_file_the_lift_line_is_needed(folder):
    error = refused(changed(folder, 'mass = "10 900 lb +- 300 lb"\n', ""))
    assert error.code == "case-incomplete" and "mass" in error.message and "file" in error.hint


def test_an_onset_outside_the_track_is_refused(folder):
    error = refused(changed(folder, "[[tracks]]", "[analysis]\nonset = 03:00:00\n\n[[tracks]]"))
    assert error.code == "case-invalid" and "analysis.onset" in error.where


def test_only_the_stretch_named_is_studied(folder):
    whole = load_case(folder)
    middle = whole.track.epoch + timedelta(seconds=0.5 * sum(whole.track.span()))
    entry = f"[analysis]\nstart = {middle:%H:%M:%S}\n\n[[tracks]]"
    case = load_case(changed(folder, "[[tracks]]", entry))
    assert case.track.span()[1] == whole.track.span()[1]
    assert 0 < len(case.track.position) < len(whole.track.position)
    assert case.track.pressure_altitude.step == whole.track.pressure_altitude.step
    assert case.taken[0].name == "stretch studied"


def test_an_empty_stretch_is_refused(folder):
    error = refused(changed(folder, "[[tracks]]", "[analysis]\nstart = 03:00:00\n\n[[tracks]]"))
    assert error.code == "case-invalid" and "analysis.start" in error.where


def test_what_is_missing_is_told_from_what_is_wrong():
    draft = parse_draft('schema = 1\n[[weather]]\nkind = "metar"\n[analysis]\nonset = "soon"\n')
    assert draft.document is None
    missing = {path for path, _ in draft.missing}
    assert {"title", "cut_off", "tracks", "weather[1].elevation", "airplane.mass"} <= missing
    assert "weather" not in missing and "airplane" not in missing
    assert [path for path, _ in draft.faults] == ["analysis.onset"]
    assert not parse_draft('schema = 1\n[airplane]\nname = "x"\nfile = "x.toml"\n').faults
    assert [path for path, _ in parse_draft("").faults] == ["schema"]
