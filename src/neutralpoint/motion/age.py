"""How far the altitudes lag the positions, from the energy of the flight.

An altitude that comes late shows the path angle of a moment ago. Whenever the path bends, the
along-path specific force computed from it swings by age times the rate of the path angle, although
thrust and drag hardly changed. The age that leaves the steadiest along-path force, once the drag
due to lift is taken off, is the age of the altitudes.
"""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter1d

from neutralpoint.earth import atmosphere
from neutralpoint.earth.weather import Weather
from neutralpoint.motion.lift import LiftData
from neutralpoint.motion.parameter import ParameterEstimate, estimated
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GRAVITY

AGES = np.arange(-1.0, 4.01, 0.1)  # s, searched
# Before the energy is looked at: static line, encoder and air data computer. Analyst's estimate.
PRIOR = ParameterEstimate(0.4, 0.6)
SLOW = 10.0  # s: what changes slower than this may be thrust or configuration
# Between independent values of the along-path force, s: no less, no more. It is twice the area
# under their correlation: a slow record, and thrust that wanders, leave few independent values.
MEMORY = (2.0, 30.0)
CHANGE = 0.03  # g, half width of the Cauchy law of its quick changes. Analyst's estimate.
MODEL_SIGMA = 0.15  # s, by which a drag due to lift that is off by a third moves the answer
ASPECT_RATIO, OSWALD = 8.0, 0.8  # where the airplane does not say. Analyst's estimate.


def along_path_force(
    horizontal: Array, vertical: Array, weather: Weather, lift: LiftData
) -> tuple[Array, Array]:
    """Along-path load factor and the part of it that the drag due to lift explains.

    Args:
        horizontal: Mean states (pn, vn, an, pe, ve, ae), shape (m, 6).
        vertical: Mean states (H, H', H'', ...), shape (m, >= 3).
        weather: Wind and temperature.
        lift: Mass and wing.

    Returns:
        Load factor along the path and minus the induced drag over the weight, each shape (m,).

    Source: induced drag C_L^2/(pi A e) (lifting-line theory).
    """
    north, east, temperature = weather.at(vertical[:, 0])
    velocity = np.stack(
        [horizontal[:, 1] - north, horizontal[:, 4] - east, vertical[:, 1]], axis=-1
    )
    force = np.stack([horizontal[:, 2], horizontal[:, 5], vertical[:, 2] + GRAVITY], axis=-1)
    speed = np.maximum(np.linalg.norm(velocity, axis=-1), 10.0)
    along = (force * velocity).sum(axis=-1) / speed / GRAVITY
    normal_squared = np.maximum((force**2).sum(axis=-1) / GRAVITY**2 - along**2, 0.0)
    density = atmosphere.density(atmosphere.pressure(vertical[:, 0]), temperature)
    level_lift = lift.mass * GRAVITY / (0.5 * density * speed**2 * lift.wing_area)
    aspect = lift.aspect_ratio or ASPECT_RATIO
    return along, -level_lift * normal_squared / (np.pi * aspect * OSWALD)


def memory(values: Array, step: float) -> float:
    """Time between independent values of a series.

    Args:
        values: Shape (m,), mean near 0.
        step: s.

    Returns:
        s, within `MEMORY`.

    Source: integrated autocorrelation time, up to the first correlation below nought.
    """
    bounded = np.clip(values, -3.0 * CHANGE, 3.0 * CHANGE)
    square = float((bounded**2).mean())
    if square <= 0.0:
        return MEMORY[0]
    total, lag = 1.0, 1
    while lag < min(values.size // 2, round(MEMORY[1] / step)):
        correlation = float((bounded[lag:] * bounded[:-lag]).mean()) / square
        if correlation <= 0.0:
            break
        total, lag = total + 2.0 * correlation, lag + 1
    return float(np.clip(total * step, *MEMORY))


def altitude_age(
    horizontal: Array, vertical: Array, *, weather: Weather, lift: LiftData, step: float
) -> ParameterEstimate:
    """Age of the altitudes against the positions.

    Args:
        horizontal: Mean states, shape (m, 6).
        vertical: Mean states, shape (m, 5).
        weather: Wind and temperature.
        lift: Mass and wing.
        step: Grid step, s.

    Returns:
        Age with its standard deviation, s; the prior where the path hardly bends.

    Valid: wings near level or turning steadily; thrust changes slower than `SLOW`.
    Checked against: recorded flights (benchmarks/motion_on_recorded_flights.py) and simulation.
    """
    grid = np.arange(horizontal.shape[0]) * step
    misfits, left = [], []
    for age in AGES:
        moved = np.stack([np.interp(grid + age, grid, vertical[:, i]) for i in range(3)], axis=-1)
        along, induced = along_path_force(horizontal, moved, weather, lift)
        unexplained = along - induced
        quick = unexplained - gaussian_filter1d(unexplained, SLOW / step, mode="nearest")
        left.append(quick)
        misfits.append(float(np.log1p((quick / CHANGE) ** 2).sum()))
    best = left[int(np.argmin(misfits))]
    posterior = (
        -step / memory(best, step) * np.array(misfits)
        - 0.5 * ((AGES - PRIOR.value) / PRIOR.sigma) ** 2
    )
    found = estimated(AGES, posterior)
    return ParameterEstimate(found.value, float(np.hypot(found.sigma, MODEL_SIGMA)))
