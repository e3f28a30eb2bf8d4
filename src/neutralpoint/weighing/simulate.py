"""Flights of every cause from the start of a case, with everything uncertain drawn."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array
from jax.scipy.special import ndtri
from numpy.typing import NDArray

from neutralpoint.airplane.model import Airplane, Multipliers, apply_multipliers
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition, find_equilibrium
from neutralpoint.explanations import (
    CAUSES,
    POPULATION,
    Autopilot,
    Cause,
    Effect,
    Moment,
    Parameter,
    Pilot,
    Prior,
    fly,
    make_setting,
    why_not,
)
from neutralpoint.explanations.cause import ramp
from neutralpoint.explanations.change import BANK_LOOP
from neutralpoint.explanations.strength import draw_strength
from neutralpoint.quantities import DEGREE
from neutralpoint.weighing.course import COLUMNS, Course, columns_of

Floats = NDArray[np.float64]

STEP = 0.05  # s, as in dynamics.flight
RECORD = 0.5  # s between records; flights are compared over windows of 2 s and more
LENGTH = 20.0  # s: flights are flown for whole multiples, so that few lengths are compiled
CHUNK = 512  # flights in one call
FLOWN = tuple(cause for cause in CAUSES.values() if cause.act is not None)
WIDTH = max(len(cause.parameters) for cause in FLOWN)
# A fault begins within this share of the window after the reference, at most so many seconds: the
# reference is the LAST trimmed flight, so what ended it followed soon. Analyst's.
BEGIN_SHARE, BEGIN_MOST = 0.6, 30.0

# Who flies, what the air does and what is done on purpose, whatever the cause. All the analyst's;
# the middles of the pilot are those of `explanations.Pilot`.
ORDINARY: tuple[Parameter, ...] = (
    Parameter("crossover", "pitch loop", "rad/s", Prior("lognormal", 1.0, 0.3)),
    Parameter("outer", "vertical-speed loop", "rad/s", Prior("lognormal", 0.25, 0.3)),
    Parameter("holding", "steady force", "rad/s", Prior("lognormal", 0.5, 0.4)),
    Parameter("delay", "from eye to hand", "s", Prior("lognormal", 0.3, 0.25)),
    Parameter("indifference", "vertical speed let be", "m/s", Prior("lognormal", 0.5, 0.5)),
    Parameter("strength", "place in the population", "", Prior("uniform", 0.0, 1.0)),
    Parameter("trims", "trims forces away", "", Prior("either", 0.0, 1.0)),
    Parameter("engaged", "autopilot on at the start", "", Prior("either", 0.0, 1.0)),
    Parameter("air", "gusts whatever else happens", "m/s", Prior("lognormal", 0.5, 0.8)),
    Parameter("turns", "above 0.6: a turn is flown", "", Prior("uniform", 0.0, 1.0)),
    Parameter("bank", "of that turn", "rad", Prior("normal", 0.0, 20.0 * DEGREE)),
    Parameter("climbs", "above 0.6: the climb is changed", "", Prior("uniform", 0.0, 1.0)),
    Parameter("climb", "by how much", "m/s", Prior("normal", 0.0, 4.0)),
    Parameter("powers", "above 0.7: the power is changed", "", Prior("uniform", 0.0, 1.0)),
    Parameter("power", "lever change", "", Prior("normal", 0.0, 0.2)),
    Parameter("moment", "when turn and power change begin", "s", Prior("uniform", 0.0, 40.0)),
)


@dataclass(frozen=True)
class Start:
    """Where the last trimmed flight ended, with what is not known of it.

    Attributes:
        speed: True airspeed, m/s, shape (S,).
        path_angle: Air-relative, rad, shape (S,).
        pressure_altitude: m.
        temperature_offset: From standard, K.
        flap: 0 to 1.
        gear: 0 to 1.
    """

    speed: Floats
    path_angle: Floats
    pressure_altitude: float
    temperature_offset: float = 0.0
    flap: float = 0.0
    gear: float = 0.0


@dataclass(frozen=True)
class Flown:
    """Simulated flights of one cause.

    Attributes:
        cause: Its name.
        parameters: Names, in the order of `unit` and `values`.
        unit: Normal scores of the parameters, shape (n, d).
        values: SI, shape (n, d).
        course: The flights.
        trim: Trim surface, rad, shape (n, m).
        column_force: N, pull positive, shape (n, m).
        pitch: rad, shape (n, m).
        north: m from the start, along its heading, shape (n, m).
        east: m from the start, to the right of its heading, shape (n, m).
    """

    cause: str
    parameters: tuple[str, ...]
    unit: Floats
    values: Floats
    course: Course
    trim: Floats
    column_force: Floats
    pitch: Floats
    north: Floats
    east: Floats


class Job(NamedTuple):
    """Flights of one call, as plain arrays: it can be sent to another process.

    Attributes:
        airplane: As documented and loaded.
        drawn: Multipliers, start, ordinary and cause, leaves (CHUNK, ...).
        seed: Of the air.
        numbers: Of the flights, shape (CHUNK,).
        duration: s.
        used: How many of the rows count; the others fill the chunk.
    """

    airplane: Airplane
    drawn: tuple
    seed: int
    numbers: NDArray[np.intp]
    duration: float
    used: int


@dataclass(frozen=True)
class Plan:
    """Flights that are to be flown, and what was drawn for them.

    Attributes:
        causes: Which, equally many flights each.
        drawn: Shares and values of the parameters of each cause.
        records: How many records of a flight are kept.
        jobs: The flights in order, in chunks.
    """

    causes: tuple[Cause, ...]
    drawn: tuple[tuple[Floats, Floats], ...]
    records: int
    jobs: tuple[Job, ...]


def _chosen(effects: list[Effect], index: Array) -> Effect:
    """The effect of the cause with this index."""

    def pick(*leaves):
        found = leaves[0]
        for number, leaf in enumerate(leaves[1:], start=1):
            found = jnp.where(index == number, leaf, found)
        return found

    return jax.tree.map(pick, *effects)


def _act(parameters: dict[str, Array], moment: Moment) -> Effect:
    """Whatever cause the parameters name, with turbulence and what is done on purpose."""
    values = parameters["values"]
    effects = [
        cause.act({p.name: values[i] for i, p in enumerate(cause.parameters)}, moment)
        for cause in FLOWN
    ]
    effect = _chosen(effects, parameters["index"])
    meant = ramp(moment.time, parameters["moment"], 3.0)
    return effect._replace(
        gust=jnp.maximum(effect.gust, parameters["air"]),
        aileron=effect.aileron + meant * parameters["aileron"],
        lever=effect.lever + meant * parameters["power"],
    )


ANY = Cause(
    name="any",
    title="Any cause",
    mechanism="All causes in one program, so that one compilation and one batch serve them all.",
    changes=(),
    parameters=(),
    cannot_explain=(),
    evidence=(),
    not_separable=(),
    act=_act,
    turbulent=True,
)


def _one(airplane, multipliers, start, ordinary, cause, key, *, duration):
    """One flight: trimmed, then flown; rows of `COLUMNS`."""
    airplane = apply_multipliers(airplane, multipliers)
    o = ordinary
    find = "elevator" if airplane.trim_drive.kind == "none" else "trim"
    air = make_air(temperature_offset=start["temperature_offset"])
    condition = Condition(
        find=find,
        speed=start["speed"],
        height=start["height"],
        path_angle=start["path_angle"],
        flap=start["flap"],
        gear=start["gear"],
    )
    setting = make_setting(
        airplane,
        air,
        find_equilibrium(airplane, air, condition),
        pilot=Pilot(
            crossover=o["crossover"],
            outer=o["outer"],
            holding=o["holding"],
            delay=o["delay"],
            indifference=o["indifference"],
            strength=draw_strength(POPULATION, o["strength"]),
            trims=o["trims"],
        ),
        autopilot=Autopilot(engaged=o["engaged"]),
    )
    climb = setting.task.climb + (o["climbs"] > 0.6) * o["climb"]
    setting = replace(setting, task=setting.task._replace(climb=climb))
    lateral = airplane.lateral
    roll = 2.0 * start["speed"] / airplane.geometry.span * lateral.Cl_aileron
    bank = (o["turns"] > 0.6) * jnp.clip(o["bank"], -45.0 * DEGREE, 45.0 * DEGREE)
    parameters = {
        "values": cause["values"],
        "index": cause["index"],
        "air": o["air"],
        "aileron": jnp.where(roll == 0.0, 0.0, -BANK_LOOP * bank * lateral.Cl_p / roll),
        "power": (o["powers"] > 0.7) * o["power"],
        "moment": o["moment"],
    }
    flight = fly(
        setting,
        ANY,
        parameters,
        duration=duration,
        key=key,
        step=STEP,
        record_every=round(RECORD / STEP),
    )
    return columns_of(flight)


@partial(jax.jit, static_argnames="duration")
def _batch(airplane, multipliers, start, ordinary, cause, keys, duration):
    run = partial(_one, airplane, duration=duration)
    return jax.vmap(run)(multipliers, start, ordinary, cause, keys)


def flyable(airplane: Airplane) -> tuple[Cause, ...]:
    """Causes that can act on an airplane.

    Args:
        airplane: The airplane.

    Returns:
        In the order of the list, without the unlisted one.
    """
    return tuple(cause for cause in FLOWN if not why_not(cause, airplane))


def _stratified(parameters: tuple[Parameter, ...], rng, count: int) -> tuple[Floats, Floats]:
    """Shares and values of joint draws, stratified in each parameter."""
    cells = np.array([rng.permutation(count) for _ in parameters]).reshape(-1, count)
    share = (cells + rng.uniform(size=cells.shape)) / count
    values = [np.asarray(p.prior.quantile(s)) for p, s in zip(parameters, share, strict=True)]
    return share.T, np.array(values).reshape(-1, count).T


def _begun_within(cause: Cause, limits: tuple[float, float]) -> Cause:
    """The cause with its start limited to the window that the track leaves open."""
    if "start" not in [p.name for p in cause.parameters]:
        return cause
    return cause.with_priors(start=Prior("uniform", *limits))


def _jobs(airplane: Airplane, inputs, seed: int, total: int, duration: float) -> tuple[Job, ...]:
    """`CHUNK` flights at a time: one compilation whatever the number of flights."""
    found = []
    inputs = jax.tree.map(np.asarray, inputs)
    for begin in range(0, total, CHUNK):
        rows = np.minimum(np.arange(begin, begin + CHUNK), total - 1)
        drawn = jax.tree.map(lambda leaf, r=rows: leaf[r], inputs)
        found.append(Job(airplane, drawn, seed, rows, duration, min(CHUNK, total - begin)))
    return tuple(found)


def fly_job(job: Job) -> Floats:
    """Fly one chunk.

    Args:
        job: From a plan.

    Returns:
        Rows of `COLUMNS` and `BESIDE`, shape (used, m, 11).
    """
    key = jax.random.key(job.seed)
    keys = jax.vmap(lambda n: jax.random.fold_in(key, n))(job.numbers)
    flown = _batch(job.airplane, *job.drawn, keys, job.duration)
    return np.asarray(flown)[: job.used]


def simulate(
    airplane: Airplane,
    multipliers: Multipliers,
    start: Start,
    causes: tuple[Cause, ...],
    *,
    rng: np.random.Generator,
    duration: float,
    begin_within: tuple[float, float] | None = None,
    ordinary: tuple[Parameter, ...] = ORDINARY,
) -> list[Flown]:
    """Fly every cause, here and now.

    Args:
        airplane: As documented and loaded.
        multipliers: Joint draws, leaves (n,) for all causes together; n a multiple of their number.
        start: Where the reference ended.
        causes: Which.
        rng: Source of chance.
        duration: Of each flight, s.
        begin_within: Earliest and latest begin of a fault, s; None for the window as it is.
        ordinary: Who flies, what the air does, what is meant.

    Returns:
        One entry a cause, n / C flights each.
    """
    plan = plan_flights(
        airplane,
        multipliers,
        start,
        causes,
        rng=rng,
        duration=duration,
        begin_within=begin_within,
        ordinary=ordinary,
    )
    return gather(plan, [fly_job(job) for job in plan.jobs])


def plan_flights(
    airplane: Airplane,
    multipliers: Multipliers,
    start: Start,
    causes: tuple[Cause, ...],
    *,
    rng: np.random.Generator,
    duration: float,
    begin_within: tuple[float, float] | None = None,
    ordinary: tuple[Parameter, ...] = ORDINARY,
) -> Plan:
    """Draw everything uncertain of the flights of every cause, but do not fly them.

    Args:
        airplane: As documented and loaded.
        multipliers: Joint draws, leaves (n,) for all causes together; n a multiple of their number.
        start: Where the reference ended.
        causes: Which.
        rng: Source of chance.
        duration: Of each flight, s.
        begin_within: Earliest and latest begin of a fault, s; None for the window as it is.
        ordinary: Who flies, what the air does, what is meant.

    Returns:
        The flights in chunks.
    """
    if begin_within is None:
        begin_within = (0.0, min(BEGIN_SHARE * duration, BEGIN_MOST))
    total = np.asarray(multipliers.lift_slope).shape[0]
    count = total // len(causes)
    flown_for = float(LENGTH * np.ceil((duration + RECORD) / LENGTH))
    records = int(np.ceil(duration / RECORD)) + 1
    index, drawn = [], []
    for cause in causes:
        limited = _begun_within(cause, begin_within)
        drawn.append(_stratified(limited.parameters, rng, count))
        index.append(np.full(count, FLOWN.index(cause)))
    values = np.concatenate([np.pad(v, ((0, 0), (0, WIDTH - v.shape[1]))) for _, v in drawn])
    _, drawn_ordinary = _stratified(ordinary, rng, total)
    pick = rng.integers(0, start.speed.size, total)
    begin = {
        "speed": start.speed[pick],
        "path_angle": start.path_angle[pick],
        **{
            name: np.full(total, value)
            for name, value in {
                "height": start.pressure_altitude,
                "temperature_offset": start.temperature_offset,
                "flap": start.flap,
                "gear": start.gear,
            }.items()
        },
    }
    inputs = (
        multipliers,
        begin,
        {p.name: drawn_ordinary[:, i] for i, p in enumerate(ordinary)},
        {"values": values, "index": np.concatenate(index)},
    )
    seed = int(rng.integers(2**31))
    jobs = _jobs(airplane, inputs, seed, total, flown_for)
    return Plan(causes, tuple(drawn), records, jobs)


def gather(plan: Plan, chunks: list[Floats]) -> list[Flown]:
    """Flights by cause.

    Args:
        plan: What was to be flown.
        chunks: What `fly_job` gave for each job.

    Returns:
        One entry a cause, equally many flights each.
    """
    rows = np.concatenate(chunks).astype(float)
    count = len(rows) // len(plan.causes)
    found = []
    for number, (cause, (share, chosen)) in enumerate(zip(plan.causes, plan.drawn, strict=True)):
        mine = rows[number * count : (number + 1) * count]
        mine, kept = _finite(mine[:, : plan.records])
        time = RECORD * np.arange(mine.shape[1])
        columns = np.moveaxis(mine, 2, 0)
        found.append(
            Flown(
                cause.name,
                tuple(p.name for p in cause.parameters),
                np.asarray(ndtri(share))[kept],
                chosen[kept],
                Course(time, *columns[: len(COLUMNS)]),
                *columns[len(COLUMNS) :],
            )
        )
    return found


def _finite(rows: Floats) -> tuple[Floats, NDArray[np.intp]]:
    """Flights whose numbers are all finite; the others are replaced so that none is lost count of.

    A flight is lost where no steady start exists with its draw of the airplane.
    """
    good = np.flatnonzero(np.isfinite(rows).all(axis=(1, 2)))
    kept = good[np.arange(len(rows)) % max(len(good), 1)] if len(good) else np.arange(len(rows))
    return rows[kept], kept
