"""Flights under known carriers, and the surveillance tracks they leave.

Each run draws an airplane whose derivatives differ from the analyst's by up to 20 %, trims it, and
lets one thing happen: the trim runs, the center of gravity moves, the elevator goes to another
place, or the power is cut. Some runs have hands that pull or push against it. Used by
`moments_recovery.py` and tests/recovery.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import partial

import jax
import jax.numpy as jnp
import numpy as np
from recorded import Degradation, rounded
from scipy.stats import norm

from neutralpoint.airplane.model import Airplane, Multipliers, apply_multipliers
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.dynamics.air import gas, make_air
from neutralpoint.dynamics.equilibrium import Condition, find_equilibrium
from neutralpoint.dynamics.flight import STEP, fly
from neutralpoint.dynamics.state import attitude
from neutralpoint.dynamics.turbulence import Turbulence
from neutralpoint.earth import atmosphere
from neutralpoint.earth.weather import Weather
from neutralpoint.moments import MotionFlight
from neutralpoint.motion import LiftData
from neutralpoint.motion.curvilinear import Curvilinear
from neutralpoint.motion.lift import compressible_slope_ratio
from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, GRAVITY, KNOT
from neutralpoint.track import Observations, Track

EPOCH = datetime(2030, 6, 1, tzinfo=UTC)
CARRIERS = ("trim", "center of gravity", "elevator", "power")
RECORD = 0.25  # s between records
LONGEST = 110.0  # s flown
SCALE = 533.0  # m, MIL-F-8785C at medium height
BEFORE = 60.0  # s before the onset
DIFFERENT = 0.20  # the truth's derivatives differ by up to this share, evenly spread
DERIVATIVES = (
    "pitch_damping", "elevator_power", "stabilizer_power", "tab_power", "hinge_alpha",
    "hinge_elevator",
)  # fmt: skip
WIND_ERROR = 5.0 * KNOT  # 95 % half-width of each component
# True airspeed range by airplane, m/s, within what each is trimmed at.
SPEEDS = {"Velmar C7": (75.0, 110.0), "Ostrel 7": (95.0, 130.0), "Tarnley 180": (48.0, 60.0)}
TRACKS = (
    Degradation("1 s, 25 ft", 1.0, 25.0 * FOOT, speed_step=KNOT, rate_step=64 * FOOT_PER_MINUTE),
    Degradation("1 s, 100 ft", 1.0, 100.0 * FOOT, speed_step=KNOT, rate_step=64 * FOOT_PER_MINUTE),
)


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class Plan:
    """What happens in each run; leaves (n,), SI."""

    kind: np.ndarray  # index into CARRIERS
    onset: np.ndarray
    size: np.ndarray  # rad, m, rad, or the share of power left
    rate: np.ndarray  # of the change, per s
    delay: np.ndarray  # s before hands answer
    strength: np.ndarray  # N; 0 for no hands
    speed: np.ndarray
    height: np.ndarray
    path_angle: np.ndarray
    heading: np.ndarray
    wind_north: np.ndarray
    wind_east: np.ndarray
    gust: np.ndarray  # standard deviation, m/s


def make_plan(airplane: Airplane, rng: np.random.Generator, runs: int) -> Plan:
    """Draw what happens."""
    drive, chord = airplane.trim_drive, float(airplane.geometry.mean_chord)
    kind = np.arange(runs) % len(CARRIERS)
    sign = rng.choice([-1.0, 1.0], runs)
    slow = float(drive.loaded_rate) or 1.0 * DEGREE
    fast = float(drive.rate) or 2.0 * DEGREE
    trim_rate = rng.uniform(slow, fast, runs)
    trim_size = sign * trim_rate * rng.uniform(3.0, 10.0, runs)
    shift = sign * chord * rng.uniform(0.03, 0.12, runs)
    step = sign * rng.uniform(0.7, 2.5, runs) * DEGREE
    size = np.choose(kind, [trim_size, shift, step, rng.uniform(0.0, 0.3, runs)])
    rate = np.choose(
        kind, [trim_rate, np.abs(shift) / rng.uniform(1.0, 3.0, runs), np.abs(step) / 0.3, 1.0]
    )
    light = 0.4 if float(airplane.mass.mass) < 2000.0 else 1.0
    hands = (rng.random(runs) < 0.5) & (kind != 2)
    low, high = SPEEDS[airplane.name]
    return Plan(
        kind=kind,
        onset=BEFORE + rng.uniform(-5.0, 5.0, runs),
        size=size,
        rate=rate,
        delay=rng.uniform(1.0, 4.0, runs),
        strength=np.where(hands, light * rng.uniform(60.0, 220.0, runs), 0.0),
        speed=rng.uniform(low, high, runs),
        height=rng.uniform(1500.0, 3000.0, runs),
        path_angle=rng.uniform(-2.0, 2.0, runs) * DEGREE,
        heading=rng.uniform(-np.pi, np.pi, runs),
        wind_north=rng.normal(0.0, 6.0, runs),
        wind_east=rng.normal(0.0, 6.0, runs),
        gust=rng.uniform(0.0, 0.5, runs),
    )


def analyst_uncertainty(uncertainty: Uncertainty) -> Uncertainty:
    """The file's standard deviations, raised to those of an even spread over +- 20 %."""
    even = DIFFERENT / np.sqrt(3.0)
    sigma = dict(uncertainty.sigma)
    sigma |= {name: max(sigma.get(name, 0.0), even) for name in DERIVATIVES}
    return replace(uncertainty, sigma=sigma)


