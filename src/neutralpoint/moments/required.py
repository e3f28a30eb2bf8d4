"""The pitching moment that the motion took, and what each control or load alone would have needed.

The equations of motion are run backwards. Load factor and speed give the lift coefficient, that
gives the angle of attack, its rates give the pitch acceleration, and what is left over of the
moment is what the pitch controls supplied. Only the change since the last trimmed flight is used:
the unknown zero-lift moment and setting drop out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import jax.numpy as jnp
import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane.uncertainty import POWER_ARM
from neutralpoint.dynamics import aerodynamics
from neutralpoint.dynamics.aerodynamics import Flow
from neutralpoint.dynamics.column import column_pull, hinge_force
from neutralpoint.dynamics.propulsion import all_thrust
from neutralpoint.dynamics.state import Inputs, make_inputs
from neutralpoint.moments.flight import MotionFlight, rates
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import GRAVITY

ROUNDS = 5  # of the fixed point between lift, drag and moment; the change is then below 1e-4 rad
LEAST_LOAD = 0.15  # load factor below which a CG shift has no moment to work with
STALLED = 0.05  # share of paths beyond the stall from which nothing is concluded; analyst's


@dataclass(frozen=True)
class Configuration:
    """How the airplane stood: flap and gear, 0 (up) to 1 (down)."""

    flap: float = 0.0
    gear: float = 0.0


@dataclass(frozen=True)
class Powers:
    """What each surface does, shape (S, m); moments at constant lift.

    Attributes:
        elevator: Moment coefficient per rad.
        stabilizer: Per rad, the elevator floating with the column free; NaN where it does not move.
        tab: The same for the tab.
        pull: Column pull per rad of elevator, N/rad (negative: trailing edge up is pulled).
    """

    elevator: Array
    stabilizer: Array
    tab: Array
    pull: Array


@dataclass(frozen=True)
class Required:
    """What it took, as sample paths of shape (S, m).

    Attributes:
        time: s, shape (m,).
        trimmed: True in the last trimmed flight, shape (m,).
        angle_of_attack: rad.
        lift_coefficient: Total.
        pitch_rate: rad/s.
        moment_coefficient: Change of the pitching moment coefficient since trimmed flight.
        moment: The same in N m.
        elevator: Change of elevator angle that alone supplies it, rad.
        column_force: Pull that holds that elevator with the trim as it was, N.
        standing_coefficient: Change of moment coefficient that a cause other than the hands had to
            supply if nobody touched the column; with a reversible elevator that one floats.
        stabilizer: Change of stabilizer angle that supplies it with the column free, rad; NaN
            without a moving stabilizer.
        tab: Change of tab angle that supplies it with the column free, rad; NaN without a tab.
        cg_shift: Aft shift of the centre of gravity that supplies it with the column free, m; NaN
            near n = 0.
        shift_effect: Moment coefficient of a metre of aft shift, also near n = 0.
        thrust: Net thrust along the path, N.
        stall_margin: Angle of attack left to the nearer stall, rad.
        power: What each surface does.
        setting: Stabilizer or tab angle in the last trimmed flight, rad, shape (S,); NaN without.
    """

    time: Array
    trimmed: Flags
    angle_of_attack: Array
    lift_coefficient: Array
    pitch_rate: Array
    moment_coefficient: Array
    moment: Array
    elevator: Array
    column_force: Array
    standing_coefficient: Array
    stabilizer: Array
    tab: Array
    cg_shift: Array
    shift_effect: Array
    thrust: Array
    stall_margin: Array
    power: Powers
    setting: Array

    @property
    def stalled(self) -> Flags:
        """True where more than a twentieth of the paths lie beyond the stall, shape (m,)."""
        return (self.stall_margin < 0.0).mean(axis=0) > STALLED


@dataclass(frozen=True)
class _Inverse:
    """Attitude and loads that the motion implies before any control is moved."""

    flow: Flow
    alpha: Array
    pitch_rate: Array
    alpha_rate: Array
    pitch_acceleration: Array
    lift: Array
    thrust: Array
    moment: Array  # coefficient that the controls must supply


def make_flow(flight: MotionFlight, alpha: Array, pitch_rate: Array) -> Flow:
    """The flow about the airplane along the sample paths, without sideslip.

    Args:
        flight: Sample paths.
        alpha: Angle of attack, rad, shape (S, m).
        pitch_rate: rad/s, shape (S, m).

    Returns:
        The flow, of shape (S, m).
    """
    return Flow(
        speed=flight.true_airspeed,
        plane_speed=flight.true_airspeed,
        alpha=alpha,
        sin_alpha=np.sin(alpha),
        cos_alpha=np.cos(alpha),
        sin_beta=np.zeros_like(alpha),
        density=flight.density,
        mach=flight.mach,
        pressure=flight.dynamic_pressure,
        rates=(np.zeros_like(alpha), pitch_rate, np.zeros_like(alpha)),
    )


def thrust_bounds(airplane: Airplane, flow: Flow) -> tuple[Array, Array]:
    """Thrust of all engines at idle, propellers turning, and at full lever.

    What a path needs beyond either is drag, or the error of its along-path acceleration: no engine
    turns it into a pitching moment.

    Args:
        airplane: Leaves scalar or (S, 1).
        flow: Of shape (S, m).

    Returns:
        N, each (S, m).
    """
    inputs, engines = make_inputs(airplane), len(airplane.engines)
    idle, full = (
        np.asarray(all_thrust(airplane, flow, (np.asarray(lever),) * engines, inputs)[2])
        for lever in (0.0, 1.0)
    )
    shape = np.shape(flow.alpha)
    return np.broadcast_to(idle, shape), np.broadcast_to(full, shape)


def _thrust_arm(airplane: Airplane) -> Array:
    """Moment arm of the total thrust about the CG, m, nose-up positive: mean over the engines."""
    depth = jnp.mean(jnp.stack([jnp.asarray(e.depth) + 0.0 for e in airplane.engines]), axis=0)
    return np.asarray(depth - airplane.mass.cg_depth)


def _invert(airplane: Airplane, flight: MotionFlight, inputs: Inputs, window: float) -> _Inverse:
    """Fixed point of lift, drag, thrust and angle of attack."""
    geometry, mass = airplane.geometry, airplane.mass
    area_pressure = flight.dynamic_pressure * np.asarray(geometry.wing_area)
    weight = np.asarray(mass.mass) * GRAVITY
    slope = np.asarray(airplane.longitudinal.CL_alpha)
    alpha = np.zeros_like(flight.true_airspeed)
    pitch_rate = flight.path_rate
    alpha_rate = pitch_acceleration = lift = thrust = np.zeros_like(alpha)
    flow, CD = make_flow(flight, alpha, pitch_rate), np.zeros_like(alpha)
    static = np.zeros_like(alpha)
    for _ in range(ROUNDS):
        flow = make_flow(flight, alpha, pitch_rate)
        CL, Cm, stalled = aerodynamics.lift_and_moment(airplane, flow, inputs)
        CD = np.asarray(aerodynamics.drag(airplane.longitudinal, flow, lift, stalled, inputs))
        thrust = area_pressure * CD + weight * flight.longitudinal_load_factor
        lift = (weight * flight.normal_load_factor - thrust * np.sin(alpha)) / area_pressure
        factor = np.asarray(aerodynamics.compressibility(airplane.longitudinal, flight.mach))
        # With the slope of the attached wing: past the stall it goes slowly, and the clip below
        # keeps it from running away.
        miss = lift - np.asarray(CL.at(0.0, alpha_rate))
        alpha = np.clip(alpha + miss / (factor * slope), -0.6, 0.9)
        alpha_rate, _ = rates(alpha, flight.step, window)
        static = np.asarray(Cm.at(0.0, alpha_rate))
        turned, bend = rates(alpha - flight.gust_angle, flight.step, window)
        path_bend, _ = rates(flight.path_rate, flight.step, window)
        pitch_rate = flight.path_rate + turned
        pitch_acceleration = path_bend + bend
    chord = np.asarray(geometry.mean_chord)
    drag_and_lift = lift * np.cos(alpha) + CD * np.sin(alpha)
    arm = (np.asarray(mass.cg_station) - np.asarray(geometry.moment_station)) / chord
    height = (np.asarray(geometry.moment_depth) - np.asarray(mass.cg_depth)) / chord
    along = lift * np.sin(alpha) - CD * np.cos(alpha)
    aerodynamic = static + arm * drag_and_lift + height * along
    idle, full = thrust_bounds(airplane, flow)
    engine = np.clip(thrust, idle, full) * _thrust_arm(airplane) / (area_pressure * chord)
    inertia = np.asarray(mass.pitch_inertia) * pitch_acceleration / (area_pressure * chord)
    return _Inverse(
        make_flow(flight, alpha, pitch_rate),
        alpha,
        pitch_rate,
        alpha_rate,
        pitch_acceleration,
        lift,
        thrust,
        inertia - aerodynamic - engine,
    )


def _power(airplane: Airplane, factor: Array, moment: str, lift: str) -> Array:
    """Moment per rad of a surface at constant total lift: the wing gives way to the tail's lift."""
    lon = airplane.longitudinal
    per_lift = np.asarray(lon.Cm_alpha) / np.asarray(lon.CL_alpha)
    return factor * (np.asarray(getattr(lon, moment)) - np.asarray(getattr(lon, lift)) * per_lift)


