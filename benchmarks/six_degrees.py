"""A rigid airplane in six degrees of freedom, many at once: the judge's equations of motion.

Nothing here is the product's: plain NumPy, forces and moments written from the textbook, a stall by
a separation point that lags, a tail that stands by itself, an atmosphere by the ISA formula. Axes:
NED earth (moving with the steady wind), FRD body. State rows: u v w p q r, quaternion, north, east,
height, downwash. Source, where none is named: Etkin and Reid (1996), ch. 4 and 5; Stevens and Lewis
(2003), ch. 1, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np

Array = np.ndarray
STEP = 0.04  # s; midpoint rule; the fastest mode of the catalogue has a time constant of 0.15 s
G, R, GAMMA, LAPSE = 9.80665, 287.05287, 1.4, 0.0065  # ISO 2533
ROWS = 14


def air(height: Array, warmer: Array) -> tuple[Array, Array]:
    """Density and speed of sound at a pressure altitude, `warmer` K above standard (ISO 2533)."""
    standard = 288.15 - LAPSE * np.minimum(height, 11000.0)
    pressure = 101325.0 * (standard / 288.15) ** (G / (R * LAPSE))
    warm = standard + warmer
    return pressure / (R * warm), np.sqrt(GAMMA * R * warm)


@dataclass
class Controls:
    """Surfaces, rad, and propulsive force of left and right engine, N; arrays (N,)."""

    elevator: Array
    stabilizer: Array
    tab: Array
    aileron: Array
    rudder: Array
    thrust: Array  # (2, N)
    flap: Array
    gear: Array


@dataclass
class Acting:
    """What a fault does to forces and moments, 0 or 1 where nothing does; arrays (N,)."""

    tail: Array  # share of the tail's lift that is left
    elevator: Array  # share of its effect that is left
    wing: Array  # share of the wing's lift that is left
    roll: Array  # added rolling-moment coefficient
    yaw: Array
    pitch: Array
    lift: Array
    drag: Array
    cg: Array  # m aft
    swirl: Array  # rad/s of rolling air


def idle(n: int) -> Acting:
    """Nothing acts."""
    one, zero = np.ones(n), np.zeros(n)
    return Acting(*(one.copy() for _ in range(3)), *(zero.copy() for _ in range(7)))


def euler(y: Array) -> tuple[Array, Array, Array]:
    """Bank, pitch and heading, rad."""
    e0, e1, e2, e3 = y[6:10]
    bank = np.arctan2(2.0 * (e0 * e1 + e2 * e3), 1.0 - 2.0 * (e1**2 + e2**2))
    pitch = np.arcsin(np.clip(2.0 * (e0 * e2 - e3 * e1), -1.0, 1.0))
    return bank, pitch, np.arctan2(2.0 * (e0 * e3 + e1 * e2), 1.0 - 2.0 * (e2**2 + e3**2))


def quaternion(bank: Array, pitch: Array, heading: Array) -> Array:
    """Of the body in the earth, shape (4, N)."""
    cr, sr = np.cos(0.5 * bank), np.sin(0.5 * bank)
    cp, sp = np.cos(0.5 * pitch), np.sin(0.5 * pitch)
    cy, sy = np.cos(0.5 * heading), np.sin(0.5 * heading)
    return np.stack(
        [
            cr * cp * cy + sr * sp * sy,
            sr * cp * cy - cr * sp * sy,
            cr * sp * cy + sr * cp * sy,
            cr * cp * sy - sr * sp * cy,
        ]
    )


def rotation(y: Array) -> Array:
    """Body to earth, shape (3, 3, N)."""
    e0, e1, e2, e3 = y[6:10]
    return np.array(
        [
            [1 - 2 * (e2**2 + e3**2), 2 * (e1 * e2 - e0 * e3), 2 * (e1 * e3 + e0 * e2)],
            [2 * (e1 * e2 + e0 * e3), 1 - 2 * (e1**2 + e3**2), 2 * (e2 * e3 - e0 * e1)],
            [2 * (e1 * e3 - e0 * e2), 2 * (e2 * e3 + e0 * e1), 1 - 2 * (e1**2 + e2**2)],
        ]
    )


def attached(a: SimpleNamespace, alpha: Array, flap: Array) -> Array:
    """Where the separation point of the wing settles: 1 attached, 0 separated."""
    top = (alpha - a.stall_angle - a.stall_angle_flap * flap) / (0.4 * a.stall_width)
    low = (a.negative_stall_angle - alpha) / (0.4 * a.stall_width)
    return 1.0 / (1.0 + np.exp(np.clip(np.maximum(top, low), -40.0, 40.0)))


def lift_of_wing(a: SimpleNamespace, alpha: Array, flap: Array, apart: Array, mach: Array) -> Array:
    """Lift coefficient without tail deflection.

    Source: Kirchhoff's flow as used by Leishman and Beddoes (1989), from memory:
    CL = CL_alpha ((1 + sqrt X) / 2)^2 (alpha - alpha_0); plate 0.9 sin 2 alpha far beyond.
    """
    ratio = a.compressibility_aspect_ratio
    growth = (2.0 + np.sqrt(4.0 + ratio**2 * (1.0 - a.mach**2))) / (
        2.0 + np.sqrt(4.0 + ratio**2 * (1.0 - np.minimum(mach, 0.85) ** 2))
    )
    line = growth * (a.CL_0 + a.CL_alpha * alpha) + a.CL_flap * flap
    part = np.sqrt(np.clip(apart, 0.0, 1.0))
    share = np.clip((np.abs(alpha) - 0.42) / 0.2, 0.0, 1.0)
    bent = line * (0.5 + 0.5 * part) ** 2
    return (1.0 - share) * bent + share * 0.9 * np.sin(2.0 * alpha)


def rates(
    y: Array, a: SimpleNamespace, control: Controls, acting: Acting, wind: Array, apart: Array
) -> tuple[Array, SimpleNamespace]:
    """Time derivative of the state, and what was felt on the way.

    Args:
        y: State, shape (ROWS, N).
        a: Airframes, with `warmer` K above standard.
        control: Surfaces and thrust.
        acting: What a fault does.
        wind: Gust velocity, NED, m/s, shape (3, N).
        apart: Separation point of the wing, shape (N,).

    Returns:
        Derivative; alpha, beta, speed, pressure, tail angle, load factors, mach.
    """
    turn = rotation(y)
    through = y[0:3] - np.einsum("jin,jn->in", turn, wind)
    speed = np.maximum(np.sqrt((through**2).sum(axis=0)), 8.0)
    alpha = np.arctan2(through[2], through[0])
    beta = np.arcsin(np.clip(through[1] / speed, -1.0, 1.0))
    density, sound = air(y[12], a.warmer)
    pressure, mach = 0.5 * density * speed**2, speed / sound
    p, q, r = y[3] - acting.swirl, y[4], y[5]
    c, b = a.mean_chord, a.span
    ph, qh, rh = p * b / (2 * speed), q * c / (2 * speed), r * b / (2 * speed)
    flap, deflection = control.flap, control.elevator * acting.elevator
    fast = np.maximum(pressure / a.fast_pressure - 1.0, 0.0)
    deflection = deflection / (1.0 + a.fade * fast)
    tail_angle = np.arctan2(np.sin(alpha), np.cos(alpha)) - a.downwash_0 - y[13]
    tail_angle = tail_angle - a.downwash_flap * flap + control.stabilizer + q * a.tail_arm / speed
    bent = np.clip(tail_angle, -0.26, 0.26) + 0.3 * np.clip(
        tail_angle - np.clip(tail_angle, -0.26, 0.26), -0.3, 0.3
    )
    by_tail = acting.tail * (a.Cm_stabilizer * bent + a.Cm_elevator * deflection)
    still = a.Cm_stabilizer * ((1.0 - a.downwash_alpha) * alpha - a.downwash_0)
    lost = (1.0 - acting.tail) * still * c / a.tail_arm  # lift that goes with the tail
    moved = acting.tail * (
        a.CL_elevator * deflection + a.CL_stabilizer * control.stabilizer + a.CL_q * qh
    )
    lift = lift_of_wing(a, alpha, flap, apart, mach) * acting.wing + moved + lost
    lift = lift + a.CL_tab * control.tab + acting.lift
    torn = 1.0 - apart
    wave = 20.0 * np.maximum(mach - a.critical_mach, 0.0) ** 4
    drag = a.CD_0 + a.CD_lift * lift**2 + a.CD_flap * flap + a.CD_gear * control.gear + wave
    drag = drag + torn * (0.02 + a.CD_plate * np.sin(alpha) ** 2) + acting.drag + 0.4 * beta**2
    force = pressure * a.wing_area
    ca, sa = np.cos(alpha), np.sin(alpha)
    normal = lift * ca + drag * sa
    X, Z = force * (lift * sa - drag * ca), -force * normal
    tilt = np.sin(beta) * np.cos(beta)
    Y = force * (
        a.CY_beta * tilt + a.CY_p * ph + a.CY_r * rh + a.CY_rudder * control.rudder * acting.tail
    )
    alive, wide = 0.35 + 0.65 * apart, apart - 0.15 * torn
    roll = a.Cl_beta * tilt + a.Cl_p * ph * wide + a.Cl_r * rh + a.Cl_rudder * control.rudder
    roll = roll + a.Cl_aileron * control.aileron * alive + acting.roll + a.drop * torn + a.lean
    yaw = a.Cn_beta * tilt + a.Cn_p * ph + a.Cn_r * rh + a.Cn_aileron * control.aileron
    yaw = yaw + a.Cn_rudder * control.rudder + acting.yaw + 0.3 * a.drop * torn
    bow = 0.5 * np.sin(2.0 * alpha)
    pitch = a.Cm_0_body + a.Cm_alpha_body * bow + a.Cm_q_body * qh + by_tail + a.Cm_flap * flap
    pitch = pitch + a.Cm_stall * torn + acting.pitch + a.Cm_tab * control.tab
    behind = a.cg_station + acting.cg - a.moment_station
    below = a.moment_depth - a.cg_depth
    L = force * b * roll - below * Y
    M = force * c * pitch - behind * Z + below * X
    N = force * b * yaw + behind * Y
    push = control.thrust.sum(axis=0)
    M = M + (a.engine_depth - a.cg_depth) * push
    N = N + a.engine_side * (control.thrust[0] - control.thrust[1])
    ax, ay, az = (X + push) / a.mass, Y / a.mass, Z / a.mass
    u, v, w = y[0:3]
    p, q, r = y[3:6]
    down = turn[2]  # third row: earth's down in body axes
    found = np.empty_like(y)
    found[0] = ax + G * down[0] + r * v - q * w
    found[1] = ay + G * down[1] + p * w - r * u
    found[2] = az + G * down[2] + q * u - p * v
    Ix, Iy, Iz, J = a.roll_inertia, a.pitch_inertia, a.yaw_inertia, a.cross_inertia
    L = L - q * r * (Iz - Iy) + J * p * q
    N = N - p * q * (Iy - Ix) - J * q * r
    share = Ix * Iz - J**2
    found[3] = (Iz * L + J * N) / share
    found[4] = (M - p * r * (Ix - Iz) - J * (p**2 - r**2)) / Iy
    found[5] = (Ix * N + J * L) / share
    e0, e1, e2, e3 = y[6:10]
    found[6] = -0.5 * (e1 * p + e2 * q + e3 * r)
    found[7] = 0.5 * (e0 * p + e2 * r - e3 * q)
    found[8] = 0.5 * (e0 * q + e3 * p - e1 * r)
    found[9] = 0.5 * (e0 * r + e1 * q - e2 * p)
    ground = np.einsum("ijn,jn->in", turn, y[0:3])
    standard = 288.15 - LAPSE * np.minimum(y[12], 11000.0)
    found[10], found[11] = ground[0], ground[1]
    found[12] = -ground[2] * standard / (standard + a.warmer)  # of pressure altitude
    found[13] = (a.downwash_alpha * alpha * apart - y[13]) * speed / a.tail_arm
    felt = SimpleNamespace(
        alpha=alpha,
        beta=beta,
        speed=speed,
        pressure=pressure,
        mach=mach,
        density=density,
        tail_angle=tail_angle,
        load=-(az * ca - ax * sa) / G,  # across the flight path, as a track shows it
        along=ax / G,
        across=ay / G,
        ground=ground,
    )
    return found, felt


def advance(
    y: Array, a: SimpleNamespace, control: Controls, acting: Acting, wind: Array, apart: Array
) -> tuple[Array, Array, SimpleNamespace]:
    """One step of the midpoint rule; the separation point follows within 8 chords of flight."""
    first, felt = rates(y, a, control, acting, wind, apart)
    middle = y + 0.5 * STEP * first
    second, _ = rates(middle, a, control, acting, wind, apart)
    new = y + STEP * second
    new[6:10] /= np.sqrt((new[6:10] ** 2).sum(axis=0))
    settled = attached(a, felt.alpha, control.flap)
    apart = apart + (settled - apart) * (1.0 - np.exp(-STEP * felt.speed / (8.0 * a.mean_chord)))
    return new, apart, felt


def thrust(a: SimpleNamespace, lever: Array, speed: Array, density: Array, mach: Array) -> Array:
    """Force of one engine at a share of its power, N.

    Source: momentum theory of an ideal disc (Glauert); Gagg and Ferrar (1934) for a piston engine,
    from memory; density to a power for turbines.
    """
    thin = density / 1.225
    rest = np.where(
        a.piston, 1.132 * thin - 0.132, np.minimum(1.0, a.flat_rating * thin**a.altitude_exponent)
    )
    out = a.rating * rest * lever
    jet = out * (1.0 + a.mach_slope * mach + a.mach_curve * mach**2)
    power = np.where(a.fan, 0.0, a.propeller_efficiency * out)
    found = power / (speed + 6.0)
    for _ in range(6):
        inflow = -0.5 * speed + np.sqrt(0.25 * speed**2 + found / (2.0 * density * a.disc_area))
        found = 0.5 * found + 0.5 * power / (speed + inflow)
    return np.where(a.fan, jet, found)


def column_need(
    a: SimpleNamespace, felt: SimpleNamespace, elevator: Array, tab: Array
) -> tuple[Array, Array]:
    """Pull that holds an elevator angle, N, and its growth with trailing edge up, N/rad."""
    area = a.gearing * a.elevator_area * a.elevator_chord * felt.pressure * a.tail_pressure_ratio
    hinge = a.Ch_0 + a.Ch_alpha * felt.tail_angle + a.Ch_elevator * elevator + a.Ch_tab * tab
    need = area * hinge + a.spring + a.spring_rate * elevator + a.bobweight * felt.load
    return need, np.maximum(-area * a.Ch_elevator - a.spring_rate, 20.0)