def true_multipliers(
    uncertainty: Uncertainty, rng: np.random.Generator, runs: int, *, independent: bool
) -> Multipliers:
    """Derivatives even within +- 20 %, everything else as the file says.

    Numbers that rest on the same tail err together, by the correlations that the analyst's draws
    have too; with `independent` they do not, which the analyst is not told.
    """
    wide = replace(uncertainty, sigma=dict(uncertainty.sigma) | dict.fromkeys(DERIVATIVES, 0.1))
    drawn = wide.draw(rng, runs)
    spread = np.sqrt(np.log1p(0.1**2))
    off = {n: norm.cdf(np.log(getattr(drawn, n)) / spread) for n in DERIVATIVES}
    if independent:
        off = {n: rng.random(runs) for n in DERIVATIVES}
    return replace(drawn, **{n: 1.0 + DIFFERENT * (2.0 * share - 1.0) for n, share in off.items()})


def _policy(start, plan: Plan, airplane: Airplane, by: str):
    """Inputs of one run: what happens, hands against it, and wings held level."""
    trim_name = airplane.trim_drive.kind
    base = replace(start.inputs, pitch_by=by)
    level = attitude(start.state)[1]
    stiff = 250.0 + 0.13 * airplane.mass.mass

    def policy(memory, time, state, readings):
        kind = plan.kind
        share = jnp.clip((time - plan.onset) * plan.rate, 0.0, jnp.abs(plan.size))
        moved = jnp.sign(plan.size) * share
        bank, pitch, _ = attitude(state)
        wanted = stiff * (level - pitch) - 0.5 * stiff * state.pitch_rate
        held = plan.strength * jnp.tanh(wanted / jnp.maximum(plan.strength, 1.0))
        ready = jnp.clip(time - plan.onset - plan.delay, 0.0, 1.0)
        cut = jnp.clip(time - plan.onset, 0.0, 1.0) * (1.0 - plan.size)
        inputs = replace(
            base,
            elevator=base.elevator + jnp.where(kind == 2, moved, 0.0),
            column_force=held * ready,
            cg_shift=jnp.where(kind == 1, moved, 0.0),
            lever=tuple(lever * jnp.where(kind == 3, 1.0 - cut, 1.0) for lever in base.lever),
            aileron=0.4 * bank + 0.4 * state.roll_rate,
            **{trim_name: getattr(base, trim_name) + jnp.where(kind == 0, moved, 0.0)},
        )
        return inputs, memory

    return policy


def one_flight(airplane: Airplane, plan, key, policy, memory, *, by: str = "force"):
    """One run from steady flight in the gusts of its plan; what `make_run` reads.

    `policy` makes the policy from the steady start, `memory` is what that keeps at first.
    """
    air = make_air(wind_north=(plan.wind_north,), wind_east=(plan.wind_east,))
    start = find_equilibrium(
        airplane,
        air,
        Condition(
            find="trim", speed=plan.speed, height=plan.height, path_angle=plan.path_angle,
            heading=plan.heading,
        ),
    )  # fmt: skip
    rough = {f"sigma_{axis}": plan.gust for axis in ("forward", "side", "vertical")}
    long = {f"length_{axis}": SCALE for axis in ("forward", "side", "vertical")}
    flight = fly(
        airplane,
        start.state,
        policy(start),
        memory,
        air,
        steps=round(LONGEST / STEP),
        record_every=round(RECORD / STEP),
        inputs=replace(start.inputs, pitch_by=by),
        turbulence=Turbulence(**rough, **long),
        key=key,
    )
    density, pressure, _ = gas(air, flight.readings.height)
    recorded = (flight.time, flight.state, flight.inputs, flight.readings)
    return start.outcome, *recorded, density, pressure


