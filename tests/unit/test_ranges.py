"""Every quantity of a case has a range, and what motion cannot bear is refused before it starts."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from neutralpoint.airplane_file.document import AirplaneDocument, parse_airplane
from neutralpoint.case import parse_case
from neutralpoint.case.document import CaseDocument
from neutralpoint.documents.ranges import RANGES
from neutralpoint.documents.toml import DEEPEST, MOST_PARTS, TomlRefused, read_toml
from neutralpoint.errors import NeutralPointError
from neutralpoint.motion.bounds import LONGEST, MOST_FIXES, check_bounds
from neutralpoint.track import Track
from neutralpoint.track.record import Observations

ROOT = Path(__file__).resolve().parents[2]
CASE = (ROOT / "examples" / "quorleigh" / "case.toml").read_text("utf-8")
WIND = '\n[[weather]]\nkind = "constant"\nwind_from = "200 deg"\n'
EVENT = '\n[[events]]\nkind = "voice"\ntext = "x"\n'
CLOCK = '\n[[clocks]]\nname = "a"\nbasis = "x"\n'
IMPACT = '\n[[evidence]]\nkind = "impact"\npitch = "3 deg +- 1 deg"\nsource = "x"\n'


def refusal(read, *arguments) -> NeutralPointError:
    """The error that a call ends with."""
    with pytest.raises(NeutralPointError) as caught:
        read(*arguments)
    assert caught.value.where and caught.value.hint
    return caught.value


@pytest.mark.parametrize(
    ("key", "more"),
    [
        ("position_age", 'position_age = "1e6 s"\n' + CASE),
        ("position_age", 'position_age = "1 s +- 1e6 s"\n' + CASE),
        ("airplane.mass", CASE.replace("[airplane]", '[airplane]\nmass = "1e9 lb"')),
        ("weather[3].wind_speed", f'{CASE}{WIND}wind_speed = "5000 kt"'),
        ("weather[3].wind_error", f'{CASE}{WIND}wind_speed = "9 kt"\nwind_error = "1e300 kt"'),
        ("clocks[1].offset", f'{CASE}{CLOCK}offset = "1e300 s"'),
        *(
            (key, text.replace("TIME", time if key != "cut_off" else time[:10]))
            for time in ("0001-01-01T00:00:00+12:00", "9999-12-31T23:59:59-12:00")
            for key, text in (
                ("analysis.onset", CASE.replace("onset = 18:54:30", "onset = TIME")),
                ("analysis.start", CASE.replace("[analysis]", "[analysis]\nstart = TIME")),
                ("cut_off", CASE.replace("2031-05-01", "TIME")),
                ("facts.takeoff", f"{CASE}\n[facts]\ntakeoff = TIME"),
                ("time", f"{CASE}{EVENT}time = TIME"),
                ("time", f"{CASE}{IMPACT}time = TIME"),
            )
        ),
    ],
)
def test_what_lies_outside_is_refused_with_the_range(key, more):
    error = refusal(parse_case, more)
    assert error.code == "quantity-range" and key in error.where, error
    assert "Allowed: " in error.hint and " to " in error.hint


@pytest.mark.parametrize("text", ["2 degC", "2 K", "3.6 degF"])
def test_an_error_of_temperature_is_a_difference(text):
    document = parse_case(f'{CASE}{WIND}wind_speed = "9 kt"\ntemperature_error = "{text}"')
    assert document.weather[-1].temperature_error.value == pytest.approx(2.0)


def _quantities(schema: dict, model: str):
    """Every quantity of a schema: where it stands, and its entry."""
    stack = [(model, schema)]
    while stack:
        place, part = stack.pop()
        if isinstance(part, dict):
            if "unit" in part and part.get("type") == "string":
                yield place, part
            stack += [(f"{place}.{key}", value) for key, value in part.items()]
        elif isinstance(part, list):
            stack += [(place, value) for value in part]


@pytest.mark.parametrize("model", [CaseDocument, AirplaneDocument])
def test_every_quantity_has_a_range_in_the_schema(model):
    found = list(_quantities(model.model_json_schema(by_alias=True), model.__name__))
    assert len(found) > 20
    words = {bounds.words() for bounds in RANGES.values()}
    assert not [place for place, part in found if part.get("range") not in words]


def test_every_range_is_one():
    for name, bounds in RANGES.items():
        assert bounds.low < bounds.high and bounds.source, name
        middle = 0.5 * (bounds.low + bounds.high) * bounds.factor
        assert bounds.holds(middle, 0.0) and bounds.holds(bounds.high * bounds.factor, 0.0)
        assert not bounds.holds(bounds.high * bounds.factor * 1.01 + 1.0, 0.0), name
        assert not bounds.holds(middle, float("inf")), name


@pytest.mark.parametrize(
    ("text", "figure"),
    [
        ("a" + ".a" * 40_000 + " = 1", str(MOST_PARTS)),
        ("x = {a" + ".a" * 40_000 + " = 1}", str(MOST_PARTS)),
        ("[a" + ".a" * 40_000 + "]", str(MOST_PARTS)),
        ("a" + ".a" * 200_000 + " = 1", "100000"),
        ("a = " + "[" * 20 + "]" * 20, ""),
        ("a = " + "[" * 60 + "]" * 60, str(DEEPEST)),
        ("a = " + "[" * 9000 + "]" * 9000, "nested"),
        ("a = " + "9" * 5000, "number"),
    ],
)
def test_toml_is_read_within_bounds(text, figure):
    if not figure:
        assert read_toml(text)
        return
    with pytest.raises(TomlRefused, match=figure):
        read_toml(text)


@pytest.mark.parametrize(
    "letter", ["\\u0000", "\\u001b", "\\u009b", "\\u202e", "\\u2066", "\\u007f"]
)
@pytest.mark.parametrize("text", ['a = "x{}y"', '"k{}y" = 1', 'a = [{{ b = ["", "{}"] }}]'])
def test_a_text_that_commands_a_terminal_is_refused(text, letter):
    """Codes of ISO 6429 and marks of direction of UAX 9: a stranger's title cleared the screen."""
    with pytest.raises(TomlRefused, match="control character U[+]" + letter[2:].upper()):
        read_toml(text.format(letter))


