"""All causes of a draw in one program: the same flights as one by one."""

from __future__ import annotations

import jax
import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.weighing.course import COLUMNS
from neutralpoint.weighing.every_cause import fly_every
from neutralpoint.weighing.flights import Start, values_of
from neutralpoint.weighing.ordinary import ORDINARY
from neutralpoint.weighing.simulate import flyable, simulate

pytestmark = pytest.mark.slow

ROUNDING = 1e-6  # of two programs with the operations in another order, over 20 s of flight
CHOSEN = ("no-failure", "stabilizer-runaway", "elevator-jam", "power-loss-one")


@pytest.fixture(scope="module")
def one_by_one():
    described = load_airplane("velmar-c7")
    causes = tuple(c for c in flyable(described.airplane) if c.name in CHOSEN)
    rng = np.random.default_rng(3)
    draws = described.uncertainty.draw(rng, 3 * len(causes))
    start = Start(np.full(4, 100.0), np.zeros(4), 3000.0)
    flown = simulate(described.airplane, draws, start, causes, rng=rng, duration=18.0)
    return described.airplane, causes, flown


def test_the_flights_are_those_that_are_flown_one_by_one(one_by_one):
    airplane, causes, flown = one_by_one
    first = flown[0].drawn
    count = len(first.number)
    meant = values_of(flown[0].plan.ordinary, first.ordinary)
    width = max(len(c.parameters) for c in causes)
    values = np.zeros((count, len(causes), width))
    for place, batch in enumerate(flown):
        assert (batch.drawn.number == first.number).all(), "a flight was lost: choose another seed"
        values[:, place, : batch.values.shape[1]] = batch.values
    draws = {
        "multipliers": first.multipliers,
        "start": first.begin,
        "ordinary": {p.name: meant[:, i] for i, p in enumerate(ORDINARY)},
        "key": jax.vmap(lambda n: jax.random.fold_in(flown[0].plan.key, n))(first.number),
        "duration": np.full(count, flown[0].plan.duration),
    }
    many = jax.tree.map(lambda leaf: jnp.full(count, leaf), airplane)
    fly = jax.jit(lambda a, d, v: fly_every(causes, a, d, v, count=jnp.asarray(30), most=40))
    found = np.asarray(fly(many, draws, jnp.asarray(values)))
    for place, batch in enumerate(flown):
        for column, name in enumerate(COLUMNS):
            expected = getattr(batch.course, name)[:, :30]
            scale = np.maximum(np.abs(expected), 1.0)
            apart = np.abs(found[:, place, :30, column] - expected) / scale
            assert apart.max() < ROUNDING, (batch.cause, name)
    assert (found[:, :, 30:] == 0.0).all()
