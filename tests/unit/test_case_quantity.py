"""Quantities: what an analyst writes is what is meant, and what is wrong is said."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from neutralpoint.documents.quantity import parse_quantity
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import FOOT, KNOT, POUND


@pytest.mark.parametrize(
    ("text", "unit", "value", "sigma"),
    [
        ("10 900 lb +- 150 lb", "kg", 10900 * POUND, 75 * POUND),
        ("10,900 lb ± 150", "kg", 10900 * POUND, 75 * POUND),
        ("10\u2009900\u202flb +/- 150 lb", "kg", 10900 * POUND, 75 * POUND),
        ("4 944 kg", "kg", 4944.0, 0.0),
        ("4944 kg +- 68.04 kg", "kg", 4944.0, 34.02),
        ("1000 lb +- 5 %", "kg", 1000 * POUND, 25 * POUND),
        ("1000 lb +- 10 kg", "kg", 1000 * POUND, 5.0),
        ("235 kt", "m/s", 235 * KNOT, 0.0),
        ("1 200 ft/min", "m/s", 1200 * FOOT / 60, 0.0),
        ("1200 fpm", "m/s", 1200 * FOOT / 60, 0.0),
        ("29.92 inHg", "Pa", 101320.75, 0.0),
        ("1009.5 hPa +- 0.5 hPa", "Pa", 100950.0, 25.0),
        ("1009 mb", "Pa", 100900.0, 0.0),
        ("5 degC +- 1 degC", "K", 278.15, 0.5),
        ("-5 °C", "K", 268.15, 0.0),
        ("41 degF +- 1.8", "K", 278.15, 0.5),
        ("-2.5 deg +- 0.5 deg", "rad", math.radians(-2.5), math.radians(0.25)),
        ("28.0 m2 +- 0.1 m2", "m2", 28.0, 0.05),
        ("303 ft²", "m2", 303 * FOOT**2, 0.0),
        ("1 500 slug ft2", "kg m2", 1500 * 1.3558179483314, 0.0),
        ("5.5 1/rad", "", 5.5, 0.0),
        ("0.1 /deg", "", 0.1 * 180 / math.pi, 0.0),
        ("95 %", "", 0.95, 0.0),
        ("1.45 +- 0.10", "", 1.45, 0.05),
        ("FL085", "m", 8500 * FOOT, 0.0),
        ("FL085 +- 100 ft", "m", 8500 * FOOT, 50 * FOOT),
        ("3 NM", "m", 5556.0, 0.0),
        ("2 deg/s", "rad/s", math.radians(2.0), 0.0),
        ("1e3 kg", "kg", 1000.0, 0.0),
        (".5 s", "s", 0.5, 0.0),
        ("30 lbf", "N", 133.4466, 0.0),
        ("-1e-3 m", "m", -0.001, 0.0),
    ],
)
def test_quantities(text, unit, value, sigma):
    found = parse_quantity(text, unit)
    assert found.value == pytest.approx(value, rel=1e-5)
    assert found.sigma == pytest.approx(sigma, rel=1e-5, abs=1e-12)
    assert found.text == text


def test_a_pure_number_may_be_bare():
    assert parse_quantity(0.95, "").value == 0.95
    assert parse_quantity(2, "").value == 2.0


@pytest.mark.parametrize(
    ("text", "unit", "code"),
    [
        ("10 900 kt", "kg", "quantity-unit"),
        ("10 900", "kg", "quantity-unit"),
        ("0.3", "rad", "quantity-unit"),
        ("5 deg", "", "quantity-unit"),
        ("2 1/s", "rad/s", "quantity-unit"),
        ("5 lb +- 2 kt", "kg", "quantity-unit"),
        ("5 lbz", "kg", "quantity-invalid"),
        ("5 9**9**9", "", "quantity-invalid"),
        ("5 m**99999999", "m", "quantity-invalid"),
        ("5 (m)", "m", "quantity-invalid"),
        ("heavy", "kg", "quantity-invalid"),
        ("", "kg", "quantity-invalid"),
        ("5,5 kg", "kg", "quantity-invalid"),
        ("1e999 kg", "kg", "quantity-invalid"),
        ("nan kg", "kg", "quantity-invalid"),
        ("5 kg +-", "kg", "quantity-invalid"),
        ("5 kg + 2 kg", "kg", "quantity-invalid"),
        (5.0, "kg", "quantity-invalid"),
        (True, "", "quantity-invalid"),
        (None, "kg", "quantity-invalid"),
        (float("nan"), "", "quantity-invalid"),
        ("5 " + "m" * 200, "m", "quantity-invalid"),
    ],
)
def test_what_is_no_quantity_is_said(text, unit, code):
    with pytest.raises(NeutralPointError) as caught:
        parse_quantity(text, unit, "case.toml: airplane.mass")
    assert caught.value.code == code
    assert caught.value.where == "case.toml: airplane.mass"
    assert caught.value.hint


def test_the_hint_names_units_that_fit():
    with pytest.raises(NeutralPointError) as caught:
        parse_quantity("5 kg", "m/s")
    assert "kt" in caught.value.hint and "kg" not in caught.value.hint


def grouped(value: int, mark: str) -> str:
    return f"{value:,}".replace(",", mark)


@given(
    st.integers(0, 10**9),
    st.integers(0, 10**6),
    st.sampled_from([" ", ",", "\u2009", "\u202f", "\u00a0", "'"]),
    st.sampled_from([" +- ", "+-", " ± ", " +/- "]),
    st.sampled_from([("lb", "kg", POUND), ("ft", "m", FOOT), ("kt", "m/s", KNOT)]),
)
def test_every_spelling_gives_the_same_value(value, half, mark, plus_minus, units):
    name, unit, factor = units
    text = f"{grouped(value, mark)} {name}{plus_minus}{grouped(half, mark)} {name}"
    found = parse_quantity(text, unit)
    assert found.value == pytest.approx(value * factor, rel=1e-9)
    assert found.sigma == pytest.approx(half * factor / 2, rel=1e-9)


@given(st.floats(-1e12, 1e12, allow_nan=False), st.floats(0, 1e6))
def test_what_is_printed_is_read_again(value, half):
    found = parse_quantity(f"{value!r} m +- {half!r} m", "m")
    assert found.value == value
    assert found.sigma == pytest.approx(half / 2, rel=1e-6, abs=1e-3)


@given(st.text(max_size=120))
def test_no_text_raises_anything_but_a_clear_error(text):
    try:
        parse_quantity(text, "kg")
    except NeutralPointError as error:
        assert error.code.startswith("quantity-")