def test_lines_tabs_and_all_letters_are_text():
    told = "Quorleigh\tßøñ 中文 שלום\r\n\u200f- 5°"
    assert read_toml(f'a = """{told}"""')["a"] == told.replace("\r", "")


CHANGED = {
    "there is no column 0": ('column = "latitude"', "column = 0"),
    "there is no column -1": ('time = "time_utc"', "time = -1"),
    "both read from the column 'latitude'": ('column = "longitude"', 'column = "latitude"'),
    "68070 is a number, no time": ("onset = 18:54:30", "onset = 68070"),
    "20310501 is a number, no time": ("cut_off = 2031-05-01", "cut_off = 20310501"),
}


@pytest.mark.parametrize("said", CHANGED)
def test_what_python_would_take_for_another_thing_is_refused(said):
    """Column 0 was the last one, one column two quantities, a number seconds since midnight."""
    old, new = CHANGED[said]
    found = refusal(parse_case, CASE.replace(old, new, 1))
    assert said in found.message and found.code == "case-invalid"


def test_prose_with_many_dots_is_text():
    assert read_toml('a = "' + "so. " * 2000 + '"')["a"].count(".") == 2000


@pytest.mark.parametrize("digits", ["9" * 4000, "0x" + "f" * 5000])
def test_a_number_of_thousands_of_digits_is_refused(digits):
    text = CASE.replace("something_failed = 0.95", f"something_failed = {digits}")
    assert text != CASE
    assert refusal(parse_case, text).code == "case-invalid"
    airplane = tomllib.loads("a = 1") and f"schema = {digits}"
    assert refusal(parse_airplane, airplane, "x").code == "airplane-invalid"


def track(time: np.ndarray, place: np.ndarray | None = None) -> Track:
    """A track of positions alone, along a meridian."""
    count = time.size
    if place is None:
        place = np.stack([0.8 + 1e-5 * np.arange(count), np.full(count, -0.6)], axis=-1)
    row = np.arange(count)
    seen = Observations(time, place, 0.0, row, row * 0, row < 0)
    return Track(datetime(2031, 4, 14, tzinfo=UTC), position=seen)


def test_motion_refuses_what_it_cannot_bear():
    usual = np.arange(100.0)
    check_bounds(track(usual))
    far = np.array([9e9])
    rng = np.random.default_rng(1)
    noise = rng.uniform(-1.5, 1.5, (100, 2))
    for code, given in (
        ("track-too-short", track(np.full(100, 5.0))),
        ("track-too-long", track(np.r_[usual, far])),
        ("track-too-long", track(np.r_[-far, usual])),
        ("track-too-long", track(np.r_[usual, usual + 7.0 * LONGEST])),
        ("track-too-long", track(np.linspace(0.0, 3600.0, MOST_FIXES + 1))),
        ("track-mixed", track(usual, noise)),
    ):
        assert refusal(check_bounds, given).code == code


@pytest.mark.parametrize(("kilometers", "refused"), [(0.0, True), (9.9, True), (10.1, False)])
@pytest.mark.parametrize("pole", [90.0, -90.0])
def test_a_track_past_a_pole_is_refused(pole, kilometers, refused):
    """A line of 111.2 km is a degree; the longitude runs round as it passes."""
    time = np.arange(20.0)
    latitude = np.full(20, pole - np.sign(pole) * kilometers / 111.195)
    place = np.radians(np.stack([latitude, 0.05 * time], axis=1))
    if not refused:
        check_bounds(track(time, place))
        return
    found = refusal(check_bounds, track(time, place))
    assert found.code == "track-pole" and f"{kilometers:.1f} km" in found.message


def test_the_line_of_dates_is_no_jump():
    usual = np.arange(100.0)
    along = np.mod(np.pi - 1e-4 + 1e-5 * usual + np.pi, 2.0 * np.pi) - np.pi
    check_bounds(track(usual, np.stack([np.full(100, 0.1), along], axis=-1)))
