"""Bank and load factor of steady level turns, through the code that reads them from a path."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.motion.attitude import lift_direction
from neutralpoint.quantities import DEGREE, FOOT, GRAVITY, KNOT, NAUTICAL_MILE


@pytest.fixture
def item(authority):
    """One item of authorities/turns.toml by its name."""
    items = {entry["name"]: entry for entry in authority("turns")["items"]}
    return items.__getitem__


def level_turn(speed, rate):
    """Bank (rad) and load factor of a level right turn at a speed (m/s) and rate (rad/s)."""
    heading = np.linspace(0.0, 1.0, 9)
    zero = np.zeros_like(heading)
    forward = np.stack([np.cos(heading), np.sin(heading), zero], axis=-1)
    right = np.stack([-np.sin(heading), np.cos(heading), zero], axis=-1)
    force = speed * rate * right - np.array([0.0, 0.0, GRAVITY])
    found = lift_direction(force[None], forward[None], 0.25)
    np.testing.assert_allclose(found.along, 0.0, atol=1e-12)
    return found.bank[0, 4], found.load_factor[0, 4]


def test_load_factor(item):
    """Identity n = 1/cos(bank), printed to four decimals.

    Source: identity n = 1/cos(bank): FAA-H-8083-25, ch. 5.
    """
    entry = item("load factor of a level turn")
    for bank_deg, printed in zip(entry["bank_deg"], entry["load_factor"], strict=True):
        speed = 100.0
        bank, load_factor = level_turn(speed, GRAVITY * np.tan(bank_deg * DEGREE) / speed)
        assert bank / DEGREE == pytest.approx(bank_deg, abs=1e-9)
        assert load_factor == pytest.approx(printed, abs=entry["tolerance"])


@pytest.mark.parametrize(
    "name", ["turn radius", "turn radius with the handbook's rounded constant"]
)
def test_radius(item, name):
    """The printed bank lies within the printed radius.

    Source: FAA-H-8083-25, ch. 5, radius = V^2 / (11.26 tan(bank)); the same in
        calculator.7search.cc, aircraft-turn-radius-calculator (seen 2026-11-28).
    """
    entry = item(name)
    speed = entry["tas_kt"] * KNOT
    tight, wide = (
        level_turn(speed, speed / ((entry["radius_ft"] + sign * entry["tolerance"]) * FOOT))[0]
        for sign in (-1.0, 1.0)
    )
    # The handbook's constant is rounded by 0.3 %; its tolerance in the file is 0.1 % of the radius,
    # so its own bank is allowed that difference.
    allowed = 0.003 * entry["bank_deg"] * DEGREE if "rounded" in name else 0.0
    assert wide - allowed <= entry["bank_deg"] * DEGREE <= tight + allowed


def test_rate(item):
    """FAA-H-8083-25 ch. 5, 1091 tan(bank)/V: constant rounded by 0.1 %, result to 0.01 deg/s.

    Source: FAA-H-8083-25, ch. 5, rate = 1091 tan(bank) / V.
    """
    entry = item("rate of turn")
    for tas_kt, bank_deg, rate in zip(
        entry["tas_kt"], entry["bank_deg"], entry["rate_deg_s"], strict=True
    ):
        slow, fast = (
            level_turn(tas_kt * KNOT, (rate + sign * entry["tolerance"]) * DEGREE)[0] / DEGREE
            for sign in (-1.0, 1.0)
        )
        assert slow <= bank_deg <= fast


def test_standard_rate_bank(item):
    """Printed banks of a 3 deg/s turn at five speeds, to 0.01 deg.

    Source: encyclopedia article "Standard rate turn", bank = arctan(V / 364) in knots (a copy seen
        2026-11-28).
    """
    entry = item("bank of a standard-rate turn")
    for tas_kt, printed in zip(entry["tas_kt"], entry["bank_deg"], strict=True):
        bank, _ = level_turn(tas_kt * KNOT, entry["rate_deg_s"] * DEGREE)
        assert bank / DEGREE == pytest.approx(printed, abs=entry["tolerance"])


def test_speed_from_radius_and_bank(item):
    """One NM, 15 deg, 135.6 kt.

    Source: V^2 = R g tan(bank): FAA-H-8083-25, ch. 5; the page that printed it was not found again.
    """
    entry = item("speed from radius and bank")
    radius = entry["radius_nm"] * NAUTICAL_MILE
    slow, fast = (
        level_turn(speed, speed / radius)[0] / DEGREE
        for speed in (
            (entry["tas_kt"] - entry["tolerance"]) * KNOT,
            (entry["tas_kt"] + entry["tolerance"]) * KNOT,
        )
    )
    assert slow <= entry["bank_deg"] <= fast
