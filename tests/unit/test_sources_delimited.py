"""Delimited tracks: any layout gives the same flight; every fault gives one clear error."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, FOOT, KNOT
from neutralpoint.sources.cells import angle_degrees, decimal_mark, number, plain_numbers
from neutralpoint.sources.clock import ClockSettings
from neutralpoint.sources.column_map import Column, ColumnMap
from neutralpoint.sources.delimited import read_delimited

START = datetime(2031, 4, 14, 23, 59, 0, tzinfo=UTC)
PLAIN = ("time", "lat", "lon", "alt", "gs", "trk", "vr")
ROLES = (
    "time",
    "latitude",
    "longitude",
    "pressure_altitude",
    "ground_speed",
    "track_angle",
    "vertical_rate",
)


def flight(count=150):
    """A climb north at 100 m/s and 5 m/s up, 1 Hz, from 46 N 36 W."""
    t = np.arange(count, dtype=float)
    return {
        "t": t,
        "lat": 46.0 + np.degrees(100.0 * t / 6371000.0),
        "lon": np.full(count, -36.4),
        "alt": 1000.0 + 5.0 * t,
        "gs": np.full(count, 100.0),
        "trk": np.full(count, 0.4),
        "vr": np.full(count, 5.0),
    }


def text(f, *, alt=FOOT, step=25.0, gs=KNOT, vr=FOOT / 60.0, stamp=None, join=",", head=PLAIN):
    stamp = stamp or (lambda s: (START + timedelta(seconds=s)).isoformat())
    lines = [join.join(head)] if head else []
    for k, s in enumerate(f["t"]):
        cells = [
            stamp(s),
            f"{f['lat'][k]:.5f}",
            f"{f['lon'][k]:.5f}",
            f"{round(f['alt'][k] / alt / step) * step:g}",
            f"{f['gs'][k] / gs:.0f}",
            f"{f['trk'][k]:.0f}",
            f"{f['vr'][k] / vr:.2f}",
        ]
        lines.append(join.join(cells))
    return "\n".join(lines) + "\n"


def columns(names=PLAIN, **settings_):
    return ColumnMap({r: Column(n) for r, n in zip(ROLES, names, strict=True)}, **settings_)


def read(source, how=None):
    return read_delimited(source.encode(), how or columns(), "track.csv")


def refusal(source, how=None):
    with pytest.raises(NeutralPointError) as caught:
        read(source, how)
    error = caught.value
    assert error.message and error.where.startswith("track.csv") and error.hint
    return error


def assert_the_flight(track, alt_within=8.0):
    assert track.position.value[0, 0] == pytest.approx(46.0 * DEGREE, abs=1e-6)
    assert (
        np.abs(track.pressure_altitude.value - (1000.0 + 5.0 * np.arange(150))).max() < alt_within
    )
    assert track.ground_speed.value == pytest.approx(100.0, abs=0.6)
    assert track.vertical_rate.value == pytest.approx(5.0, abs=0.2)


@pytest.mark.parametrize(
    ("units", "step"),
    [
        ({"alt": FOOT, "gs": KNOT, "vr": FOOT / 60.0}, 25.0),
        ({"alt": FOOT, "gs": 1 / 3.6, "vr": 1.0}, 25.0),
        ({"alt": 1.0, "gs": 1.0, "vr": 1.0}, 1.0),
        ({"alt": 1.0, "gs": 0.44704, "vr": FOOT / 60.0}, 7.62),
        ({"alt": 100.0 * FOOT, "gs": KNOT, "vr": FOOT / 60.0}, 0.25),
    ],
)
def test_units_are_settled_by_physics_and_said(units, step):
    track, report = read(text(flight(), step=step, **units))
    assert_the_flight(track)
    assert report.warnings == ()
    assert all(any(role in s for s in report.assumed) for role in ROLES[1:])


def test_two_airplanes_in_one_file_are_warned_of():
    one = text(flight(), alt=1.0, gs=1.0, vr=1.0).splitlines()
    far = [line.replace(",46.", ",46.9") for line in one[1:]]
    assert far != one[1:]
    mixed = [one[0], *(line for pair in zip(one[1:], far, strict=True) for line in pair)]
    _, report = read("\n".join(mixed) + "\n")
    assert "track-mixed" in [w.code for w in report.warnings]
    assert "track-mixed" not in [w.code for w in read(text(flight()))[1].warnings]


def test_a_wrong_unit_of_height_is_found_by_the_vertical_rate():
    named = {role: Column(role_name) for role, role_name in zip(ROLES, PLAIN, strict=True)}
    named["pressure_altitude"] = Column(named["pressure_altitude"].name, "ft")
    named["vertical_rate"] = Column(named["vertical_rate"].name, "m/s")
    source = text(flight(), step=1.0, alt=1.0, gs=1.0, vr=1.0)
    _, report = read(source, ColumnMap(named))
    (warning,) = report.warnings
    assert "m for pressure_altitude" in warning.hint


def test_units_in_the_header_are_taken():
    head = ("time", "lat", "lon", "Alt (ft)", "speed_kt", "trk", "rate_fpm")
    track, report = read(text(flight(), head=head), columns(head))
    assert_the_flight(track)
    assert any("from the header" in s for s in report.assumed)


def test_a_named_unit_that_physics_contradicts_is_warned_of():
    how = columns()
    how.columns["ground_speed"] = Column("gs", "mph")
    _, report = read(text(flight()), how)
    assert [w.code for w in report.warnings] == ["column-unit"]
    assert "kt" in report.warnings[0].hint


def test_a_heading_in_place_of_a_track_is_warned_of():
    turned = flight()
    turned["trk"] = turned["trk"] + 12.0
    _, report = read(text(turned))
    assert "differs from the movement" in report.warnings[0].message


@pytest.mark.parametrize("join", [",", ";", "\t", "|"])
def test_every_delimiter_is_found(join):
    assert_the_flight(read(text(flight(), join=join))[0])


def test_decimal_commas_are_read_and_said():
    source = text(flight(), join=";").replace(".", ",").replace("00:00,", "00:00.")
    track, report = read(source)
    assert_the_flight(track)
    assert "Numbers are read with a decimal comma." in report.assumed


@pytest.mark.parametrize(
    ("stamp", "clock"),
    [
        (lambda s: f"{START.timestamp() + s:.1f}", ClockSettings()),
        (lambda s: f"{1000 * (START.timestamp() + s):.0f}", ClockSettings()),
        (lambda s: f"{START + timedelta(seconds=s):%H:%M:%S}", ClockSettings(day=START.date())),
        (
            lambda s: f"{(START + timedelta(seconds=s) - timedelta(hours=5)).isoformat()[:19]}",
            ClockSettings(offset=-5 * 3600.0),
        ),
        (
            lambda s: f"{(86340 + s) % 86400:.1f}",
            ClockSettings(form="seconds of day", day=START.date()),
        ),
        (lambda s: f"{s:.1f}", ClockSettings(form="elapsed s", start=START)),
    ],
)
def test_every_form_of_time_gives_the_same_times(stamp, clock):
    track, _ = read(text(flight(), stamp=stamp), columns(clock=clock))
    first = track.epoch + timedelta(seconds=float(track.position.time[0]))
    assert first == START
    assert np.diff(track.position.time) == pytest.approx(1.0)


def test_position_times_leave_repeats_marked_as_duplicates():
    lines = text(flight()).splitlines()
    rows = [lines[0] + ",seen"]
    for k, line in enumerate(lines[1:]):
        held = lines[1 + k - k % 2].split(",")
        cells = line.split(",")
        rows.append(",".join([cells[0], held[1], held[2], *cells[3:], held[0]]))
    how = ColumnMap({**columns().columns, "position_time": Column("seen")})
    track, report = read("\n".join(rows), how)
    assert len(track.position) == 150
    assert track.position.suspect.sum() == 75
    assert {s.reason for s in report.suspicions} == {"duplicate"}


def test_addresses_are_text_and_choose_the_airplane():
    lines = text(flight()).splitlines()
    rows = [lines[0] + ",id"]
    for k, line in enumerate(lines[1:]):
        rows += [f"{line},00A1"] + ([f"{line},A1"] if k % 3 == 0 else [])
    source = "\n".join(rows)
    how = {**columns().columns, "address": Column("id")}
    assert refusal(source, ColumnMap(how)).code == "case-invalid"
    track, report = read(source, ColumnMap(how, address="00A1"))
    assert len(track.position) == 150
    assert [(r.reason, r.count) for r in report.refused] == [
        ("the row belongs to another airplane", 50)
    ]
    assert refusal(source, ColumnMap(how, address="0A1")).code == "file-empty"


def test_unreadable_cells_are_counted_and_the_row_kept():
    lines = text(flight()).splitlines()
    cells = lines[50].split(",")
    cells[4] = "fast"
    lines[50] = ",".join(cells)
    lines[60] = "yesterday" + lines[60][lines[60].index(",") :]
    lines[70] = ""
    track, report = read("\n".join(lines))
    assert {(r.reason, r.rows) for r in report.refused} == {
        ("ground_speed is not a number", (51,)),
        ("the time cannot be read", (61,)),
    }
    assert (len(track.position), len(track.ground_speed)) == (148, 147)


def with_remarks(*remarks):
    """The flight with a last column of remarks, the first rows as given."""
    lines = text(flight()).splitlines()
    cells = [*remarks, *([""] * (len(lines) - 1 - len(remarks)))]
    return "\n".join(
        [lines[0] + ",remark", *(f"{a},{b}" for a, b in zip(lines[1:], cells, strict=True))]
    )


def test_a_reading_that_none_can_be_is_refused_and_counted():
    """40 km and 1,500 m/s: beyond any airplane, and beyond what a transponder can say."""
    made = flight()
    made["alt"][40:43], made["gs"][70] = 41e3, 1600.0
    units = ("deg", "deg", "ft", "kt", "deg", "ft/min")
    named = {r: Column(n, u) for r, n, u in zip(ROLES[1:], PLAIN[1:], units, strict=True)}
    track, report = read(text(made), ColumnMap({"time": Column("time")} | named))
    assert track.pressure_altitude.time.size == 147 and track.ground_speed.time.size == 149
    refused = {one.reason: one.count for one in report.refused}
    assert refused == {"pressure_altitude is out of range": 3, "ground_speed is out of range": 1}


def test_a_row_of_more_cells_than_the_header_shifts_nothing():
    """A number with a decimal comma among commas: the row is left out and counted, not read."""
    lines = text(flight()).splitlines()
    lines[50] = lines[50].replace(".", ",", 1)
    lines[60] += ",,"  # blank ones say nothing
    track, report = read("\n".join(lines))
    assert track.position.time.size == 149
    (refused,) = report.refused
    assert refused.count == 1 and refused.rows == (51,) and "header" in refused.reason
    with pytest.raises(NeutralPointError, match="more cells than the header: 8 under 7") as every:
        read("\n".join([lines[0], *(f"{k},{line}" for k, line in enumerate(lines[1:]))]))
    assert every.value.code == "file-format"
    # Text with commas of its own, in a last column that nobody asks for, is no shift.
    lines = text(flight()).splitlines()
    noted = [f"{line},{'note' if k == 0 else 'seen, then lost'}" for k, line in enumerate(lines)]
    track, report = read("\n".join(noted))
    assert track.position.time.size == 150 and not report.refused


def test_a_name_twice_is_refused_where_its_columns_differ():
    lines = text(flight()).splitlines()
    same = [f"{line},{line.split(',')[2]}" for line in lines]
    assert read("\n".join(same))[0].position.time.size == 150
    other = [same[0], *(f"{line},10.0" for line in lines[1:])]
    with pytest.raises(NeutralPointError, match=r"'lon' 2 times.*: 3, 8") as refused:
        read("\n".join(other))
    assert refused.value.code == "file-format" and refused.value.where.endswith(":1")


def test_a_header_of_a_hundred_thousand_columns_says_its_length():
    lines = text(flight()).splitlines()
    with pytest.raises(NeutralPointError, match=r"A line of 100,0.. characters") as refused:
        read("\n".join(line + "," * 100_000 for line in lines[:30]))
    assert refused.value.code == "file-format"


def test_a_quoted_cell_goes_on_over_lines():
    track, report = read_delimited(
        with_remarks('"first call\n#2, repeated"', '"one, ""two"""').encode(), columns(), "t.csv"
    )
    assert report.rows_read == 150
    assert report.refused == ()
    assert track.position.row[:3].tolist() == [2, 4, 5]  # the line that each row begins on


