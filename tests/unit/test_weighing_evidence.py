"""Evidence other than the track: each kind of item against an answer worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from neutralpoint.errors import NeutralPointError
from neutralpoint.weighing.evidence import (
    STRAIN_IMAGINED,
    STRAIN_NOTED,
    VOICE_CAP,
    Contribution,
    any_value,
    capped,
    drift_after,
    flown_likelihood,
    from_flights,
    from_table,
    smoothing,
    strain_likelihood,
    with_doubt,
)
from neutralpoint.weighing.items import ITEMS, actuator_item, find_item
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.value import Item

MARK = Item("mark", "low", ("x", "y"), (0.3, 0.7), {"a": (0.9, 0.1)}, key="mark")


def even(count: int) -> np.ndarray:
    return np.full(count, 1.0 / count)


def test_a_measured_value_has_the_density_of_the_flights_that_follow_the_track():
    """Normal flights, normal error: the likelihood is a normal of both variances."""
    rng = np.random.default_rng(1)
    flights = rng.normal(2.0, 3.0, (4000, 1))
    found = flown_likelihood([flights], [even(4000)], np.array([5.0]), np.array([4.0]))
    assert found[0] == pytest.approx(norm.logpdf(5.0, 2.0, 5.0), abs=0.02)


def test_only_flights_that_follow_the_track_count():
    flights = np.array([[0.0], [10.0]])
    weight = np.array([0.0, 1.0])
    found = flown_likelihood([flights], [weight], np.array([10.0]), np.array([1.0]))
    assert found[0] == pytest.approx(norm.logpdf(0.0))


def test_two_quantities_are_joint():
    flights = np.zeros((3, 2))
    found = flown_likelihood([flights], [even(3)], np.array([1.0, 2.0]), np.array([1.0, 2.0]))
    assert found[0] == pytest.approx(norm.logpdf(1.0) + norm.logpdf(2.0, 0.0, 2.0))


def test_the_kernel_narrows_with_the_number_of_flights():
    rng = np.random.default_rng(2)
    few, many = rng.normal(size=(30, 1)), rng.normal(size=(3000, 1))
    assert smoothing(few, even(30))[0] == pytest.approx(few.std() * 30 ** (-0.2))
    assert smoothing(many, even(3000))[0] < smoothing(few, even(30))[0]


def test_a_finding_that_may_say_nothing_excludes_nobody():
    """Far from cause a, right at cause b: at most (1 - doubt) p + doubt f over doubt f."""
    flights = [np.zeros((50, 1)), np.full((50, 1), 10.0)]
    found, sigma = np.array([10.0]), np.array([0.1])
    flat = any_value(flights, found)
    assert flat == pytest.approx(-np.log(20.0))  # 0 to 10, half of it more at either end
    near, sure = from_flights(flights, [even(50)] * 2, found, sigma, 0.5)[[0, 1]]
    peak = np.exp(norm.logpdf(0.0, 0.0, 0.1))
    assert sure - near == pytest.approx(np.log((0.5 * peak + 0.5 / 20.0) / (0.5 / 20.0)))
    blind = from_flights(flights, [even(50)] * 2, found, sigma, 1.0)
    assert np.allclose(blind, flat)


def test_an_unlisted_cause_expects_any_value():
    flights = [np.zeros((50, 1)), np.full((50, 1), 10.0)]
    found = np.array([10.0])
    listed = from_flights(flights, [even(50)] * 2, found, np.array([0.1]), 0.2)
    assert listed[2] == pytest.approx(any_value(flights, found))


def test_the_chance_of_telling_nothing_is_a_probability():
    with pytest.raises(NeutralPointError, match=r"says nothing is 1\.5"):
        with_doubt(np.zeros(2), 1.5, 0.0)


def test_a_table_with_doubt():
    """P(x | a) = 0.8 * 0.9 + 0.2 * mean; the mean of 0.9 and 0.3 is 0.6."""
    found = np.exp(from_table(MARK, ("a", "b"), "x", 0.2))
    assert np.allclose(found, [0.84, 0.36, 0.6])
    with pytest.raises(NeutralPointError, match="'z'"):
        from_table(MARK, ("a", "b"), "z", 0.0)


def test_nats_count_from_what_all_causes_expect():
    item = Contribution("mark", np.log([0.9, 0.3]), 0.0)
    nats = item.nats(np.array([0.5, 0.5]))
    assert np.allclose(nats, np.log([0.9 / 0.6, 0.3 / 0.6]))


def test_a_cap_keeps_the_order_and_holds_every_factor():
    found = capped(np.array([-9.0, 0.0, 0.2, 9.0]), 3.0)
    assert np.ptp(found) == pytest.approx(np.log(3.0))
    assert list(np.argsort(found)) == [0, 1, 2, 3]
    assert found[2] - found[1] == pytest.approx(0.2)


def test_strain_in_a_voice_is_weak():
    forces, weights = [np.full(10, 500.0), np.zeros(10)], [even(10)] * 2
    noted = strain_likelihood(forces, weights, noted=True)
    factor = np.exp(noted[0] - noted[1])
    assert factor == pytest.approx(min(STRAIN_NOTED / STRAIN_IMAGINED, VOICE_CAP))
    calm = strain_likelihood(forces, weights, noted=False)
    assert np.exp(calm[1] - calm[0]) == pytest.approx((1 - STRAIN_IMAGINED) / (1 - STRAIN_NOTED))
    assert noted[1] < noted[2] < noted[0]


def test_strain_never_passes_its_cap(monkeypatch):
    monkeypatch.setattr("neutralpoint.weighing.evidence.STRAIN_IMAGINED", 0.001)
    found = strain_likelihood([np.full(4, 900.0), np.zeros(4)], [even(4)] * 2, noted=True)
    assert np.exp(np.ptp(found)) == pytest.approx(VOICE_CAP)


def test_a_straight_flight_goes_on_in_the_heading_seen_and_with_the_wind():
    step = np.arange(5.0)[None] * 100.0
    there = drift_after(step, 0.0 * step, last=2, then=4, heading=np.pi / 2.0, drift=(30.0, 0.0))
    assert np.allclose(there, [[30.0, 200.0]])


def test_a_right_turn_ends_on_the_right():
    """A quarter circle of radius 1000 m to the right, left heading south."""
    angle = np.linspace(0.0, np.pi / 2.0, 2001)[None]
    north, east = 1000.0 * np.sin(angle), 1000.0 * (1.0 - np.cos(angle))
    there = drift_after(north, east, last=0, then=2000, heading=np.pi, drift=(0.0, 0.0))
    assert np.allclose(there, [[-1000.0, -1000.0]], atol=1.0)


def test_every_item_is_whole():
    assert len({item.key for item in ITEMS}) == len(ITEMS)
    for item in ITEMS:
        table = item.table(("stabilizer-runaway", "spiral-dive", UNLISTED))
        assert np.allclose(table.sum(axis=1), 1.0)
        assert np.allclose(table[2], table[:2].mean(axis=0))
        assert item.caution and find_item(item.key) is item


def test_an_actuator_separates_causes_that_leave_it_elsewhere():
    ends = [np.full(20, 0.0), np.full(20, 0.2)]
    item = actuator_item("stabilizer", ("hold", "run"), ends, (-0.2, 0.2), 0.0)
    silent = 0.25 / 3.0
    assert item.rows["hold"] == pytest.approx((silent, 0.75 + silent, silent), abs=1e-3)
    assert item.rows["run"] == pytest.approx((silent, silent, 0.75 + silent), abs=1e-3)
