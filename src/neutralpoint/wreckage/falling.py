"""Bodies that fall through the wind with drag alone, many at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.quantities import GRAVITY

Ground = Callable[[Array, Array], Array]  # height of the ground, m, at m north and east

# The step grows with the time since release, while the body settles, and is held so short that no
# more than `LAYER` of air is fallen through in one. Chosen by tests/against/test_debris_falls.py.
FIRST, GROWTH, LAYER = 0.04, 0.1, 30.0
LONGEST_FALL = 3600.0  # s; what has not come down by then is left where it is
FEWEST_STEPS = 4000  # more are never needed: the step doubles every twelve steps


@dataclass(frozen=True)
class AirColumn:
    """The air by height above the sea, on a uniform grid, one column for each sample path.

    Attributes:
        base: Lowest height, m.
        step: Of the grid, m.
        north: Velocity of the air, m/s, shape (S, k).
        east: m/s, shape (S, k).
        density: kg/m3, shape (k,).
    """

    base: float
    step: float
    north: Array
    east: Array
    density: Array

    def at(self, column: Index, height: Array) -> tuple[Array, Array, Array]:
        """Wind and density; the ends are held.

        Args:
            column: Sample path of each body, shape (n,).
            height: m, shape (n,).

        Returns:
            North, east, m/s, and density, kg/m3, each (n,).
        """
        last = self.density.size - 1
        place = np.clip((height - self.base) / self.step, 0.0, last)
        low = np.minimum(place.astype(np.intp), last - 1)
        share = place - low
        north, east = (
            values[column, low] * (1.0 - share) + values[column, low + 1] * share
            for values in (self.north, self.east)
        )
        density = self.density[low] * (1.0 - share) + self.density[low + 1] * share
        return north, east, density


@dataclass(frozen=True)
class Bodies:
    """Bodies as they are released, each value of shape (n,).

    Attributes:
        north: m.
        east: m.
        height: m above the sea.
        velocity_north: Over the ground, m/s.
        velocity_east: m/s.
        velocity_up: m/s.
        drag_area: Drag coefficient times area over mass, m2/kg.
        column: Sample path that each belongs to.
    """

    north: Array
    east: Array
    height: Array
    velocity_north: Array
    velocity_east: Array
    velocity_up: Array
    drag_area: Array
    column: Index


@dataclass(frozen=True)
class Landing:
    """Where bodies came down, each of shape (n,): m north and east, s since release, m/s."""

    north: Array
    east: Array
    time: Array
    speed: Array


def terminal_speed(drag_area: Array, density: Array) -> Array:
    """Speed at which drag balances weight.

    Args:
        drag_area: Drag coefficient times area over mass, m2/kg.
        density: kg/m3.

    Returns:
        m/s.

    Source: definition, m g = CD A rho V^2 / 2.
    """
    return np.sqrt(2.0 * GRAVITY / (drag_area * density))


def _settle(velocity: Array, wind: Array, rate: Array, step: Array) -> tuple[Array, Array]:
    """Velocity and way after a step at a frozen rate of drag, each (3, n).

    Source: the exact solution of v' = g - k (v - w); its standing point is terminal velocity,
    whatever the step.
    """
    rest = wind.copy()
    rest[2] -= GRAVITY / rate
    fading = np.exp(-rate * step)
    gone = velocity - rest
    return rest + gone * fading, rest * step + gone * (1.0 - fading) / rate


def fall(bodies: Bodies, air: AirColumn, ground: Ground) -> Landing:
    """Let bodies fall to the ground.

    Args:
        bodies: At release.
        air: Wind and density.
        ground: Height of the ground, m above the sea.

    Returns:
        Where, when and how fast each came down.

    Source: m v' = m g - rho CD A |v - w| (v - w) / 2; midpoint exponential steps, second order in
    the step (Hochbruck and Ostermann, Acta Numerica 19 (2010) 209, section 2, from memory).
    Valid: flat earth, drag alone, no lift; a few kilometers.
    Checked against: tests/against/test_debris_falls.py, closed forms and an independent integrator.
    """
    place = np.stack([bodies.north, bodies.east, bodies.height]).astype(float)
    velocity = np.stack([bodies.velocity_north, bodies.velocity_east, bodies.velocity_up]).astype(
        float
    )
    elapsed, alive = np.zeros(place.shape[1]), np.arange(place.shape[1])
    speed = np.zeros(place.shape[1])
    half = 0.5 * bodies.drag_area
    for _ in range(FEWEST_STEPS):
        if not alive.size:
            break
        x, v, k = place[:, alive], velocity[:, alive], half[alive]
        step = np.minimum(FIRST + GROWTH * elapsed[alive], LAYER / np.maximum(np.abs(v[2]), 1.0))
        moved, after, said = _step(x, v, k, bodies.column[alive], air, step)
        above, below = x[2] - ground(x[0], x[1]), moved[2] - ground(moved[0], moved[1])
        landed = below <= 0.0
        share = np.where(landed, np.clip(above / np.maximum(above - below, 1e-9), 0.0, 1.0), 1.0)
        place[:, alive] = x + share * (moved - x)
        velocity[:, alive] = after
        elapsed[alive] += share * step
        speed[alive] = said
        alive = alive[~landed & (elapsed[alive] < LONGEST_FALL)]
    return Landing(place[0], place[1], elapsed, speed)


def _step(
    x: Array, v: Array, half: Array, column: Index, air: AirColumn, step: Array
) -> tuple[Array, Array, Array]:
    """One step of bodies in the air: places, velocities and speeds over the ground."""

    def rate(height: Array, way: Array) -> tuple[Array, Array]:
        north, east, density = air.at(column, height)
        wind = np.stack([north, east, np.zeros_like(north)])
        relative = np.sqrt(((way - wind) ** 2).sum(axis=0))
        return wind, np.maximum(half * density * relative, 1e-9)

    wind, drag = rate(x[2], v)
    tried, way = _settle(v, wind, drag, step)
    wind, drag = rate(x[2] + 0.5 * way[2], 0.5 * (v + tried))
    after, way = _settle(v, wind, drag, step)
    return x + way, after, np.sqrt((after**2).sum(axis=0))