def _about_trimmed(values: Array, trimmed: Flags) -> Array:
    """Change since the mean of the trimmed flight, path by path."""
    return values - values[:, trimmed].mean(axis=1, keepdims=True)


def required_moment(
    airplane: Airplane,
    flight: MotionFlight,
    trimmed: Flags,
    *,
    window: float,
    configuration: Configuration = Configuration(),
) -> Required:
    """Run the equations of motion backwards along every sample path.

    Args:
        airplane: The airplane with drawn multipliers, its leaves scalars or of shape (S, 1).
        flight: Sample paths.
        trimmed: True in the last trimmed flight, shape (m,).
        window: Smoothing window of the rates, s.
        configuration: Flap and gear.

    Returns:
        What it took.

    Source: Iy q' = q S c Cm_total about the CG, Etkin and Reid (1996), eq. 4.5,9 with p = r = 0;
    powers at constant lift as in their section 2.4, the free elevator as in their section 2.7;
    force from `dynamics.column`, friction left out.
    Valid: wings near level or turning steadily, below the stall.
    Checked against: tests/recovery/test_moments.py (the flight model flown forwards),
    tests/against/test_moments_published.py (a published set in closed form),
    tests/recovery/test_moments_recorded.py (recorded elevator and stick force).
    """
    inputs = make_inputs(airplane, flap=configuration.flap, gear=configuration.gear)
    inverse = _invert(airplane, flight, inputs, window)
    change = _about_trimmed(inverse.moment, trimmed)
    geometry = airplane.geometry
    scale = (
        flight.dynamic_pressure * np.asarray(geometry.wing_area) * np.asarray(geometry.mean_chord)
    )
    power = _powers(airplane, flight, inverse.flow, inputs)
    elevator = change / power.elevator
    force = _force(airplane, inverse, inputs, elevator, power, trimmed)
    shift = _shift_effect(airplane, inverse)
    standing = force / power.pull * power.elevator if airplane.pitch_control.reversible else change
    return Required(
        time=flight.time,
        trimmed=trimmed,
        angle_of_attack=inverse.alpha,
        lift_coefficient=inverse.lift,
        pitch_rate=inverse.pitch_rate,
        moment_coefficient=change,
        moment=change * scale,
        standing_coefficient=standing,
        stabilizer=standing / power.stabilizer,
        elevator=elevator,
        tab=standing / power.tab,
        column_force=force,
        cg_shift=np.where(np.abs(flight.normal_load_factor) > LEAST_LOAD, standing / shift, np.nan),
        shift_effect=shift,
        thrust=inverse.thrust,
        stall_margin=_stall_margin(airplane, inverse.alpha),
        power=power,
        setting=_setting(airplane, inverse, inputs, power, trimmed),
    )