def test_a_header_may_hold_a_line_break():
    broken = text(flight()).replace("alt,", '"alt\n(ft)",', 1)
    names = ["alt (ft)" if name == "alt" else name for name in PLAIN]
    track, report = read_delimited(broken.encode(), columns(names), "t.csv")
    assert len(track.pressure_altitude) == report.rows_read == 150


def test_a_quote_that_is_never_closed_costs_its_own_line_only():
    track, report = read_delimited(with_remarks("", '"never closed').encode(), columns(), "t.csv")
    assert [(r.count, r.rows) for r in report.refused] == [(1, (3,))]
    assert len(track.position) == 149


def test_an_empty_column_is_said_and_left_out():
    rows = [line.split(",") for line in text(flight()).splitlines()]
    source = "\n".join(
        ",".join([*row[:4], "" if k else "gs", *row[5:]]) for k, row in enumerate(rows)
    )
    track, report = read(source)
    assert track.ground_speed is None
    assert "ground_speed: the column holds no value." in report.assumed


def test_files_without_a_header_use_numbers():
    how = ColumnMap({r: Column(k) for k, r in enumerate(ROLES, start=1)})
    assert_the_flight(read(text(flight(), head=()), how)[0])
    how.columns["vertical_rate"] = Column(9)
    assert refusal(text(flight(), head=()), how).code == "column-missing"


