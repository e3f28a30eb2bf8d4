"""The numbers of the boxes that a reader can check by hand, with the bands of this case."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any, Literal

import jax
import jax.numpy as jnp
import numpy as np
from numpy.typing import NDArray

from neutralpoint.airplane.model import Airplane
from neutralpoint.airplane.stability import neutral_point_free, static_margin
from neutralpoint.case import Case
from neutralpoint.dynamics.air import Air, make_air
from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.equilibrium import Condition, find_equilibrium
from neutralpoint.dynamics.modes import coordinates, frequency_and_damping, state_at
from neutralpoint.dynamics.quickly import quickly
from neutralpoint.dynamics.state import Inputs, State
from neutralpoint.findings import Banded90, MistrimBox, PhugoidBox, PhysicsFindings, ShiftBox
from neutralpoint.moments.hand_checks import (
    crossover_speed,
    elevator_crossover,
    force_at_speed,
    lanchester_period,
    needed_shift,
    trim_speed_after_shift,
)
from neutralpoint.moments.oscillation import FEWEST_CYCLES, oscillation
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import (
    GAS_CONSTANT,
    GRAVITY,
    HEAT_RATIO,
    LAPSE_RATE,
    SEA_LEVEL_DENSITY,
    SEA_LEVEL_TEMPERATURE,
)
from neutralpoint.study.airplane.fleet import make_fleet
from neutralpoint.study.moments.work_out import Moments
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.vocabulary.strength import TWO_HANDS

EDGES = (0.05, 0.5, 0.95)  # of the 90 % band, and the median
DRAWS = 64  # of the airplane, for margins and modes; analyst's
LEAST_LOAD = 0.3  # load factor below which a shift has hardly a moment to work with; analyst's
LEAST_MISTRIM = np.radians(0.02)  # below which there is none to hold; analyst's
NUDGES = (1e-2, 1e-5, 1e-5, 1e-5)  # m/s, rad, rad/s, rad
SHORTEST = 6.0  # s: shorter swings are the pilot's or the short period's; analyst's
ALIKE = 0.3  # in the logarithm of the period: as far as real phugoids lie off; analyst's
ENOUGH = 0.8  # share of the drawn airplanes that must have a steady flight; analyst's
KEPT = 0.5  # share of the height that must come back as speed in a phugoid; analyst's


def physics_findings(
    found: Moments, motion: KeptMotion, case: Case, rng: np.random.Generator
) -> PhysicsFindings:
    """Work out the boxes.

    Args:
        found: Of the stage.
        motion: The motion.
        case: The case.
        rng: Source of random numbers.

    Returns:
        The boxes that apply.
    """
    airplanes = _drawn(found, rng)
    known = found.judged.inside & ~found.required.stalled
    if not known.any():
        return PhysicsFindings()
    steady = _steady(found, motion, case, airplanes)
    return PhysicsFindings(
        shift=_shift(found, airplanes, known),
        mistrim=_mistrim(found, airplanes, known, steady),
        phugoid=_phugoid(found, motion, steady),
    )


def _drawn(found: Moments, rng: np.random.Generator) -> Airplane:
    """Airplanes with their uncertainty, leaves (DRAWS,); names would compile each anew."""
    airplane = found.airplane.airplane
    drive = replace(airplane.trim_drive, stops=())
    plain = replace(airplane, name="", trim_drive=drive)
    return make_fleet(plain, found.airplane.uncertainty, DRAWS - 1, int(rng.integers(2**31)))


def _span(values: Array) -> Banded90:
    """Median and 90 % band of the finite values, of which there is one at least."""
    known = np.asarray(values, float)
    low, median, high = np.quantile(known[np.isfinite(known)], EDGES)
    return Banded90(low90=float(low), median=float(median), high90=float(high))


def _equivalent(found: Moments) -> Array:
    """Equivalent airspeed of the sample paths, m/s, (S, m)."""
    return np.sqrt(2.0 * found.flight.dynamic_pressure / SEA_LEVEL_DENSITY)


def _before(found: Moments, values: Array) -> Array:
    """Mean over the last trimmed flight, (S,)."""
    return values[:, found.required.trimmed].mean(axis=1)


def _shift(found: Moments, airplanes: Airplane, known: Flags) -> ShiftBox | None:
    airplane, flight, required = found.airplane.airplane, found.flight, found.required
    load = flight.normal_load_factor
    usable = known & (np.median(np.abs(load), axis=0) > LEAST_LOAD)
    if not usable.any():
        return None
    chord, area = float(airplane.geometry.mean_chord), float(airplane.geometry.wing_area)
    moment = required.standing_coefficient * flight.dynamic_pressure * area * chord
    weight = float(airplane.mass.mass) * GRAVITY
    shift = needed_shift(moment, weight, load)
    at = np.flatnonzero(usable)[np.abs(np.median(shift[:, usable], axis=0)).argmax()]
    margin = (neutral_point_free(airplanes) - airplanes.mass.cg_station) / chord
    margin = np.broadcast_to(np.asarray(margin), (DRAWS,))
    speed = _before(found, _equivalent(found))
    listed = bool(found.airplane.loading.items)
    aft, forward = found.reach.aft, found.reach.forward
    settled = trim_speed_after_shift(np.resize(speed, DRAWS), margin, aft / chord)
    within = np.mean((shift[:, at] <= aft) & (shift[:, at] >= forward))
    return ShiftBox(
        time=float(required.time[at]),
        moment=_span(moment[:, at]),
        weight=weight,
        load_factor=_span(load[:, at]),
        shift=_span(shift[:, at]),
        aft=aft if listed else None,
        forward=forward if listed else None,
        within=float(within) if listed else None,
        margin=_span(margin),
        chord=chord,
        speed=_span(speed),
        speed_after=_span(settled) if listed and np.isfinite(settled).all() else None,
    )


def _surface_ratio(airplanes: Airplane) -> Array:
    """Elevator that undoes one rad of trim with the lift unchanged, rad, (DRAWS,)."""
    lon, kind = airplanes.longitudinal, airplanes.trim_drive.kind
    per_lift = lon.Cm_alpha / lon.CL_alpha

    def power(moment: str, lift: str) -> Array:
        return np.asarray(getattr(lon, moment) - getattr(lon, lift) * per_lift)

    trim = power(f"Cm_{kind}", f"CL_{kind}")
    return np.broadcast_to(-trim / power("Cm_elevator", "CL_elevator"), (DRAWS,))


def _per_speed(airplanes: Airplane, pressure: Array) -> Array:
    """b of `elevator_crossover`, rad, (DRAWS,): negative in a stable airplane."""
    lon, geometry = airplanes.longitudinal, airplanes.geometry
    per_lift = lon.Cm_alpha / lon.CL_alpha
    power = np.asarray(lon.Cm_elevator - lon.CL_elevator * per_lift)
    lift = np.asarray(airplanes.mass.mass) * GRAVITY / (pressure * np.asarray(geometry.wing_area))
    return np.broadcast_to(np.asarray(static_margin(airplanes)) * lift / power, (DRAWS,))


def _mistrim(
    found: Moments, airplanes: Airplane, known: Flags, steady: Steady | None
) -> MistrimBox | None:
    airplane, required = found.airplane.airplane, found.required
    kind = airplane.trim_drive.kind
    if kind == "none" or steady is None:
        return None
    paths = required.stabilizer if kind == "stabilizer" else required.tab
    own = required.power.stabilizer if kind == "stabilizer" else required.power.tab
    inside = np.flatnonzero(known)
    at = inside[np.abs(np.median(paths[:, inside], axis=0)).argmax()]
    mistrim = paths[:, at]
    middle = float(np.median(mistrim))
    if not np.isfinite(mistrim).all() or abs(middle) < LEAST_MISTRIM:
        return None
    # Pull that has the moment of the mistrim: what holds it is as large, the other way.
    per_trim = np.abs(required.power.pull * own / required.power.elevator)
    size, speeds = np.abs(mistrim), _equivalent(found)
    speed, force = _before(found, speeds), _before(found, per_trim) * size
    change = np.log(np.median(speeds[:, inside], axis=0) / np.median(speed))
    last = inside[np.abs(change).argmax()]
    other = speeds[:, last]
    moment = middle * float(np.median(own[:, at]))
    nose_down = moment < 0.0
    drawn = np.resize(mistrim, DRAWS)
    slow, fast = np.resize(speed, DRAWS), np.resize(other, DRAWS)
    pressure = 0.5 * SEA_LEVEL_DENSITY * slow**2
    needed = steady.elevator + _surface_ratio(airplanes) * drawn
    per_speed = _per_speed(airplanes, pressure)
    control = airplane.pitch_control
    stop = float(control.elevator_min if nose_down else control.elevator_max)
    at_other = needed + per_speed * ((slow / fast) ** 2 - 1.0)
    return MistrimBox(
        drive=kind,
        mistrim=_span(mistrim),
        nose_down=nose_down,
        speed=_span(speed),
        force=_span(force),
        other=_span(other),
        force_other=_span(force_at_speed(force, speed, other)),
        force_model=_span(per_trim[:, last] * size),
        available=TWO_HANDS.force,
        crossover=_span(crossover_speed(force, speed, TWO_HANDS.force)),
        elevator=_span(needed),
        stop=stop,
        balanced=float(np.mean(needed >= stop if nose_down else needed <= stop)),
        balanced_other=float(np.mean(at_other >= stop if nose_down else at_other <= stop)),
        elevator_crossover=_middle_span(elevator_crossover(slow, needed, stop, per_speed)),
    )


def _middle_span(values: Array) -> Banded90 | None:
    """A span where most draws have a value."""
    return _span(values) if np.isfinite(values).mean() > 0.5 else None


class Steady:
    """The last trimmed flight of the drawn airplanes, hands off.

    Attributes:
        elevator: rad, (n,).
        period: Of the phugoid, s, (n,); NaN without one.
        damping: Damping ratio, (n,).
    """

    def __init__(self, elevator: Array, matrices: Array) -> None:
        self.elevator = elevator
        pairs = [_slow_pair(a) for a in matrices]
        modes = np.array([frequency_and_damping(pair) for pair in pairs])
        damped = modes[:, 0] * np.sqrt(np.clip(1.0 - modes[:, 1] ** 2, 0.0, None))
        with np.errstate(divide="ignore", invalid="ignore"):
            period = 2.0 * np.pi / damped
        self.period = np.where(np.isfinite(period), period, np.nan)
        self.damping = modes[:, 1]


def _slow_pair(matrix: Array) -> NDArray[np.complex128]:
    roots = np.asarray(np.linalg.eigvals(matrix), complex)
    return roots[np.argsort(-np.abs(roots), kind="stable")][2:]


def _pitch_plane(airplane: Airplane, state: State, inputs: Inputs, air: Air) -> jax.Array:
    """The pitch plane of `dynamics.modes.linearize` by central differences.

    One copy of the equations, evaluated in turn: compiled four times as fast as the derivatives,
    and the same to nine figures.
    """
    height = -state.down
    here = coordinates(state, air, height)

    def rates(x: jax.Array) -> jax.Array:
        at = state_at(x, state, air, height)
        change = evaluate(airplane, at, inputs, air)[0]
        return jax.jvp(lambda s: coordinates(s, air, height), (at,), (change,))[1][:4]

    step = jnp.diag(jnp.array([*NUDGES, 0.0, 0.0, 0.0, 0.0]))[:4]
    both = jax.lax.map(rates, jnp.concatenate([here + step, here - step]))
    return ((both[:4] - both[4:]) / (2.0 * jnp.array(NUDGES)[:, None])).T


@partial(quickly, static_argnames="find")
def _linear(
    airplanes: Airplane, at: dict[str, float], find: Literal["elevator", "trim"]
) -> tuple[Any, ...]:
    """Outcome, elevator and pitch plane of the linear model, the column free, of each airplane."""

    def one(airplane: Airplane) -> tuple[Any, ...]:
        air = make_air(temperature_offset=at["offset"])
        condition = Condition(
            find=find,
            speed=at["speed"],
            height=at["height"],
            path_angle=at["path_angle"],
            flap=at["flap"],
            gear=at["gear"],
        )
        steady = find_equilibrium(airplane, air, condition)
        free = replace(steady.inputs, pitch_by="force", column_force=steady.readings.column_force)
        return (
            steady.outcome,
            steady.inputs.elevator,
            _pitch_plane(airplane, steady.state, free, air),
        )

    return jax.vmap(one)(airplanes)


def _steady(found: Moments, motion: KeptMotion, case: Case, airplanes: Airplane) -> Steady | None:
    """Steady flight and linear model of each drawn airplane in the last trimmed flight."""
    times = found.required.time[found.required.trimmed]
    near = ~motion.is_fix & (motion.time >= times[0]) & (motion.time <= times[-1])

    def middle(name: str) -> float:
        return float(np.median(motion.paths[name][:, near]))

    height, speed = middle("pressure_altitude"), middle("true_airspeed")
    warmth = (speed / middle("mach")) ** 2 / (HEAT_RATIO * GAS_CONSTANT)
    at = {
        "speed": speed,
        "height": height,
        "path_angle": middle("flight_path_angle"),
        "flap": float(case.analysis.flap),
        "gear": float(case.analysis.gear),
        "offset": warmth - (SEA_LEVEL_TEMPERATURE - LAPSE_RATE * height),
    }
    find: Literal["elevator", "trim"] = (
        "elevator" if airplanes.trim_drive.kind == "none" else "trim"
    )
    outcome, elevator, matrices = (np.asarray(x) for x in _linear(airplanes, at, find))
    good = ~np.isin(outcome, (1, 3))  # what is not solved, or beyond the stall
    if good.mean() < ENOUGH:
        return None
    rows = np.resize(np.flatnonzero(good), DRAWS)
    return Steady(elevator[rows], matrices[rows])


def _phugoid(found: Moments, motion: KeptMotion, steady: Steady | None) -> PhugoidBox | None:
    flight, required = found.flight, found.required
    speed = _before(found, flight.true_airspeed)
    lanchester = lanchester_period(speed)
    period = None if steady is None else _middle_span(steady.period)
    end = found.compared[1]
    inside = (required.time >= required.time[required.trimmed][0]) & (required.time <= end)
    grid = ~motion.is_fix
    where = np.isin(motion.time[grid], required.time[inside])
    height, path = (
        motion.paths[name][:, grid][:, where].astype(float)
        for name in ("pressure_altitude", "flight_path_angle")
    )
    time = motion.time[grid][where]
    if time.size < 8:
        return None
    seen = oscillation(time, path, height, flight.true_airspeed[:, inside], shortest=SHORTEST)
    mean = flight.true_airspeed[:, inside].mean(axis=1)
    usual = float(np.median(lanchester)) if period is None else period.median
    own = usual * float(np.median(mean / speed))  # the period goes with the speed
    off = abs(np.log(float(np.median(seen.period)) / own))
    exchange = float(np.median(seen.exchange))
    word = "none"
    if seen.found:
        word = "phugoid" if off <= ALIKE and exchange >= KEPT else "another"
    elif seen.span < FEWEST_CYCLES * own:
        word = "too short"
    return PhugoidBox(
        speed=_span(speed),
        mean_speed=_span(mean),
        lanchester=_span(lanchester),
        period=period,
        damping=None if period is None or steady is None else _middle_span(steady.damping),
        span=seen.span,
        cycles=seen.span / own,
        seen=word,
        seen_period=_span(seen.period) if seen.found else None,
        explained=float(np.clip(np.median(seen.explained), 0.0, 1.0)),
        exchange=exchange if seen.found else None,
    )