def _powers(airplane: Airplane, flight: MotionFlight, flow: Flow, inputs: Inputs) -> Powers:
    """Moment per rad of each surface, and pull per rad of elevator."""
    factor = np.asarray(aerodynamics.compressibility(airplane.longitudinal, flight.mach))
    elevator = _power(airplane, factor, "Cm_elevator", "CL_elevator")
    CL, _, _ = aerodynamics.lift_and_moment(airplane, flow, inputs)
    pull = np.asarray(column_pull(airplane, flow, inputs, CL).elevator) + 0.0 * elevator
    kind = airplane.trim_drive.kind
    stabilizer = tab = np.full_like(elevator, np.nan)
    control = airplane.pitch_control
    unit = np.asarray(
        hinge_force(
            control.gearing,
            control.elevator_area,
            control.elevator_chord,
            control.tail_pressure_ratio * flow.pressure,
            1.0,
        )
    )
    floating = elevator / pull * unit if control.reversible else 0.0 * elevator
    if kind == "stabilizer":
        own = _power(airplane, factor, "Cm_stabilizer", "CL_stabilizer")
        stabilizer = own - floating * np.asarray(control.Ch_alpha)
    if kind == "tab":
        tab = _power(airplane, factor, "Cm_tab", "CL_tab") - floating * np.asarray(control.Ch_tab)
    return Powers(elevator, stabilizer, tab, pull)


