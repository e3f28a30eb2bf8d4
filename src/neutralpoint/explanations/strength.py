"""How hard people can pull, and for how long.

The population is the analyst's: no published distribution for pulling a control wheel was at hand.
It is set so that published findings hold (see `POPULATION`); change it where better is known.
"""

from __future__ import annotations

from dataclasses import dataclass

import jax
import jax.numpy as jnp
from jax import Array
from jax.scipy.special import ndtr, ndtri

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.quantities import MINUTE, POUND_FORCE

# Range of loads in which the endurance curve is used: below the first Rohmert (1960) finds no
# limit, above the second nothing was measured by Caldwell (1963), 64 men, manual pull.
ENDLESS_LOAD = 0.15
TOP_LOAD = 0.80


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Population:
    """Largest short pull with two hands on a wheel, lognormal; one hand is a share of it.

    Args:
        median: N.
        spread: Standard deviation of the logarithm.
        one_hand: One-handed over two-handed pull.
    """

    median: Scalar = 70.0 * POUND_FORCE
    spread: Scalar = 0.35
    one_hand: Scalar = 50.0 / 75.0


# Analyst's, no published distribution. Median 70 lb and 35%: more than half below the 75 lb of
# 14 CFR 23.143 and 25.143 (Beringer 2019, abstract, more than 300 people), 3 in 1000 above the
# 200 lb that Gough and Beard measured at most (NACA TN 550, 1936). One hand: the ratio of the
# rule's own 50 lb and 75 lb.
POPULATION = Population()


def draw_strength(population: Population, share: Scalar) -> Array:
    """Two-handed pull of the person at a place in the population.

    Source: inverse of the lognormal distribution.

    Args:
        population: Who.
        share: 0 (weakest) to 1.

    Returns:
        N.
    """
    return jnp.asarray(population.median * jnp.exp(population.spread * ndtri(share)))


def share_able(population: Population, force: Scalar, hands: int) -> Array:
    """Fraction of the population whose short pull reaches a force.

    Source: lognormal distribution.

    Args:
        population: Who.
        force: N; a push counts like a pull.
        hands: 1 or 2.

    Returns:
        0 to 1.
    """
    median = population.median * (population.one_hand if hands == 1 else 1.0)
    # Everybody has no force at all, and it has no logarithm.
    size = jnp.maximum(jnp.abs(force), 1e-3)
    return 1.0 - ndtr(jnp.log(size / median) / population.spread)


def endurance(load: Scalar) -> Array:
    """How long a share of one's own largest force can be held.

    Source: Rohmert (1960) as -1.5 + 2.1/f - 0.6/f^2 + 0.1/f^3 minutes, from memory; within 8% of
    the 63.3 s at 0.5 and 21.4 s at 0.8 of Caldwell (1963), 64 men. Valid: 0.15 to 0.8; a study of
    shoulders finds it too long below 0.45. Checked against: tests/unit/test_explanations_pilot.py.

    Args:
        load: Share of the largest force.

    Returns:
        s; infinite below `ENDLESS_LOAD`.
    """
    f = jnp.clip(load, ENDLESS_LOAD, 1.0)
    # A polynomial in one over the load, by Horner's rule.
    minutes = -1.5 + (2.1 + (-0.6 + 0.1 / f) / f) / f
    return jnp.where(load < ENDLESS_LOAD, jnp.inf, MINUTE * minutes)


def fatigue_rate(load: Scalar) -> Array:
    """Relative loss of strength per second while a share of the fresh strength is held.

    With c the strength left, c' = -r c and r = -ln f / T(f): a constant load f is just held when
    its endurance T(f) is over. Above `TOP_LOAD` the rate stays what it is there.
    Source: `endurance`; the form is an analyst's choice.

    Args:
        load: Held force over fresh strength.

    Returns:
        1/s.
    """
    # Falling at this rate, strength has come down to the load when the endurance is over.
    f = jnp.clip(load, ENDLESS_LOAD, TOP_LOAD)
    return jnp.where(load < ENDLESS_LOAD, 0.0, -jnp.log(f) / endurance(f))
