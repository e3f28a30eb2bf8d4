"""Loading and envelope: inertia, tanks, limits, and refusals."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from neutralpoint.airplane.envelope import (
    Envelope,
    effect_of_move,
    mass_to_move,
    move_item,
    percent_mac_limits,
    within,
)
from neutralpoint.airplane.loading import (
    FuelTank,
    Loading,
    LoadItem,
    mass_properties,
)
from neutralpoint.airplane.model import MassProperties
from neutralpoint.errors import NeutralPointError


def point(mass: float) -> MassProperties:
    """A mass at the datum without size."""
    return MassProperties(mass=mass, roll_inertia=0.0, pitch_inertia=0.0, yaw_inertia=0.0)


EMPTY = MassProperties(
    mass=1000.0, cg_station=2.0, roll_inertia=2250.0, pitch_inertia=2000.0, yaw_inertia=4000.0
)
LOADING = Loading(
    EMPTY,
    (LoadItem("pilot", 80.0, (1.8, -0.3, 0.1)), LoadItem("bag", 20.0, (3.5, 0.0, 0.2), loose=True)),
    (FuelTank("wing", 150.0, 100.0, ((0.0, 2.1), (100.0, 2.2), (150.0, 2.4))),),
)
BOX = Envelope("normal", ((1.9, 900.0), (1.9, 1100.0), (2.0, 1300.0), (2.3, 1300.0), (2.3, 900.0)))


def test_inertia_of_two_points_about_their_center():
    found = mass_properties(Loading(point(2.0), (LoadItem("b", 2.0, (2.0, 0.0, -1.0)),)))
    # Reduced mass 1 kg at separation (2, 0, 1) m; aft and high, so x z > 0.
    assert (found.cg_station, found.cg_depth) == pytest.approx((1.0, -0.5))
    assert found.roll_inertia == pytest.approx(1.0)
    assert found.pitch_inertia == pytest.approx(5.0)
    assert found.yaw_inertia == pytest.approx(4.0)
    assert found.cross_inertia == pytest.approx(2.0)


@given(x=st.floats(-5, 5), y=st.floats(-3, 3), z=st.floats(-2, 2), mass=st.floats(0.1, 500))
def test_carried_mass_keeps_the_inertia_physical(x, y, z, mass):
    found = mass_properties(LOADING.with_item(LoadItem("any", mass, (x, y, z))))
    roll, pitch, yaw = found.roll_inertia, found.pitch_inertia, found.yaw_inertia
    assert roll * yaw > found.cross_inertia**2
    assert roll + pitch >= yaw
    assert roll + yaw >= pitch
    assert pitch + yaw >= roll


def test_tank_station_follows_contents():
    assert LOADING.tanks[0].position[0] == pytest.approx(2.2)
    fuller = dataclasses.replace(LOADING.tanks[0], contents=125.0)
    assert fuller.position[0] == pytest.approx(2.3)


def test_moving_part_of_an_item():
    moved = move_item(LOADING, "bag", (1.5, 0.0, 0.2), mass=5.0)
    assert mass_properties(moved).mass == pytest.approx(mass_properties(LOADING).mass)
    assert sorted(item.mass for item in moved.items) == pytest.approx([5.0, 15.0, 80.0])


def test_envelope_limits_and_edges():
    assert BOX.station_limits(1200.0) == pytest.approx((1.95, 2.3))
    assert BOX.station_limits(1300.0) == pytest.approx((2.0, 2.3))
    assert BOX.station_limits(1301.0) is None
    assert BOX.contains(1.95, 1200.0)
    assert not BOX.contains(1.949, 1200.0)
    assert within(LOADING, (BOX,)) == {"normal": True}
    assert percent_mac_limits(BOX, 1000.0, 1.5, 1.5) == pytest.approx((26.6667, 53.3333), rel=1e-4)
    assert percent_mac_limits(BOX, 2000.0, 1.5, 1.5) is None


def test_move_that_passes_the_aft_limit():
    loading = LOADING.with_item(LoadItem("crate", 90.0, (1.9, 0.0, 0.0), loose=True))
    effect = effect_of_move(
        loading, "crate", (7.0, 0.0, 0.0), neutral_point=2.6, chord=1.5, envelopes=(BOX,)
    )
    assert effect.margins["normal"].passed() == ("aft",)
    assert effect.shift == pytest.approx(90.0 * 5.1 / 1290.0)
    assert effect.static_margin_after < effect.static_margin_before
    assert effect.after.pitch_inertia > effect.before.pitch_inertia


def test_overweight_is_named():
    heavy = LOADING.with_item(LoadItem("lead", 400.0, (2.1, 0.0, 0.0)))
    assert BOX.margins(mass_properties(heavy)).passed() == ("mass",)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: LOADING.item("cat"), "argument-invalid"),
        (lambda: move_item(LOADING, "bag", (0.0, 0.0, 0.0), mass=21.0), "quantity-range"),
        (
            lambda: mass_to_move(mass_properties(LOADING), target=2.0, start=1.0, end=1.0),
            "argument-invalid",
        ),
    ],
)
def test_refusals_say_what_is_allowed(call, code):
    with pytest.raises(NeutralPointError) as caught:
        call()
    assert caught.value.code == code
    assert caught.value.hint
