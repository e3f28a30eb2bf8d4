"""The airplane file: what it makes, and one clear error for each kind of mistake."""

import dataclasses
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from neutralpoint.airplane.loading import mass_properties
from neutralpoint.airplane.stability import neutral_point
from neutralpoint.airplane_file.build import build_airplane, load_airplane
from neutralpoint.airplane_file.catalogue import CATALOGUE
from neutralpoint.airplane_file.document import parse_airplane, read_airplane
from neutralpoint.airplane_file.sources import NO_SOURCE, given_numbers, source_of
from neutralpoint.errors import NeutralPointError

TEXT = (CATALOGUE / "velmar-c7.toml").read_text(encoding="utf-8")


def built(text):
    return build_airplane(parse_airplane(text, "plane.toml"), "plane.toml")


def changed(old, new):
    assert old in TEXT
    return TEXT.replace(old, new, 1)


def test_units_and_half_widths():
    text = changed('area = "32.0 m2"', 'area = "344.445 ft2 +- 2 ft2"')
    document = parse_airplane(text, "plane.toml")
    assert document.wing.area.value == pytest.approx(32.0, rel=1e-5)
    # +- is the half-width of a 95 % interval: twice the standard deviation.
    assert document.wing.area.sigma == pytest.approx(0.0929, rel=1e-3)


def test_given_numbers_replace_estimates():
    plain = built(TEXT)
    given_text = changed("[aerodynamics.given]\n", '[aerodynamics.given]\nCm_q = "-20 +- 4"\n')
    changed_plane = built(given_text)
    assert "Cm_q" not in plain.given
    assert "Cm_q" in changed_plane.given
    assert changed_plane.airplane.longitudinal.Cm_q == -20.0
    assert changed_plane.uncertainty.sigma["pitch_damping"] == pytest.approx(0.1)
    assert plain.uncertainty.sigma["pitch_damping"] == pytest.approx(0.15)


def test_moment_point_moves_the_numbers_not_the_airplane():
    # Estimated moments about another point describe the same neutral point.
    moved = built(changed("[aerodynamics]\n", '[aerodynamics]\nmoment_point = "0.35"\n'))
    assert neutral_point(moved.airplane) == pytest.approx(neutral_point(built(TEXT).airplane))
    assert moved.airplane.longitudinal.Cm_alpha > built(TEXT).airplane.longitudinal.Cm_alpha


def test_derivatives_alone_are_enough_without_a_tail():
    document = parse_airplane(TEXT, "plane.toml")
    full = build_airplane(document, "plane.toml")
    numbers = {
        name: f"{number.value:.10g} +- {2 * number.sigma:.10g}"
        for name, number in full.numbers.items()
        if name not in ("CD_0", "downwash_0", "downwash_flap")
    }
    head, rest = TEXT.split("[tail]", 1)
    bare = head + "[fin]" + rest.split("[fin]", 1)[1]
    before, after = bare.split("[aerodynamics.given]\n", 1)
    after = after[after.index("[[engines]]") :]
    lines = "\n".join(f'{name} = "{text}"' for name, text in numbers.items())
    before = re.sub(r"(?m)^neutral_point_shift = .*\n", "", before)
    bare = f"{before}[aerodynamics.given]\n{lines}\n\n{after}".split("# Where every")[0]
    found = built(bare)
    assert found.airplane.longitudinal.Cm_alpha == pytest.approx(
        full.airplane.longitudinal.Cm_alpha
    )
    assert found.uncertainty.sigma["neutral_point"] == pytest.approx(
        full.uncertainty.sigma["neutral_point"], rel=1e-6
    )
    missing = bare.replace('Cm_alpha = "', '# "', 1)
    with pytest.raises(NeutralPointError) as caught:
        built(missing)
    assert caught.value.where.endswith("aerodynamics.given.Cm_alpha")


def test_uncertainty_of_mass_and_balance():
    # By hand: 20 kg and 10 mm on 4450 kg, 50 kg and 100 mm on 1200 kg (half-widths).
    found = built(TEXT)
    mass = found.airplane.mass.mass
    assert found.uncertainty.sigma["mass"] == pytest.approx(math.hypot(10, 25) / mass)
    assert found.uncertainty.sigma["cg_station"] == pytest.approx(
        math.hypot(4450 * 0.005, 1200 * 0.05, 25 * (6.9 - 6.723), 10 * (6.62 - 6.723)) / mass,
        rel=1e-3,
    )


def test_another_load():
    found = load_airplane("ostrel-7")
    (wing,) = found.loading.tanks
    tanks = (dataclasses.replace(wing, contents=100.0),)
    light = dataclasses.replace(found.loading, tanks=tanks)
    other = found.loaded(light)
    assert other.airplane.mass.mass == pytest.approx(found.airplane.mass.mass - 800.0)
    assert other.airplane.mass.pitch_inertia < found.airplane.mass.pitch_inertia
    assert other.airplane.mass == mass_properties(light)