@partial(jax.jit, static_argnames=("by",))
def _simulate(airplanes: Airplane, plan: Plan, keys, by: str):
    def one(airplane, plan, key):
        return one_flight(
            airplane, plan, key, lambda start: _policy(start, plan, airplane, by), (), by=by
        )

    return jax.vmap(one)(airplanes, plan, keys)


@dataclass(frozen=True)
class Run:
    """One flight with what is true of it; series have shape (n,)."""

    airplane: Airplane  # the analyst's
    truth: Airplane
    kind: str
    onset: float
    hands: bool
    end: float
    time: np.ndarray
    series: dict[str, np.ndarray]
    gust: float


def simulate(
    airplane: Airplane,
    uncertainty: Uncertainty,
    *,
    seed: int,
    runs: int,
    independent: bool = False,
) -> list[Run]:
    """Fly runs of one airplane; those that cannot be trimmed are left out."""
    rng = np.random.default_rng(seed)
    plan = make_plan(airplane, rng, runs)
    truths = apply_multipliers(
        airplane, true_multipliers(uncertainty, rng, runs, independent=independent)
    )
    truths = jax.tree.map(lambda x: jnp.broadcast_to(jnp.asarray(x, float), (runs,)), truths)
    keys = jax.random.split(jax.random.key(seed), runs)
    found: list[Run] = []
    for by, chosen in (
        ("force", np.flatnonzero(plan.kind != 2)),
        ("elevator", np.flatnonzero(plan.kind == 2)),
    ):
        pick = partial(jax.tree.map, lambda x, c=chosen: x[c])
        out = _simulate(pick(truths), pick(plan), keys[chosen], by)
        out = jax.tree.map(np.asarray, out)
        for j, i in enumerate(chosen):
            one = jax.tree.map(lambda x, j=j: x[j], out)
            truth = jax.tree.map(lambda x, i=i: float(x[i]), truths)
            mine = jax.tree.map(lambda x, i=i: float(np.asarray(x)[i]), plan)
            run = make_run(airplane, truth, mine, one)
            if run is not None:
                found.append(run)
    return found


def make_run(
    airplane: Airplane,
    truth: Airplane,
    plan,
    out,
    kinds: tuple[str, ...] = CARRIERS,
    *,
    steepest: float = 60.0 * DEGREE,
) -> Run | None:
    """A run from what was flown, up to a bank; None where it cannot be used."""
    outcome, time, state, inputs, readings, density, pressure = out
    # What diverges is cut off below; keep its numbers from overflowing on the way.
    kept = jax.tree.map(lambda x: np.nan_to_num(np.clip(x, -1e6, 1e6)), (state, inputs, readings))
    state, inputs, readings = kept
    speed, alpha = readings.true_airspeed, readings.angle_of_attack
    north = state.velocity_north - plan.wind_north
    east = state.velocity_east - plan.wind_east
    through = np.sqrt(north**2 + east**2 + state.velocity_down**2) + 1e-9
    path = np.arcsin(np.clip(-state.velocity_down / through, -1.0, 1.0))
    upward, forward = readings.normal_load_factor, readings.forward_load_factor
    load = upward * np.cos(alpha) + forward * np.sin(alpha)
    along = forward * np.cos(alpha) - upward * np.sin(alpha)
    bank = np.asarray(attitude(state)[0])
    sane = (
        (np.abs(path) < 55 * DEGREE)
        & (load > -0.6)
        & (load < 3.6)
        & (speed < 1.3 * float(airplane.limits.never_exceed_speed))
        & (readings.height > 100.0)
        & (np.abs(bank) < steepest)
    )
    end = float(time[-1]) if sane.all() else float(time[np.argmin(sane)])
    # Ends in steps of 8 s after the onset, so that few array shapes are compiled.
    end = plan.onset + 8.0 * np.floor((min(end, plan.onset + 41.0) - plan.onset) / 8.0)
    if int(outcome) not in (0, 2, 4, 5) or end < plan.onset + 8.0:
        return None
    series = {
        "north": state.north,
        "east": state.east,
        "height": readings.height,
        "velocity_north": state.velocity_north,
        "velocity_east": state.velocity_east,
        "velocity_down": state.velocity_down,
        "wind_north": np.full_like(time, plan.wind_north),
        "wind_east": np.full_like(time, plan.wind_east),
        "true_airspeed": speed,
        "dynamic_pressure": readings.dynamic_pressure,
        "mach": readings.mach,
        "density": density,
        "pressure_altitude": atmosphere.pressure_altitude(pressure),
        "path_angle": path,
        "load_factor": load,
        "along": along,
        "bank": bank,
        "elevator": readings.elevator,
        "column_force": readings.column_force,
        "stabilizer": inputs.stabilizer,
        "tab": inputs.tab,
        "cg_shift": inputs.cg_shift,
        "thrust": readings.thrust,
        "angle_of_attack": alpha,
    }
    flown = time <= end  # beyond it a flight may have diverged
    return Run(
        airplane=airplane,
        truth=truth,
        kind=kinds[int(plan.kind)],
        onset=float(plan.onset),
        hands=bool(plan.strength > 0.0),
        end=float(end),
        time=time[flown],
        series={name: np.asarray(values, float)[flown] for name, values in series.items()},
        gust=float(plan.gust),
    )


