"""Two published models of what the vestibular organs make of a ride, for all paths at once.

The first is the observer of Merfeld and others: the brain runs a model of body and organs and
corrects it by what the organs report. The second passes the felt force through a low-pass filter
that turns with what the canals report, as Mayne and Bos and Bles have it. Both know no thresholds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array

from neutralpoint.numerics.arrays import Array as Floats
from neutralpoint.quantities import GRAVITY
from neutralpoint.senses.seat import Ride

STEP = 0.1  # s between the stages of the integration, or less; the fastest answer takes 0.5 s
MODELS = ("observer", "filter")
# How far people and the models of them differ, standard deviation of a factor; the same for every
# constant. Measured tilts in a turn scatter by half of their mean between pilots (43 +- 21 deg,
# J. Vestibular Research 2022, doi 10.3233/VES-220016); analyst's estimate for single constants.
SCATTER = 0.3


class Organs(NamedTuple):
    """Constants of the organs and of the models, each of shape () or (S, 1).

    Source: canal, adaptation and gains of the observer: Rader, Oman and Merfeld, J. Neurophysiol.
    102 (2009) 2232, table 4, for the model of Merfeld et al., J. Vestibular Research 3 (1993) 141.
    Vertical: Bos and Bles, Brain Research Bulletin 57 (2002) 537, 5 s, from memory.

    Args:
        canal: Time constant of the canals, s.
        adaptation: Of their nerves, s.
        turn_gain: Of an error in what the canals report, K_omega.
        tilt_gain: Of an error in the direction of the force, on gravity, K_f, 1/s.
        swing_gain: The same on the turn, K_f omega, 1/s.
        force_gain: Of an error of the force on the acceleration, K_a, negative.
        vertical: Time constant of the vertical that the second model has, s.
    """

    canal: Array | Floats | float = 5.7
    adaptation: Array | Floats | float = 80.0
    turn_gain: Array | Floats | float = 3.0
    tilt_gain: Array | Floats | float = 2.0
    swing_gain: Array | Floats | float = 2.0
    force_gain: Array | Floats | float = -2.0
    vertical: Array | Floats | float = 5.0


@dataclass(frozen=True)
class Perceived:
    """What each model makes of a ride; the first axis is that of `MODELS`.

    Attributes:
        pitch: rad, shape (2, S, m).
        bank: rad, shape (2, S, m).
        turn: About what is perceived as the vertical, rad/s, shape (2, S, m).
    """

    pitch: Floats
    bank: Floats
    turn: Floats


class Inner(NamedTuple):
    """Memory of organs and models, each (S, 3).

    Args:
        canal: The slow part of the rate that the canals do not report.
        nerve: The slow part of what they report that the nerves do not.
        expected: The slow part of the believed rate that canals would not report.
        gravity: As the observer believes it.
        vertical: As the filter has it.
    """

    canal: Array
    nerve: Array
    expected: Array
    gravity: Array
    vertical: Array


def draw_organs(rng: np.random.Generator, count: int) -> Organs:
    """Constants of different people.

    Args:
        rng: Source of chance.
        count: How many.

    Returns:
        The constants with a log-normal factor each, shape (count, 1).
    """
    middle = Organs()
    factor = np.exp(SCATTER * rng.standard_normal((len(middle), count, 1)))
    return Organs(*(value * part for value, part in zip(middle, factor, strict=True)))


def _unit(vector: Array) -> Array:
    return vector / jnp.maximum(jnp.linalg.norm(vector, axis=-1, keepdims=True), 1e-9)


def _from_to(one: Array, other: Array) -> Array:
    """Smallest rotation from one direction to another, rad."""
    across = jnp.cross(_unit(one), _unit(other))
    # The floor keeps the derivative-free direction of no rotation.
    sine = jnp.linalg.norm(across, axis=-1, keepdims=True)
    cosine = jnp.sum(_unit(one) * _unit(other), -1, keepdims=True)
    return across / jnp.maximum(sine, 1e-9) * jnp.arctan2(sine, cosine)


def reported(organs: Organs, inner: Inner, rate: Array) -> Array:
    """What the nerves of the canals report.

    Args:
        organs: Constants.
        inner: Memory.
        rate: rad/s, shape (S, 3).

    Returns:
        rad/s, shape (S, 3).

    Source: H = T Ta s^2 / ((T s + 1)(Ta s + 1)), Merfeld et al. (1993), as in the reference of
    `Organs`.
    Checked against: tests/against/test_senses_observer.py, the step response in closed form.
    """
    return rate - inner.canal - inner.nerve


def believed(organs: Organs, inner: Inner, rate: Array, felt: Array) -> tuple[Array, Array]:
    """Turn that the observer believes, and its error in the direction of the force.

    The loops of the model are solved at once: it is algebraic in rate and acceleration.

    Args:
        organs: Constants.
        inner: Memory.
        rate: rad/s, shape (S, 3).
        felt: m/s2, shape (S, 3).

    Returns:
        Rate, rad/s, scaled so that a quick turn is perceived whole (Newman, MIT thesis 2009, from
        memory), and rotation from the expected to the felt force, rad, each (S, 3).
    """
    share = organs.force_gain / (1.0 - organs.force_gain)
    expected = inner.gravity - share * (felt - inner.gravity)
    off = _from_to(expected, felt)
    gain = organs.turn_gain
    own = gain * (reported(organs, inner, rate) + inner.expected) - organs.swing_gain * off
    return jnp.asarray(own / gain), off


def _change(organs: Organs, inner: Inner, rate: Array, felt: Array) -> Inner:
    turn, off = believed(organs, inner, rate, felt)
    gain = organs.turn_gain
    unscaled = turn * gain / (1.0 + gain)
    canal = rate - inner.canal
    heard = reported(organs, inner, rate)
    # A direction at rest in the world turns against the body.
    gravity = jnp.cross(inner.gravity, turn) + organs.tilt_gain * jnp.cross(off, inner.gravity)
    return Inner(
        canal=canal / organs.canal,
        nerve=(canal - inner.nerve) / organs.adaptation,
        expected=(unscaled - inner.expected) / organs.canal,
        gravity=gravity,
        vertical=jnp.cross(inner.vertical, heard) + (felt - inner.vertical) / organs.vertical,
    )


def _moved(inner: Inner, change: Inner, step: Array) -> Inner:
    return Inner(*(a + step * b for a, b in zip(inner, change, strict=True)))


def _pair(organs: Organs, inner: Inner, rate: Array, felt: Array) -> Array:
    """Pitch, bank and turn of both models, shape (2, S, 3)."""
    turns = jnp.stack([believed(organs, inner, rate, felt)[0], reported(organs, inner, rate)])
    down = _unit(jnp.stack([inner.gravity, inner.vertical]))
    return jnp.stack(
        [
            jnp.arcsin(jnp.clip(-down[..., 0], -1.0, 1.0)),
            jnp.arctan2(down[..., 1], down[..., 2]),
            jnp.sum(turns * down, -1),
        ],
        -1,
    )


@partial(jax.jit, static_argnames="inside")
def _run(organs: Organs, rate: Array, felt: Array, step: Array, inside: int) -> Array:
    """Integrate over records (m, S, 3) with `inside` steps between two; shape (m, 2, S, 3)."""
    zero = jnp.zeros_like(rate[0])
    down = GRAVITY * _unit(felt[0])
    first = Inner(rate[0], zero, zero, down, felt[0])
    short = step / inside

    def between(inner: Inner, ends: tuple[Array, ...]) -> tuple[Inner, Array]:
        rate0, rate1, felt0, felt1 = ends

        def at(share):
            return rate0 + share * (rate1 - rate0), felt0 + share * (felt1 - felt0)

        def once(k, inner):
            # Heun's rule; the records are as smooth as the windows that made them.
            one = _change(organs, inner, *at(k / inside))
            two = _change(organs, _moved(inner, one, short), *at((k + 1) / inside))
            mean = Inner(*(0.5 * (a + b) for a, b in zip(one, two, strict=True)))
            inner = _moved(inner, mean, short)
            return inner._replace(gravity=GRAVITY * _unit(inner.gravity))

        inner = jax.lax.fori_loop(0, inside, once, inner)
        return inner, _pair(organs, inner, rate1, felt1)

    begin = _pair(organs, first, rate[0], felt[0])
    _, rest = jax.lax.scan(between, first, (rate[:-1], rate[1:], felt[:-1], felt[1:]))
    return jnp.concatenate([begin[None], rest])


def perceive(ride: Ride, organs: Organs) -> Perceived:
    """What both models make of a ride that begins in a state that has lasted.

    Args:
        ride: Of S paths.
        organs: Constants, of shape () or (S, 1).

    Returns:
        What is perceived by a person who looks at nothing.

    Valid: head upright and still; no thresholds, so that what is slower than about 2 deg/s may not
    be noticed at all (common practice, no source).
    Checked against: tests/against/test_senses_observer.py, closed forms and SciPy.
    """
    inside = max(1, int(np.ceil(ride.step / STEP)))
    rate, felt = (np.moveaxis(part, 1, 0) for part in (ride.rate, ride.felt))
    found = np.asarray(_run(organs, rate, felt, ride.step, inside))
    pitch, bank, turn = np.moveaxis(found, (3, 0), (0, 3))
    return Perceived(pitch, bank, turn)
