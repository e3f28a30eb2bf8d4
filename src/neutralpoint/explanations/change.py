"""The airplane, its controls and its air with the effect of a cause in force."""

from __future__ import annotations

import dataclasses

import jax.numpy as jnp

from neutralpoint.airplane.model import (
    Airplane,
    LateralAerodynamics,
    LongitudinalAerodynamics,
    PitchControl,
)
from neutralpoint.dynamics.state import Gust
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.cause import Effect
from neutralpoint.quantities import SEA_LEVEL_DENSITY

BUFFET = 3.0  # m/s
# Hand and foot in roll and yaw, analyst's: speed of the bank loop, rad/s; rudder stiffening as a
# multiple of the fin's; most aileron and rudder, rad. Delay there is left out.
BANK_LOOP, FEET, MOST_AILERON, MOST_RUDDER = 0.6, 2.0, 0.3, 0.35


def _is(value: Scalar, default: float) -> bool:
    """Whether a number is known to be the default while tracing, so that it costs nothing."""
    return isinstance(value, (int, float)) and value == default


def nose_down_sign(airplane: Airplane) -> Scalar:
    """Sign of the trim surface's angle that turns the nose down with the column let go.

    With a reversible elevator the tab acts by moving the elevator: d(de) = -Ch_tab / Ch_elevator.
    Source: zero column force in `airplane.model.PitchControl`.

    Args:
        airplane: With its trim drive.

    Returns:
        1 or -1 (0 without a trim drive).
    """
    lon, control = airplane.longitudinal, airplane.pitch_control
    kind = airplane.trim_drive.kind
    if kind == "none":
        return 0.0
    own = lon.Cm_stabilizer if kind == "stabilizer" else lon.Cm_tab
    if control.reversible:
        hinge = control.Ch_alpha if kind == "stabilizer" else control.Ch_tab
        # Let go, the elevator floats to where no hinge moment is left, and adds a moment of its
        # own.
        own = own - lon.Cm_elevator * hinge / control.Ch_elevator
    return -jnp.sign(own)


def _stall(lon: LongitudinalAerodynamics, effect: Effect) -> LongitudinalAerodynamics:
    if not _is(effect.lift_limit, 1.0):
        lon = dataclasses.replace(
            lon,
            stall_angle=lon.stall_angle * effect.lift_limit,
            negative_stall_angle=lon.negative_stall_angle * effect.lift_limit,
        )
    if not _is(effect.drag, 1.0):
        lon = dataclasses.replace(lon, CD_0=lon.CD_0 * effect.drag)
    return lon


def _tail_stall(control: PitchControl, lon, share: Scalar):
    """Take a share of the tailplane's lift away, wherever it enters.

    Tail incidence = alpha + ih - downwash, and the derivatives to the stabilizer are those of the
    tail: Etkin and Reid (1996), section 2.3. Pitch damping is the tail's almost alone, same source.
    """
    changed = {}
    # The stabilizer's derivatives are those of the tail; by its incidence, alpha + ih - e, it
    # enters the others too.
    for c in ("CL", "Cm"):
        slope = getattr(lon, f"{c}_stabilizer")
        lost = -share * slope
        changed |= {
            f"{c}_0": getattr(lon, f"{c}_0") - lost * control.downwash_0,
            f"{c}_alpha": getattr(lon, f"{c}_alpha") + lost * (1.0 - control.downwash_alpha),
            f"{c}_flap": getattr(lon, f"{c}_flap") - lost * control.downwash_flap,
        }
        # These are taken to come from the tail alone.
        for name in ("stabilizer", "elevator", "q", "alphadot"):
            changed[f"{c}_{name}"] = getattr(lon, f"{c}_{name}") * (1.0 - share)
    return dataclasses.replace(lon, **changed)


def _wing_loss(lon, control: PitchControl, share: Scalar):
    """Take a share of the wing's lift away, and of the downwash that it leaves at the tail.

    The wing's part is the whole less the tail's: Etkin and Reid (1996), section 2.3.
    """
    left = 1.0 - share
    changed = {}
    for c in ("CL", "Cm"):
        tail = getattr(lon, f"{c}_stabilizer")
        by_tail = {
            f"{c}_0": -tail * control.downwash_0,
            f"{c}_alpha": tail * (1.0 - control.downwash_alpha),
            f"{c}_flap": -tail * control.downwash_flap,
        }
        # What the tail gives with less downwash; the wing keeps a share of the rest.
        after = {
            f"{c}_0": left * by_tail[f"{c}_0"],
            f"{c}_alpha": tail * (1.0 - left * control.downwash_alpha),
            f"{c}_flap": left * by_tail[f"{c}_flap"],
        }
        for name, part in by_tail.items():
            changed[name] = left * (getattr(lon, name) - part) + after[name]
    wash = {
        f"downwash_{n}": left * getattr(control, f"downwash_{n}") for n in ("0", "alpha", "flap")
    }
    return dataclasses.replace(lon, **changed), dataclasses.replace(control, **wash)


def _autorotation(lat: LateralAerodynamics, factor: Scalar) -> LateralAerodynamics:
    return dataclasses.replace(lat, Cl_p=lat.Cl_p * factor)