def test_a_time_that_runs_back_is_refused_or_sorted():
    lines = text(flight()).splitlines()
    lines[40], lines[41] = lines[41], lines[40]
    error = refusal("\n".join(lines))
    assert (error.code, error.where) == ("time-order", "track.csv:42")
    track, _ = read("\n".join(lines), columns(out_of_order="sort"))
    assert (np.diff(track.position.time) > 0).all()


def test_a_missing_column_is_named_with_the_nearest():
    error = refusal(text(flight()), columns((*PLAIN[:4], "gss", *PLAIN[5:])))
    assert error.code == "column-missing"
    assert "'gss'" in error.message and "'gs'" in error.hint


@pytest.mark.parametrize(
    ("source", "code"),
    [
        ("", "file-empty"),
        ("\n \n", "file-empty"),
        (",".join(PLAIN) + "\n", "file-empty"),
        (text(flight(3)), "column-unit"),
        (text(flight(), stamp=lambda s: f"{s:.1f}"), "time-unclear"),
        (text(flight(), stamp=lambda s: f"12:00:{s % 60:02.0f}"), "time-unclear"),
        (text(flight(), stamp=lambda s: "noon"), "time-unclear"),
    ],
)
def test_each_fault_gives_one_clear_error(source, code):
    assert refusal(source).code == code


