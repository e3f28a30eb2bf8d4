"""Loading against worked examples of public handbooks (authorities/weight_and_balance.toml).

Tolerances: half a unit of the last digit printed in the source.
"""

import pytest

from neutralpoint.airplane.envelope import effect_of_move, mass_to_move
from neutralpoint.airplane.loading import (
    Loading,
    LoadItem,
    mass_properties,
    percent_mac,
    station_of_percent_mac,
)
from neutralpoint.airplane.model import MassProperties
from neutralpoint.quantities import INCH, POUND


@pytest.fixture
def example(authority):
    """A worked example by its name."""
    items = authority("weight_and_balance")["items"]
    return lambda name: next(item for item in items if item["name"] == name)


def loaded(mass: float, arm: float, *items: LoadItem) -> Loading:
    """A loading whose TOTAL is `mass` at `arm`, with the items taken out of the empty airplane."""
    carried = sum(item.mass for item in items)
    moment = mass * arm - sum(item.mass * item.position[0] for item in items)
    empty = MassProperties(
        mass=mass - carried,
        cg_station=moment / (mass - carried),
        roll_inertia=1.0,
        pitch_inertia=1.0,
        yaw_inertia=1.0,
    )
    return Loading(empty, items)


def moved(loading: Loading, to: float):
    """What moving the only item does, on a chord of 60 in with the neutral point at 100 in."""
    return effect_of_move(
        loading,
        "bag",
        (to, 0.0, 0.0),
        neutral_point=100 * INCH,
        chord=60 * INCH,
        envelopes=(),
    )


def test_weight_moved_aft(example):
    """Source: Pilot's Handbook of Aeronautical Knowledge, weight shifting."""
    case = example("weight moved aft")
    bag = LoadItem("bag", case["moved_lb"] * POUND, (case["from_in"] * INCH, 0.0, 0.0))
    loading = loaded(case["weight_lb"] * POUND, case["arm_in"] * INCH, bag)
    effect = moved(loading, case["to_in"] * INCH)
    assert effect.after.cg_station / INCH == pytest.approx(case["result_in"], abs=0.05)
    lost = effect.static_margin_before - effect.static_margin_after
    assert lost == pytest.approx((case["result_in"] - case["arm_in"]) / 60)


def test_weight_to_move(example):
    """Source: Pilot's Handbook of Aeronautical Knowledge, as quoted in a training text."""
    case = example("weight to move")
    properties = mass_properties(loaded(case["weight_lb"] * POUND, case["arm_in"] * INCH))
    found = mass_to_move(
        properties,
        target=case["limit_in"] * INCH,
        start=case["from_in"] * INCH,
        end=case["to_in"] * INCH,
    )
    assert found / POUND == pytest.approx(case["result_lb"], abs=0.5)


def test_shift_of_light_airplane(example):
    """Source: the example that authorities/weight_and_balance.toml names."""
    case = example("light airplane")
    bag = LoadItem("bag", case["moved_lb"] * POUND, (90 * INCH, 0.0, 0.0))
    loading = loaded(case["weight_lb"] * POUND, 85 * INCH, bag)
    effect = moved(loading, (90 + case["distance_in"]) * INCH)
    assert effect.shift / INCH == pytest.approx(case["shift_in"], abs=0.005)


@pytest.mark.parametrize("kind", ["transport", "handbook"])
def test_percent_of_mean_chord(example, kind):
    """Source: the example that authorities/weight_and_balance.toml names."""
    case = example(f"percent of the mean chord, {kind}")
    chord = (case["leading_edge_in"] * INCH, case["chord_in"] * INCH)
    found = percent_mac(case["arm_in"] * INCH, *chord)
    assert found == pytest.approx(case["percent"], abs=0.05)
    assert station_of_percent_mac(found, *chord) == pytest.approx(case["arm_in"] * INCH, rel=1e-12)


def test_weight_added_forward(example):
    """Source: the example that authorities/weight_and_balance.toml names."""
    case = example("weight added")
    added = LoadItem("pallet", case["added_kg"], (case["at_in"] * INCH, 0.0, 0.0))
    properties = mass_properties(loaded(case["weight_kg"], case["arm_in"] * INCH).with_item(added))
    assert properties.cg_station / INCH == pytest.approx(case["result_in"], abs=0.005)
    percent = percent_mac(
        properties.cg_station, case["leading_edge_in"] * INCH, case["chord_in"] * INCH
    )
    assert percent == pytest.approx(case["percent"], abs=0.005)


@pytest.mark.parametrize("mass", [5.0, 80.0, 700.0])
def test_added_weight_formula(mass):
    # Both published forms: shift = w (arm - CG) / (W + w).
    """Source: the formula that authorities/weight_and_balance.toml names."""
    properties = mass_properties(
        loaded(3000.0, 4.0).with_item(LoadItem("x", mass, (6.5, 0.0, 0.0)))
    )
    assert properties.cg_station - 4.0 == pytest.approx(mass * 2.5 / (3000.0 + mass), rel=1e-12)