def changed_airplane(
    airplane: Airplane, effect: Effect, *, elevator: Scalar, stalled: Scalar
) -> Airplane:
    """The airplane as the cause leaves it.

    Args:
        airplane: Before.
        effect: Of the cause.
        elevator: Elevator at the start, rad: what a jam is measured from.
        stalled: 1 beyond the stall, 0 else.

    Returns:
        The airplane.
    """
    lon, control, lat = airplane.longitudinal, airplane.pitch_control, airplane.lateral
    lon = _stall(lon, effect)
    if not _is(effect.wing_loss, 0.0):
        lon, control = _wing_loss(lon, control, effect.wing_loss)
    if not _is(effect.tail_loss, 0.0):
        lon = _tail_stall(control, lon, effect.tail_loss)
    if not _is(effect.hinge, 0.0):
        control = dataclasses.replace(control, Ch_0=control.Ch_0 + effect.hinge)
    if not _is(effect.jammed, 0.0):
        # Both stops at one angle: whatever is pulled, the elevator stays.
        stuck, angle = effect.jammed > 0.0, elevator + effect.jam_angle
        control = dataclasses.replace(
            control,
            elevator_min=jnp.where(stuck, angle, control.elevator_min),
            elevator_max=jnp.where(stuck, angle, control.elevator_max),
        )
    if not _is(effect.roll_damping, 1.0):
        lat = _autorotation(lat, 1.0 + stalled * (effect.roll_damping - 1.0))
    return dataclasses.replace(airplane, longitudinal=lon, pitch_control=control, lateral=lat)


def speed_used(airplane: Airplane, density: Scalar, speed: Scalar) -> Scalar:
    """Equivalent airspeed over the never-exceed speed.

    Source: definition, see `limits_passed`.

    Args:
        airplane: Gives the limit.
        density: kg/m3.
        speed: True airspeed, m/s.

    Returns:
        1 at the limit.
    """
    return speed * jnp.sqrt(density / SEA_LEVEL_DENSITY) / airplane.limits.never_exceed_speed


def buffet(airplane: Airplane, density: Scalar, speed: Scalar) -> Scalar:
    """Gusts that shake as buffet beyond the never-exceed speed does, standard deviation, m/s.

    Source: analyst's estimate, no published law: `BUFFET` at twice the dynamic pressure.

    Args:
        airplane: Gives the limit.
        density: kg/m3.
        speed: True airspeed, m/s.

    Returns:
        m/s; 0 within the limit.
    """
    return BUFFET * jnp.maximum(speed_used(airplane, density, speed) ** 2 - 1.0, 0.0)


def limits_passed(
    airplane: Airplane, density: Scalar, speed: Scalar, load_factor: Scalar
) -> Scalar:
    """How far the limits are used: speed over never-exceed speed, load factor over its limit.

    Source: definitions; the never-exceed speed counts as an equivalent airspeed, which it is within
    3% up to 20,000 ft and 300 kt.

    Args:
        airplane: Gives the limits.
        density: kg/m3.
        speed: True airspeed, m/s.
        load_factor: Across the path.

    Returns:
        The larger of the two; 1 at a limit.
    """
    limits = airplane.limits
    fast = speed_used(airplane, density, speed)
    # A negative load over its negative limit is positive: one number says how far.
    limit = jnp.where(load_factor > 0.0, limits.load_factor_max, limits.load_factor_min)
    return jnp.maximum(fast, load_factor / limit)


def wind_change(effect: Effect, pitch: Scalar) -> Gust:
    """Tailwind and downdraught of a cause as velocity of the air in body axes, wings level.

    Source: rotation by the pitch angle.

    Args:
        effect: Of the cause.
        pitch: rad.

    Returns:
        The gust.
    """
    c, s = jnp.cos(pitch), jnp.sin(pitch)
    return Gust(
        forward=effect.tailwind * c - effect.downdraught * s,
        downward=effect.tailwind * s + effect.downdraught * c,
    )


def level_wings(
    airplane: Airplane, *, bank: Scalar, roll_rate: Scalar, sin_beta: Scalar, speed: Scalar
) -> tuple[Scalar, Scalar]:
    """Aileron and rudder of somebody who keeps the wings level and the ball centred.

    Source: steady roll rate per aileron, p = -(2V/b) Cl_aileron / Cl_p, Etkin and Reid (1996),
    section 7.8; gains are analyst's estimates.

    Args:
        airplane: Gives the gains.
        bank: rad.
        roll_rate: rad/s.
        sin_beta: Sine of the sideslip.
        speed: m/s.

    Returns:
        rad, rad.
    """
    a = airplane.lateral
    power = 2.0 * speed / airplane.geometry.span * a.Cl_aileron
    # Without ailerons, or below without a rudder, none is asked for.
    power = jnp.where(power == 0.0, jnp.inf, power)
    aileron = (-BANK_LOOP * bank - 0.5 * roll_rate) * -a.Cl_p / power
    rudder_power = jnp.where(jnp.asarray(a.Cn_rudder) == 0.0, jnp.inf, a.Cn_rudder)
    rudder = FEET * a.Cn_beta * sin_beta / rudder_power
    return (
        jnp.clip(aileron, -MOST_AILERON, MOST_AILERON),
        jnp.clip(rudder, -MOST_RUDDER, MOST_RUDDER),
    )
