"""Loading against worked examples of public handbooks and training texts.

Tolerances: half a unit of the last digit printed in the source. Arms in the sources are inches.
"""

import pytest

from neutralpoint.airplane.envelope import effect_of_move, mass_to_move
from neutralpoint.airplane.loading import (
    Item,
    Loading,
    mass_properties,
    percent_mac,
    station_of_percent_mac,
)
from neutralpoint.airplane.model import MassProperties
from neutralpoint.quantities import INCH, POUND


def loaded(mass: float, arm: float, *items: Item) -> Loading:
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


def test_move_aft_pilots_handbook():
    # Pilot's Handbook of Aeronautical Knowledge, weight shifting: 8,000 lb, moment 616,000 lb in,
    # 100 lb from station 30 to 150 gives 78.5 in.
    bag = Item("bag", 100 * POUND, (30 * INCH, 0.0, 0.0))
    loading = loaded(8000 * POUND, 77.0 * INCH, bag)
    effect = effect_of_move(
        loading,
        "bag",
        (150 * INCH, 0.0, 0.0),
        neutral_point=100 * INCH,
        chord=60 * INCH,
        envelopes=(),
    )
    assert effect.after.cg_station / INCH == pytest.approx(78.5, abs=0.05)
    assert effect.shift * effect.after.mass / (POUND * INCH) == pytest.approx(12_000, abs=0.5)
    assert effect.static_margin_before - effect.static_margin_after == pytest.approx(1.5 / 60)


def test_weight_to_move_pilots_handbook():
    # Same handbook: 7,800 lb at 81.5 in, aft limit 80.5; from station 150 to 30: 65 lb.
    properties = mass_properties(loaded(7800 * POUND, 81.5 * INCH))
    moved = mass_to_move(properties, target=80.5 * INCH, start=150 * INCH, end=30 * INCH)
    assert moved / POUND == pytest.approx(65.0, abs=0.5)


def test_shift_of_light_airplane():
    # Training text: 2,450 lb, 100 lb moved 50 in: 2.04 in.
    box = Item("box", 100 * POUND, (90 * INCH, 0.0, 0.0))
    effect = effect_of_move(
        loaded(2450 * POUND, 85 * INCH, box),
        "box",
        (140 * INCH, 0.0, 0.0),
        neutral_point=100 * INCH,
        chord=60 * INCH,
        envelopes=(),
    )
    assert effect.shift / INCH == pytest.approx(2.04, abs=0.005)


@pytest.mark.parametrize(
    ("arm", "leading_edge", "chord", "percent"),
    [
        (663.0, 625.6, 134.5, 27.8),  # public worked example of a transport
        (161.0, 144.0, 62.0, 27.4),  # FAA-H-8083-1A ch. 3, from memory, arithmetic recomputed
    ],
)
def test_percent_of_mean_chord(arm, leading_edge, chord, percent):
    found = percent_mac(arm * INCH, leading_edge * INCH, chord * INCH)
    assert found == pytest.approx(percent, abs=0.05)
    back = station_of_percent_mac(found, leading_edge * INCH, chord * INCH)
    assert back == pytest.approx(arm * INCH, rel=1e-12)


def test_mass_added_forward():
    # Same transport example: 2,500 kg added at 360 to 41,000 kg at 663: 645.59 in, 14.86 % MAC.
    added = Item("pallet", 2500.0, (360 * INCH, 0.0, 0.0))
    properties = mass_properties(loaded(41_000.0, 663 * INCH).with_item(added))
    assert properties.cg_station / INCH == pytest.approx(645.59, abs=0.005)
    percent = percent_mac(properties.cg_station, 625.6 * INCH, 134.5 * INCH)
    assert percent == pytest.approx(14.86, abs=0.005)


@pytest.mark.parametrize("mass", [5.0, 80.0, 700.0])
def test_added_weight_formula(mass):
    # Both published forms: shift = w (arm - CG) / (W + w).
    properties = mass_properties(loaded(3000.0, 4.0).with_item(Item("x", mass, (6.5, 0.0, 0.0))))
    assert properties.cg_station - 4.0 == pytest.approx(mass * 2.5 / (3000.0 + mass), rel=1e-12)
