"""Steady starts of the judge's flights: the trimmed airplane with nobody's hand on the column."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from six_degrees import (
    ROWS,
    Array,
    Controls,
    G,
    air,
    attached,
    column_need,
    idle,
    quaternion,
    rates,
    thrust,
)


def stall_speed(a: SimpleNamespace, height: Array) -> Array:
    """True airspeed at which a wing at its stalling angle carries the weight, m/s."""
    density, _ = air(height, a.warmer)
    most = 0.86 * (a.CL_0 + a.CL_alpha * (a.stall_angle + a.stall_angle_flap * a.flap))
    most = most + 0.86 * a.CL_flap * a.flap
    return np.sqrt(2.0 * a.mass * G / (density * a.wing_area * most))


def trimmed(
    a: SimpleNamespace, speed: Array, path: Array, height: Array, heading: Array
) -> tuple[Array, Controls, Array]:
    """Wings level, unaccelerated, no force on the column.

    Newton's rule by differences for alpha, trim and thrust, with the elevator where it floats.

    Returns:
        State, controls, and the share of power of each engine that makes the thrust.
    """
    n, flapped = speed.size, a.flap
    x = np.stack([np.full(n, 0.05), np.zeros(n), a.mass * G * (0.07 + path)])
    size = np.stack([np.full(n, 1e-4), np.full(n, 1e-4), a.mass * G * 1e-4])

    def flown(x: Array) -> tuple[Array, Array, Controls]:
        alpha, trim, push = x
        y = np.zeros((ROWS, n))
        y[0], y[2], y[12] = speed * np.cos(alpha), speed * np.sin(alpha), height
        y[6:10] = quaternion(np.zeros(n), path + alpha, heading)
        y[13] = a.downwash_alpha * alpha
        zero = np.zeros(n)
        stabilizer = np.where(a.moving_tail, trim, 0.0)
        tab = np.where(a.moving_tail, 0.0, -trim * 4.0)
        share = np.where(a.twin, 0.5, 1.0)
        forces = np.stack([push * share, push * (1.0 - share)])
        control = Controls(zero, stabilizer, tab, zero, zero, forces, flapped, a.gear)
        apart = attached(a, alpha, flapped)
        _, felt = rates(y, a, control, idle(n), np.zeros((3, n)), apart)
        need, stiff = column_need(a, felt, zero, tab)
        control.elevator = np.clip(need / stiff, a.elevator_min, a.elevator_max)
        change, _ = rates(y, a, control, idle(n), np.zeros((3, n)), apart)
        return np.stack([change[0], change[2], change[4]]), y, control

    for _ in range(12):
        miss, _, _ = flown(x)
        slope = np.empty((n, 3, 3))
        for k in range(3):
            ahead = x.copy()
            ahead[k] += size[k]
            slope[:, :, k] = ((flown(ahead)[0] - miss) / size[k]).T
        x = x - np.linalg.solve(slope, miss.T[:, :, None])[:, :, 0].T
        x[0] = np.clip(x[0], -0.15, 0.3)
        x[1] = np.clip(x[1], -0.3, 0.3)
    _, y, control = flown(x)
    density, sound = air(height, a.warmer)
    low, high = np.zeros(n), np.full(n, 1.6)
    for _ in range(30):
        lever = 0.5 * (low + high)
        both = thrust(a, lever, speed, density, speed / sound) * np.where(a.twin, 2.0, 1.0)
        low, high = np.where(both < x[2], lever, low), np.where(both < x[2], high, lever)
    return y, control, lever