def test_tank_table_moves_the_fuel():
    tank = load_airplane("ostrel-7").loading.tanks[0]
    assert tank.position[0] == pytest.approx(6.96, abs=1e-9)
    assert dataclasses.replace(tank, contents=0.0).position[0] == pytest.approx(7.0)


def test_sources_by_key_and_by_table():
    document = read_airplane("velmar-c7")
    assert source_of(document, "wing", "span").startswith("class: aspect ratio")
    assert source_of(document, "wing", "taper") == "class"
    bare = parse_airplane(TEXT.split("# Where every")[0], "plane.toml")
    assert source_of(bare, "wing", "span") == NO_SOURCE
    assert ("wing.span", NO_SOURCE) in [(key, source) for key, _, source in given_numbers(bare)]


@pytest.mark.parametrize(
    ("old", "new", "code", "where"),
    [
        ('taper = "0.5"', 'taper = "5"', "quantity-range", "wing.taper"),
        ('area = "32.0 m2"', 'area = "32.0 m"', "quantity-unit", "wing.area"),
        ('area = "32.0 m2"', 'area = "-3 m2"', "quantity-range", "wing.area"),
        ('area = "32.0 m2"', "area = 32", "quantity-invalid", "wing.area"),
        ('area = "32.0 m2"', 'aera = "32.0 m2"', "airplane-invalid", "wing.aera"),
        ('Ch_alpha = "', 'Ch_alfa = "', "airplane-invalid", "aerodynamics.given"),
        ('CL_flap = "0.75"', 'CL_flap = "x"', "quantity-invalid", "aerodynamics.given"),
        ('capacity = "1100 kg"', 'capacity = "100 kg"', "quantity-range", "tanks[1]"),
        ('travel_max = "5.5 deg"', 'travel_max = "-15 deg"', "quantity-range", "trim"),
        ('power = "860 kW +- 20 kW"', "", "airplane-invalid", "engines.0.power"),
        ("[sources.wing]", "[sources.wong]", "airplane-invalid", "sources.wong.area"),
        ('kind = "momentary_hold"', 'kind = "pull"', "airplane-invalid", "trim.stops[1].kind"),
        ("schema = 1", "schema = 2", "airplane-invalid", "schema"),
        ('"7000 kg"], ["6.84 m"', '"7000 m"], ["6.84 m"', "quantity-unit", "envelopes[1].corners"),
        ("[wing]", "[wing", "airplane-invalid", "plane.toml"),
        ("13.40 m", "3.40 m", "quantity-range", "tail.chord_station"),
        ('mach = "0.25"', 'mach = "1.25"', "quantity-range", "aerodynamics.mach"),
        ('sweep = "35 deg"', 'sweep = "85 deg"', "quantity-range", "fin.sweep"),
        ('width = "1.75 m"', 'width = "1e200 m"', "quantity-range", "fuselage.width"),
    ],
)
def test_mistakes_name_the_key(old, new, code, where):
    text = TEXT.replace('"7000 kg"],["6.84 m"', '"7000 kg"], ["6.84 m"')
    assert old in text
    with pytest.raises(NeutralPointError) as caught:
        built(text.replace(old, new, 1))
    assert caught.value.code == code
    assert where in caught.value.where
    assert caught.value.hint


def test_a_missing_file_names_the_catalogue(tmp_path):
    with pytest.raises(NeutralPointError) as caught:
        load_airplane(tmp_path / "none.toml")
    assert caught.value.code == "file-missing"
    assert "velmar-c7" in caught.value.hint


def test_a_file_that_is_too_large(tmp_path):
    path = tmp_path / "plane.toml"
    path.write_text("#" * 2_000_000)
    with pytest.raises(NeutralPointError) as caught:
        load_airplane(path)
    assert caught.value.code == "file-too-large"


def test_deep_nesting_is_refused():
    with pytest.raises(NeutralPointError) as caught:
        parse_airplane("x = " + "[" * 50_000, "plane.toml")
    assert caught.value.code == "airplane-invalid"


def test_a_file_that_is_no_text(tmp_path):
    path = tmp_path / "plane.toml"
    path.write_bytes(b"\xff\xfe\x00name")
    with pytest.raises(NeutralPointError) as caught:
        load_airplane(path)
    assert caught.value.code == "file-format"


@pytest.mark.slow  # reads an airplane a hundred times, ten seconds
@given(st.integers(0, len(TEXT) - 1), st.characters(codec="utf-8"))
def test_one_wrong_character_never_breaks_through(place, character):
    """Any other character anywhere: a good airplane or one error of ours, nothing else."""
    try:
        built(TEXT[:place] + character + TEXT[place + 1 :])
    except NeutralPointError as error:
        assert error.where
