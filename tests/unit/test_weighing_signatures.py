"""Nobody on the column: what is switched off, which flights are taken, when bands part."""

import numpy as np
import pytest

from neutralpoint.weighing.flights import Plan, values_of
from neutralpoint.weighing.nearest import kernel
from neutralpoint.weighing.signatures import (
    OFF,
    ON,
    bands,
    evenly_weighted,
    parting,
    picked,
    without_hands,
)
from neutralpoint.weighing.wider import WIDER_ORDINARY

TIME = np.arange(0.0, 30.0, 0.5)


def test_hands_and_intentions_are_gone():
    plan = without_hands(Plan(airplane=None, ordinary=WIDER_ORDINARY, duration=50.0, key=None))
    rng = np.random.default_rng(3)
    unit = rng.standard_normal((50, len(plan.ordinary)))
    names = [p.name for p in plan.ordinary]
    unit[:, names.index("cuts")] = OFF
    drawn = dict(zip(names, values_of(plan.ordinary, unit).T, strict=True))
    for name in ("climbs", "turns", "powers", "flaps", "hills", "steeps", "cuts", "trims"):
        np.testing.assert_allclose(drawn[name], 0.0, atol=1e-9)
    for name in ("crossover", "outer", "holding"):
        assert drawn[name].max() < 1e-5
    # The air and the structure stay what they were drawn as.
    before = dict(zip(names, values_of(WIDER_ORDINARY, unit).T, strict=True))
    for name in ("air", "margin", "static"):
        np.testing.assert_array_equal(drawn[name], before[name])


@pytest.mark.parametrize(("score", "lever"), [(OFF, -1.0), (ON, 1.0)])
def test_power_is_cut_or_set_in_full_by_its_score(score, lever):
    plan = without_hands(Plan(airplane=None, ordinary=WIDER_ORDINARY, duration=50.0, key=None))
    names = [p.name for p in plan.ordinary]
    unit = np.zeros((1, len(names)))
    unit[0, names.index("cuts")], unit[0, names.index("cut")] = ON, score
    drawn = dict(zip(names, values_of(plan.ordinary, unit)[0], strict=True))
    assert (drawn["cuts"], drawn["cut"], drawn["cut_at"]) == (1.0, lever, 0.0)


def test_the_kernel_is_widened_and_keeps_its_order():
    class Near:
        weight, _ = kernel(np.linspace(1.0, 4.0, 60), 3.0)

    wide = evenly_weighted(Near())
    assert 1.0 / np.sum(Near.weight**2) == pytest.approx(3.0, rel=0.01)
    assert 1.0 / np.sum(wide**2) == pytest.approx(20.0, rel=0.01)
    assert (np.diff(wide) < 0.0).all()


def test_flights_are_picked_by_their_weight():
    weight = np.array([0.5, 0.0, 0.25, 0.25])
    np.testing.assert_array_equal(np.bincount(picked(weight, 8), minlength=4), [4, 0, 2, 2])


def test_bands_part_where_they_have_nothing_in_common():
    flights = np.stack([TIME - 1.0, TIME, TIME + 1.0])
    seen = np.tile([[-0.5], [0.0], [0.5]], TIME.size)
    first, gap = parting(TIME, flights, seen, lasting=2.0)
    assert first == 2.0  # the first record with t - 1 > 0.5
    assert gap[-1] == pytest.approx(TIME[-1] - 1.5)


def test_a_moment_apart_does_not_count_nor_do_missing_data():
    flights = np.tile([[-1.0], [0.0], [1.0]], TIME.size)
    seen = np.tile([[-0.5], [0.0], [0.5]], TIME.size)
    seen[:, 10:12] += 5.0
    seen[:, 30:] = np.nan
    assert parting(TIME, flights, seen, lasting=2.0)[0] is None


def test_bands_are_weighted():
    values = np.array([[0.0], [1.0], [2.0]])
    np.testing.assert_allclose(bands(values)[1], 1.0)
    np.testing.assert_allclose(bands(values, np.array([0.98, 0.01, 0.01]))[2], 0.0)