def test_a_unit_of_the_wrong_dimension_is_refused():
    how = columns()
    how.columns["ground_speed"] = Column("gs", "kg")
    error = refusal(text(flight()), how)
    assert error.code == "quantity-unit"
    assert "kt" in error.hint


@pytest.mark.parametrize(
    ("cell", "degrees"),
    [
        ("46.1999", 46.1999),
        ("-36.40", -36.40),
        ("46 11 59.64 N", 46.1999),
        ("46°11'59.64\"S", -46.1999),
        ("W036 24.0", -36.4),
        ("461159.64N", 46.1999),
        ("0362400W", -36.4),
        ("-36 24 0", -36.4),
    ],
)
def test_angles_in_degrees_and_minutes(cell, degrees):
    assert angle_degrees(cell) == pytest.approx(degrees, abs=1e-9)


@pytest.mark.parametrize("cell", ["46 61 00 N", "N46S", "north", "4-6", "1 2 3 4", "nan"])
def test_what_is_no_angle_is_refused(cell):
    with pytest.raises(ValueError):
        angle_degrees(cell)


@given(st.floats(-1e6, 1e6).map(lambda x: round(x, 3)), st.sampled_from([".", ","]))
def test_numbers_survive_either_decimal_mark(value, mark):
    plain = f"{value:.3f}"
    assert number(plain.replace(".", mark), mark) == pytest.approx(value)


def test_digit_groups_are_read():
    for cell in ("10,900", "10 900", "10\u2009900", "10\u202f900", "10'900"):
        assert number(cell) == 10900.0
    assert decimal_mark(["10,900", "1,350"]) == "."
    assert decimal_mark(["46,19", "7"]) == ","


@given(st.binary(max_size=400))
@settings(max_examples=150, deadline=None)
def test_no_bytes_raise_anything_but_a_clear_error(data):
    for prefix in (b"", (",".join(PLAIN) + "\n").encode()):
        try:
            read_delimited(
                prefix + data, columns(clock=ClockSettings(day=date(2031, 4, 14))), "track.csv"
            )
        except NeutralPointError as error:
            assert error.where


@given(st.lists(st.text("0123456789.+-e, \u2212_N'", max_size=8), max_size=6))
def test_a_whole_column_is_read_as_cell_by_cell(cells):
    cells = [cell.strip() for cell in cells]
    found = plain_numbers(cells)
    if found is None:
        return
    for read in (number, angle_degrees):
        expected = [read(cell) if cell else np.nan for cell in cells]
        np.testing.assert_array_equal(found, expected)


def test_only_plain_columns_are_read_whole():
    assert plain_numbers(["1.5", "", "-2", "+3."]) is not None
    for odd in ("1e3", "1,000", "46 11 N", "-", "1" * 65, "nan"):
        assert plain_numbers(["1.5", odd]) is None