def exact_flight(run: Run) -> MotionFlight:
    """The flight as it was, as one sample path."""
    s = {name: values[None] for name, values in run.series.items()}
    level = np.cos(s["path_angle"]) * np.cos(s["bank"])
    return MotionFlight(
        time=run.time,
        true_airspeed=s["true_airspeed"],
        dynamic_pressure=s["dynamic_pressure"],
        mach=s["mach"],
        density=s["density"],
        normal_load_factor=s["load_factor"],
        longitudinal_load_factor=s["along"],
        path_rate=GRAVITY / s["true_airspeed"] * (s["load_factor"] - level),
        gust_angle=np.zeros_like(level),
    )


def lift_of(airplane: Airplane, uncertainty: Uncertainty) -> LiftData:
    """Mass and lift line as the analyst's airplane has them."""
    lon, sigma = airplane.longitudinal, uncertainty.sigma
    ratio = float(lon.compressibility_aspect_ratio)
    slope = float(lon.CL_alpha) / float(
        compressible_slope_ratio(np.asarray(float(lon.mach)), ratio)
    )
    mass = float(airplane.mass.mass)
    return LiftData(
        mass=mass,
        wing_area=float(airplane.geometry.wing_area),
        lift_slope=slope,
        zero_lift_angle=-float(lon.CL_0) / float(lon.CL_alpha),
        maximum_lift=1.5,
        aspect_ratio=ratio,
        mass_sigma=mass * sigma["mass"],
        lift_slope_sigma=slope * sigma["lift_slope"],
        zero_lift_angle_sigma=0.5 * DEGREE,
    )


def analyst_weather(run: Run, rng: np.random.Generator) -> Weather:
    """The wind that was there, with an error of 5 kt (95 %) a component."""
    sigma = 0.5 * WIND_ERROR
    error = sigma * rng.standard_normal(2)
    levels = np.array([0.0, 6000.0])
    return Weather(
        levels,
        np.full(2, run.series["wind_north"][0] + error[0]),
        np.full(2, run.series["wind_east"][0] + error[1]),
        atmosphere.temperature(levels),
        sigma_wind=sigma,
        sigma_temperature=0.5,
    )


def observe(run: Run, rng: np.random.Generator, how: Degradation) -> Track:
    """The surveillance track of a run, up to its end."""
    age = 0.1 + 0.15 * rng.standard_normal()  # what the motion is told to expect
    time = np.arange(1.0, run.end, how.interval)
    time = time[rng.random(time.size) >= how.drop]
    stamp = np.sort(time + how.jitter * np.clip(rng.standard_normal(time.size), -3.0, 3.0))
    row, none = np.arange(2, time.size + 2), np.zeros(time.size, bool)

    def at(name):
        return np.interp(time - age, run.time, run.series[name])

    def channel(value, step):
        return Observations(stamp, rounded(value, step), step, row, row * 0, none)

    noise = how.position_sigma * rng.standard_normal((2, time.size))
    place = np.stack(
        Curvilinear(0.8, 0.3).to_geographic(at("north") + noise[0], at("east") + noise[1]), axis=-1
    )
    north, east = at("velocity_north"), at("velocity_east")
    if not how.velocity:
        altitude = channel(at("pressure_altitude"), how.altitude_step)
        position = Observations(stamp, place, 0.0, row, row * 0, none)
        return Track(epoch=EPOCH, position=position, pressure_altitude=altitude)
    return Track(
        epoch=EPOCH,
        position=Observations(stamp, place, 0.0, row, row * 0, none),
        pressure_altitude=channel(at("pressure_altitude"), how.altitude_step),
        geometric_altitude=None,
        ground_speed=channel(np.hypot(north, east), how.speed_step),
        track_angle=channel(np.mod(np.arctan2(east, north), 2 * np.pi), how.angle_step),
        vertical_rate=channel(-at("velocity_down"), how.rate_step),
        vertical_rate_source="baro",
    )
