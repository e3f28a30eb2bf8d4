"""Dryden turbulence: white noise through filters that move with the airplane.

Each component is stepped exactly (transition and noise covariance in closed form), so its spread
does not depend on the step.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.dynamics.state import Gust
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.quantities import FOOT, GRAVITY

ROOT3 = 3.0**0.5  # of the Dryden form, see `step_filters`
# MIL-F-8785C (1980), 3.7.2: low-altitude forms below 1000 ft, isotropic above 2000 ft.
LOW_TOP = 1000.0 * FOOT
HIGH_BOTTOM = 2000.0 * FOOT
HIGH_LENGTH = 1750.0 * FOOT


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Turbulence:
    """Scales and strengths of the gusts along body axes.

    Args:
        length_forward: Scale length, m.
        length_side: m.
        length_vertical: m.
        sigma_forward: Standard deviation, m/s.
        sigma_side: m/s.
        sigma_vertical: m/s.
    """

    length_forward: Scalar
    length_side: Scalar
    length_vertical: Scalar
    sigma_forward: Scalar
    sigma_side: Scalar
    sigma_vertical: Scalar


class FilterState(NamedTuple):
    """Memory of the filters, in units of the standard deviation."""

    forward: Scalar
    side: tuple[Scalar, Scalar]
    vertical: tuple[Scalar, Scalar]
    roll: Scalar


def mil_turbulence(height: Scalar, wind_near_ground: Scalar, sigma_high: Scalar) -> Turbulence:
    """Scales and strengths at a height above the ground.

    Source: MIL-F-8785C (1980), 3.7.3.4 and figures 10 to 11: below 1000 ft L_w = h,
    L_u = L_v = h / (.177 + .000823 h)^1.2, sigma_w = .1 W20, sigma_u = sigma_w / (...)^.4, h in ft;
    above 2000 ft isotropic with L = 1750 ft; linear between.
    Checked against: tests/against/test_dynamics_turbulence.py.

    Args:
        height: Above the ground, m; taken as at least 10 ft.
        wind_near_ground: Mean wind 6.1 m (20 ft) above the ground, m/s.
        sigma_high: Standard deviation above 2000 ft, m/s (figure 7 of the same document).

    Returns:
        The turbulence.
    """
    # The document's low-altitude forms count height in feet; their results are made SI below.
    feet = jnp.clip(height, 10.0 * FOOT, LOW_TOP) / FOOT
    shape = 0.177 + 0.000823 * feet
    share = jnp.clip((height - LOW_TOP) / (HIGH_BOTTOM - LOW_TOP), 0.0, 1.0)

    def blend(low, high):
        return low + share * (high - low)

    vertical = 0.1 * wind_near_ground
    along = blend(feet / shape**1.2 * FOOT, HIGH_LENGTH)
    sigma_along = blend(vertical / shape**0.4, sigma_high)
    return Turbulence(
        length_forward=along,
        length_side=along,
        length_vertical=blend(feet * FOOT, HIGH_LENGTH),
        sigma_forward=sigma_along,
        sigma_side=sigma_along,
        sigma_vertical=blend(vertical, sigma_high),
    )


def first_order(value: Scalar, ratio: Scalar, noise: Scalar) -> Scalar:
    """One exact step of unit-variance noise through 1 / (1 + T s).

    Source: first-order Markov process, Gelb, Applied Optimal Estimation (1974), section 4.5.

    Args:
        value: At the start of the step.
        ratio: Step over T.
        noise: Standard normal.

    Returns:
        Value at the end.
    """
    decay = jnp.exp(-ratio)
    # A step is a small part of T: 1 - exp(-x) would lose the digits that expm1 keeps.
    return decay * value + jnp.sqrt(-jnp.expm1(-2.0 * ratio)) * noise


def second_order(
    state: tuple[Scalar, Scalar], ratio: Scalar, noise: tuple[Scalar, Scalar]
) -> tuple[Scalar, Scalar]:
    """One exact step of the pair y1 = n / (1 + T s), y2 = y1 / (1 + T s).

    Stationary covariance [[1, 1/2], [1/2, 1/2]]; noise covariance P - F P F', by its Cholesky
    factor. Source: linear systems driven by white noise, Gelb, Applied Optimal Estimation (1974),
    section 4.3.

    Args:
        state: y1 and y2 at the start of the step.
        ratio: Step over T.
        noise: Two standard normals.

    Returns:
        y1 and y2 at the end.
    """
    decay = jnp.exp(-ratio)
    y1, y2 = state
    f = decay * decay
    q11 = 1.0 - f
    q12 = 0.5 - f * (ratio + 0.5)
    q22 = 0.5 - f * (ratio * ratio + ratio + 0.5)
    l11 = jnp.sqrt(q11)
    l21 = q12 / l11
    # Never negative but for rounding, which for small steps is as large as the difference.
    l22 = jnp.sqrt(jnp.maximum(q22 - l21 * l21, 0.0))
    return (
        decay * y1 + l11 * noise[0],
        decay * (ratio * y1 + y2) + l21 * noise[0] + l22 * noise[1],
    )


def start_filters(key: Array) -> FilterState:
    """Filters in their stationary state.

    Source: the covariance in `second_order`.

    Args:
        key: JAX random key.

    Returns:
        The memory of the filters.
    """
    n = jax.random.normal(key, (6,))

    def pair(a, b):
        # The mean of two normals has variance 1/2, and covariance 1/2 with the first of them.
        return a, 0.5 * (a + b)

    return FilterState(n[0], pair(n[1], n[2]), pair(n[3], n[4]), n[5])


def roll_filter(turbulence: Turbulence, span: Scalar) -> tuple[Scalar, Scalar]:
    """Scale length and standard deviation of the rolling gust.

    Source: MIL-F-8785C (1980), 3.7.5: sigma_w sqrt(.8 / V) (pi / 4b)^(1/6) L_w^(-1/3)
    / (1 + 4 b s / pi V), whose variance is the noise's pi times that gain squared over 2 T.

    Args:
        turbulence: Scales.
        span: b, m.

    Returns:
        m, rad/s.
    """
    length = 4.0 * span / jnp.pi
    gain2 = 0.8 * (jnp.pi / (4.0 * span)) ** (1.0 / 3.0) * turbulence.length_vertical ** (-2.0 / 3)
    return length, turbulence.sigma_vertical * jnp.sqrt(gain2 * jnp.pi / (2.0 * length))


def step_filters(
    state: FilterState,
    turbulence: Turbulence,
    *,
    span: Scalar,
    speed: Scalar,
    step: Scalar,
    key: Array,
) -> tuple[FilterState, Gust]:
    """Move the filters by one time step.

    Source: MIL-F-8785C (1980), 3.7.1.2, Dryden forms: forward 1 / (1 + L s / V); side and vertical
    (1 + sqrt3 L s / V) / (1 + L s / V)^2 = sqrt3 y1 + (1 - sqrt3) y2 with variance 2. The side and
    vertical lengths are the document's L_v and L_w.

    Args:
        state: Memory of the filters.
        turbulence: Scales.
        span: Wing span, m.
        speed: True airspeed, m/s.
        step: s.
        key: JAX random key for this step.

    Returns:
        New memory, gust in body axes.
    """
    n = jax.random.normal(key, (6,))
    # Taylor's hypothesis: the gusts stand still in the air and the airplane flies through them.
    t, way = turbulence, speed * step
    length, sigma_roll = roll_filter(t, span)
    moved = FilterState(
        first_order(state.forward, way / t.length_forward, n[0]),
        second_order(state.side, way / t.length_side, (n[1], n[2])),
        second_order(state.vertical, way / t.length_vertical, (n[3], n[4])),
        first_order(state.roll, way / length, n[5]),
    )

    def across(pair):
        # Over the root of 2, for the form above has variance 2.
        return (ROOT3 * pair[0] + (1.0 - ROOT3) * pair[1]) / 2.0**0.5

    return moved, Gust(
        forward=t.sigma_forward * moved.forward,
        side=t.sigma_side * across(moved.side),
        downward=t.sigma_vertical * across(moved.vertical),
        roll=sigma_roll * moved.roll,
    )


def gust_load_factor(
    *,
    wing_loading: Scalar,
    chord: Scalar,
    lift_slope: Scalar,
    speed: Scalar,
    gust: Scalar,
    density: Scalar,
    sea_level_density: Scalar,
) -> tuple[Scalar, Scalar]:
    """Load factor increment of a discrete vertical gust by the regulation's formula.

    Source: 14 CFR 23.341(c): n - 1 = Kg rho0 Ude V a / (2 W/S), Kg = .88 mu / (5.3 + mu),
    mu = 2 (W/S) / (rho c a g); in units of the rule 1/498 stands for rho0 / 2.
    Checked against: tests/against/test_dynamics_turbulence.py.

    Args:
        wing_loading: Weight over wing area, Pa.
        chord: Mean geometric chord, m.
        lift_slope: Of the airplane, per rad.
        speed: Equivalent airspeed, m/s.
        gust: Derived gust velocity (equivalent), m/s.
        density: At the height flown, kg/m3.
        sea_level_density: kg/m3.

    Returns:
        Increment of load factor; alleviation factor Kg.
    """
    ratio = 2.0 * wing_loading / (density * chord * lift_slope * GRAVITY)
    relief = 0.88 * ratio / (5.3 + ratio)
    return relief * sea_level_density * gust * speed * lift_slope / (2.0 * wing_loading), relief