def _setting(
    airplane: Airplane,
    inverse: _Inverse,
    inputs: Inputs,
    power: Powers,
    trimmed: Flags,
) -> Array:
    """Trim angle that holds the trimmed flight with the column free, path by path."""
    surface = power.tab if airplane.trim_drive.kind == "tab" else power.stabilizer
    if not airplane.pitch_control.reversible:  # the elevator does not float
        return (inverse.moment / surface)[:, trimmed].mean(axis=1)
    CL, _, _ = aerodynamics.lift_and_moment(airplane, inverse.flow, inputs)
    pull = column_pull(airplane, inverse.flow, inputs, CL)
    floating = power.elevator * np.asarray(pull.at(0.0, inverse.alpha_rate)) / power.pull
    return ((inverse.moment + floating) / surface)[:, trimmed].mean(axis=1)


def _shift_effect(airplane: Airplane, inverse: _Inverse) -> Array:
    """Moment coefficient per metre of aft shift."""
    return inverse.lift * np.cos(inverse.alpha) / np.asarray(airplane.geometry.mean_chord)


def _stall_margin(airplane: Airplane, alpha: Array) -> Array:
    """Angle left to the nearer stall, rad."""
    lon = airplane.longitudinal
    upper = np.asarray(lon.stall_angle) - alpha
    return np.minimum(upper, alpha - np.asarray(lon.negative_stall_angle))


def _force(
    airplane: Airplane,
    inverse: _Inverse,
    inputs: Inputs,
    elevator: Array,
    power: Powers,
    trimmed: Flags,
) -> Array:
    """Column pull for the elevator needed, zero in trimmed flight."""
    trim = -inverse.moment[:, trimmed].mean(axis=1, keepdims=True)
    start = np.zeros_like(trim)
    if airplane.trim_drive.kind != "stabilizer":  # the elevator itself carries the trim
        start = -trim / power.elevator[:, trimmed].mean(axis=1, keepdims=True)
    CL, _, _ = aerodynamics.lift_and_moment(airplane, inverse.flow, inputs)
    pull = column_pull(airplane, inverse.flow, inputs, CL)
    raw = np.asarray(pull.at(start + elevator, inverse.alpha_rate))
    pressure = inverse.flow.pressure
    if airplane.pitch_control.reversible:  # trimmed by tab or stabilizer: the offset grows with q
        offset = (raw / pressure)[:, trimmed].mean(axis=1, keepdims=True) * pressure
    else:
        offset = raw[:, trimmed].mean(axis=1, keepdims=True)
    return raw - offset


def batched(airplane: Airplane) -> Airplane:
    """The airplane with leaves of shape (S,) turned to (S, 1) for arithmetic with paths.

    Args:
        airplane: From `apply_multipliers` on draws; leaves scalar or (S,).

    Returns:
        The same airplane; scalar leaves stay.
    """
    import jax

    return jax.tree.map(
        lambda leaf: leaf[:, None] if getattr(leaf, "ndim", 0) == 1 else leaf, airplane
    )


def with_power_effect(airplane: Airplane, rng: np.random.Generator, samples: int) -> Airplane:
    """The airplane with an unknown effect of power on the pitching moment, another on each path.

    Args:
        airplane: The airplane.
        rng: Source of random numbers.
        samples: Number of paths S.

    Returns:
        New airplane, its engines at depths of shape (S, 1).
    """
    chord = np.asarray(airplane.geometry.mean_chord)
    arm = POWER_ARM * chord * rng.standard_normal((samples, 1))
    engines = tuple(replace(engine, depth=engine.depth + arm) for engine in airplane.engines)
    return replace(airplane, engines=engines)


def with_fuel_burnt(airplane: Airplane, burnt: Array) -> Airplane:
    """The airplane growing lighter along the flight, its inertia in proportion.

    Args:
        airplane: The airplane, its leaves scalar or (S, 1).
        burnt: Mass burnt since the mass was given, kg, shape (m,).

    Returns:
        New airplane, its mass and pitch inertia of shape (1, m) or (S, m). Where the fuel came from
        is not known: the centre of gravity stays.
    """
    before = np.asarray(airplane.mass.mass)
    mass = before - burnt
    inertia = np.asarray(airplane.mass.pitch_inertia) * mass / before
    return replace(airplane, mass=replace(airplane.mass, mass=mass, pitch_inertia=inertia))
