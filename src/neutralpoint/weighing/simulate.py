"""Flights of every cause from the start of a case, with everything uncertain drawn."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any, NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
from jax import Array
from numpy.typing import NDArray
from scipy.special import ndtri

from neutralpoint.airplane.model import Airplane, Multipliers, apply_multipliers
from neutralpoint.explanations import (
    CAUSES,
    NOTHING_KNOWN,
    Cause,
    Effect,
    Facts,
    Moment,
    Parameter,
    Prior,
    Setting,
    fly,
    make_setting,
    why_not,
)
from neutralpoint.explanations.change import BANK_LOOP
from neutralpoint.numerics.arrays import Flags, Floats, Index
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.course import StaticError, columns_of
from neutralpoint.weighing.effects import start_equilibrium
from neutralpoint.weighing.flights import (
    RECORD,
    Drawn,
    Flown,
    Plan,
    Start,
    flown_of,
    values_of,
)
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.ordinary import given_way, meant, who_flies
from neutralpoint.weighing.wider import WIDER_ORDINARY

STEP = 0.05  # s, as in dynamics.flight
CHUNK, CHUNK_ELSEWHERE = 512, 8192  # flights in one call, on a CPU and on what has more units
FLOWN = tuple(cause for cause in CAUSES.values() if cause.act is not None)
WIDTH = max(len(cause.parameters) for cause in FLOWN)
# A fault begins within this share of the window after the reference, at most so many seconds: the
# reference is the LAST trimmed flight, so what ended it followed soon. Analyst's estimate.
BEGIN_SHARE, BEGIN_MOST = 0.6, 30.0
WILD = 1e7  # SI: no speed, place or load of a flight is as large; what is has diverged
SURE = 1e-9  # shares of a prior are kept this far from 0 and 1


class FlightJob(NamedTuple):
    """Flights of one call, as plain arrays: they can be kept by digest, or sent elsewhere.

    Attributes:
        airplane: As documented and loaded.
        drawn: Multipliers, start, ordinary and cause, leaves (chunk, ...).
        key: Data of the JAX random key of the gusts.
        numbers: Of the gusts of each flight, shape (chunk,).
        duration: Of the flight that is compared, s.
        flown_for: s.
        used: How many of the rows count; the others fill the chunk.
    """

    airplane: Airplane
    drawn: tuple
    key: NDArray[np.uint32]
    numbers: Index
    duration: float
    flown_for: float
    used: int


Fly = Callable[[list[FlightJob]], Sequence[Floats]]  # rows of every job, in their order


def fly_job(job: FlightJob) -> Floats:
    """Fly one chunk.

    Args:
        job: The chunk.

    Returns:
        Rows of `COLUMNS` and `BESIDE`, shape (used, records, 11).
    """
    key = jax.random.wrap_key_data(jnp.asarray(job.key))
    keys = jax.vmap(lambda n: jax.random.fold_in(key, n))(job.numbers)
    flown = _batch(job.airplane, *job.drawn, keys, job.duration, job.flown_for)
    return np.asarray(flown)[: job.used]


def fly_jobs(jobs: list[FlightJob]) -> list[Floats]:
    """Fly chunks here and now.

    Args:
        jobs: The chunks.

    Returns:
        Rows of each.
    """
    return [fly_job(job) for job in jobs]


def _chosen(effects: list[Effect], index: Array) -> Effect:
    """The effect of the cause with this index."""

    def pick(*leaves):
        found = leaves[0]
        for number, leaf in enumerate(leaves[1:], start=1):
            found = jnp.where(index == number, leaf, found)
        return found

    return jax.tree.map(pick, *effects)


def _act(parameters: Mapping[str, Any], moment: Moment) -> Effect:
    """Whatever cause the parameters name, with turbulence and what is done on purpose."""
    values = parameters["values"]
    effects = [
        cause.effect({p.name: values[i] for i, p in enumerate(cause.parameters)}, moment)
        for cause in FLOWN
    ]
    effect = _chosen(effects, parameters["index"])
    return with_meant(effect, parameters, moment)


def with_meant(effect: Effect, parameters: Mapping[str, Any], moment: Moment) -> Effect:
    """The effect of a cause with turbulence and what is done on purpose.

    Args:
        effect: Of the cause.
        parameters: "ordinary", "duration" and "roll".
        moment: Now.

    Returns:
        All of it.
    """
    ordinary = parameters["ordinary"]
    effect = given_way(ordinary, moment, effect)
    wanted = meant(ordinary, moment, parameters["duration"], parameters["roll"])
    return effect._replace(
        gust=jnp.maximum(effect.gust, ordinary["air"]),
        climb=effect.climb + wanted.climb,
        aileron=effect.aileron + wanted.aileron * effect.bank_care,
        lever=effect.lever + wanted.lever,
        flap=effect.flap + wanted.flap,
        drag=effect.drag * wanted.drag,
    )


ANY = Cause(
    name=CauseName.UNLISTED,  # stands for whichever one is flown
    mechanism="any cause",  # all in one program: one compilation and one batch serve them all
    changes=(),
    parameters=(),
    cannot_explain=(),
    evidence=(),
    not_separable=(),
    act=_act,
    turbulent=True,
)


def setting_of(airplane, multipliers, start, ordinary) -> Setting:
    """The steady start of one flight, with who flies it.

    Args:
        airplane: As documented and loaded.
        multipliers: Of its derivatives.
        start: Speed, path angle and so on.
        ordinary: Values of `ORDINARY` by name.

    Returns:
        The setting.
    """
    airplane = apply_multipliers(airplane, multipliers)
    air, steady = start_equilibrium(airplane, start)
    pilot, autopilot = who_flies(ordinary)
    return make_setting(airplane, air, steady, pilot=pilot, autopilot=autopilot)


def roll_of(setting: Setting) -> Array:
    """Aileron that holds a bank of 1 rad against somebody who levels the wings.

    Args:
        setting: The start.

    Returns:
        rad.
    """
    lateral = setting.airplane.lateral
    power = 2.0 * _start_speed(setting) / setting.airplane.geometry.span * lateral.Cl_aileron
    return jnp.where(power == 0.0, 0.0, -BANK_LOOP * lateral.Cl_p / power)


def static_of(setting: Setting, ordinary: dict[str, Array]) -> StaticError:
    """The static source of a flight: right at its start.

    Args:
        setting: The start.
        ordinary: Values of `ORDINARY` by name.

    Returns:
        Its error.
    """
    return StaticError(ordinary["static"], _start_speed(setting))


def _start_speed(setting: Setting) -> Array:
    state = setting.state
    return jnp.sqrt(state.velocity_north**2 + state.velocity_east**2 + state.velocity_down**2)


def _one(airplane, multipliers, start, ordinary, cause, key, duration, *, flown_for):
    """One flight: trimmed, then flown; rows of `COLUMNS` and what follows them."""
    setting = setting_of(airplane, multipliers, start, ordinary)
    parameters = cause | {"ordinary": ordinary, "duration": duration, "roll": roll_of(setting)}
    flight = fly(
        setting,
        ANY,
        parameters,
        duration=flown_for,
        key=key,
        step=STEP,
        record_every=round(RECORD / STEP),
    )
    return columns_of(flight, static_of(setting, ordinary))


@partial(jax.jit, static_argnames="flown_for")
def _batch(airplane, multipliers, start, ordinary, cause, keys, duration, flown_for):
    run = partial(_one, flown_for=flown_for)
    return jax.vmap(run, in_axes=(None, 0, 0, 0, 0, 0, None))(
        airplane, multipliers, start, ordinary, cause, keys, duration
    )


def flyable(airplane: Airplane, facts: Facts = NOTHING_KNOWN) -> tuple[Cause, ...]:
    """Causes that can act on an airplane.

    Args:
        airplane: The airplane.
        facts: Of the flight.

    Returns:
        In the order of the list, without the unlisted one.
    """
    return tuple(cause for cause in FLOWN if not why_not(cause, airplane, facts))


def _stratified(columns: int, rng: np.random.Generator, count: int) -> Floats:
    """Normal scores of joint draws, stratified in each column, shape (count, columns)."""
    cells = np.array([rng.permutation(count) for _ in range(columns)]).reshape(-1, count)
    share = (cells + rng.uniform(size=cells.shape)) / count
    return ndtri(np.clip(share, SURE, 1.0 - SURE)).T


def limited(cause: Cause, limits: tuple[float, float], ordinary: tuple[Parameter, ...]) -> Cause:
    """The cause begun within the window that the track leaves open, in the air that is drawn.

    Args:
        cause: With the priors of the list.
        limits: Earliest and latest begin, s.
        ordinary: What is drawn whatever the cause.

    Returns:
        The cause.
    """
    if cause.name == NOTHING:
        return cause.with_priors(gust=next(p.prior for p in ordinary if p.name == "air"))
    if "start" not in [p.name for p in cause.parameters]:
        return cause
    return cause.with_priors(start=Prior("uniform", *limits))


def fly_drawn(
    plan: Plan,
    causes: tuple[Cause, ...],
    place: NDArray,
    drawn: Drawn,
    fly: Fly = fly_jobs,
) -> Floats:
    """Fly what was drawn.

    Args:
        plan: What all flights share.
        causes: With the priors that `unit` refers to.
        place: Of each flight's cause among them, shape (n,).
        drawn: One row a flight.
        fly: Flies chunks.

    Returns:
        Rows of `COLUMNS` and `BESIDE`, shape (n, records, 11); not finite where no steady start
        exists with a flight's draw of the airplane.
    """
    total = place.size
    values = np.zeros((total, WIDTH))
    index = np.zeros(total, dtype=int)
    for number, cause in enumerate(causes):
        mine = place == number
        index[mine] = FLOWN.index(CAUSES[cause.name])
        values[mine, : len(cause.parameters)] = values_of(cause.parameters, drawn.unit[mine])
    ordinary = values_of(plan.ordinary, drawn.ordinary)
    inputs = (
        drawn.multipliers,
        drawn.begin,
        {p.name: ordinary[:, i] for i, p in enumerate(plan.ordinary)},
        {"values": values, "index": index},
        drawn.number,
    )
    size = CHUNK if jax.default_backend() == "cpu" else CHUNK_ELSEWHERE
    key, jobs = np.asarray(jax.random.key_data(plan.key)), []
    for begin in range(0, total, size):  # one compilation whatever the number of flights
        rows = np.minimum(np.arange(begin, begin + size), total - 1)
        *parts, numbers = jax.tree.map(lambda leaf, r=rows: np.asarray(leaf)[r], inputs)
        used = min(size, total - begin)
        jobs.append(
            FlightJob(
                plan.airplane, tuple(parts), key, numbers, plan.duration, plan.flown_for, used
            )
        )
    return np.concatenate(fly(jobs)).astype(float)[:, : plan.records]


def _draw(start: Start, multipliers: Multipliers, columns: int, rng, count: int) -> Drawn:
    """What the flights of every cause have in common."""
    pick = rng.integers(0, start.speed.size, count)
    same = {
        "height": start.pressure_altitude,
        "temperature_offset": start.temperature_offset,
        "flap": start.flap,
        "gear": start.gear,
    }
    return Drawn(
        np.zeros((count, WIDTH)),
        _stratified(columns, rng, count),
        jax.tree.map(lambda leaf: np.asarray(leaf)[:count], multipliers),
        {
            "speed": start.speed[pick],
            "path_angle": start.path_angle[pick],
            **{name: np.full(count, value) for name, value in same.items()},
        },
        np.arange(count),
    )


def simulate(
    airplane: Airplane,
    multipliers: Multipliers,
    start: Start,
    causes: tuple[Cause, ...],
    *,
    rng: np.random.Generator,
    duration: float,
    begin_within: tuple[float, float] | None = None,
    ordinary: tuple[Parameter, ...] = WIDER_ORDINARY,
    units: dict[str, Floats] | None = None,
    fly: Fly = fly_jobs,
) -> list[Flown]:
    """Fly every cause.

    Flight number i of every cause has the same airplane, start, pilot, gusts and intentions; only
    the cause differs. So what the flights of two causes differ in is due to the causes, and flight
    i on which nothing failed tells what trace a fault left on flight i of its cause.

    Args:
        airplane: As documented and loaded.
        multipliers: Joint draws, leaves (n,), n at least the number of causes: the first n / C
            serve every cause.
        start: Where the reference ended.
        causes: Which.
        rng: Source of chance.
        duration: Of each flight, s.
        begin_within: Earliest and latest begin of a fault, s; None for the window as it is.
        ordinary: Who flies, what the air does, what is meant.
        units: Normal scores of the parameters of some causes, shape (n / C, d) each; the others
            are drawn from their priors.
        fly: Flies chunks.

    Returns:
        One entry a cause, n / C flights each.

    Source: common random numbers, Law, Simulation Modeling and Analysis (2015), section 11.2,
    from memory.
    """
    if begin_within is None:
        begin_within = (0.0, min(BEGIN_SHARE * duration, BEGIN_MOST))
    count = np.asarray(multipliers.lift_slope).shape[0] // len(causes)
    plan = Plan(airplane, ordinary, duration, jax.random.key(int(rng.integers(2**31))))
    common = _draw(start, multipliers, len(ordinary), rng, count)
    begun = tuple(limited(cause, begin_within, ordinary) for cause in causes)
    drawn_units = [_unit(cause, common, ordinary, rng, units) for cause in begun]
    every = np.tile(np.arange(count), len(causes))
    drawn = common.rows(every)
    drawn = Drawn(
        np.concatenate(drawn_units), drawn.ordinary, drawn.multipliers, drawn.begin, drawn.number
    )
    place = np.repeat(np.arange(len(causes)), count)
    rows = fly_drawn(plan, begun, place, drawn, fly).reshape(len(causes), count, plan.records, -1)
    good = np.asarray(
        (np.abs(rows) < WILD).all(axis=(2, 3))
    )  # not true of what is not finite either
    names = [cause.name for cause in begun]
    good &= good[names.index(NOTHING) if NOTHING in names else 0]
    first = np.flatnonzero(good[names.index(NOTHING) if NOTHING in names else 0])
    # Where the twin was lost the flight of every cause is: a trace is told against its own twin.
    twins = np.zeros(count, dtype=int)
    twins[first] = np.arange(first.size)
    found = []
    for number, cause in enumerate(begun):
        kept = _filled_up(good[number])
        mine = drawn.rows(number * count + kept)
        found.append(flown_of(cause, plan, mine, rows[number][kept], twins[kept]))
    return found


def _unit(
    cause: Cause, common: Drawn, ordinary: tuple[Parameter, ...], rng, units: dict | None
) -> Floats:
    """Normal scores of the parameters of a cause; the gusts of an ordinary flight are the air's."""
    count = len(common.number)
    unit = np.zeros((count, WIDTH))
    if units is not None and cause.name in units:
        unit[:, : len(cause.parameters)] = units[cause.name]
    else:
        unit[:, : len(cause.parameters)] = _stratified(len(cause.parameters), rng, count)
    if cause.name == NOTHING:
        unit[:, 0] = common.ordinary[:, [p.name for p in ordinary].index("air")]
    return unit


def _filled_up(good: Flags) -> Index:
    """Flights whose numbers are all sound, in turn until there are as many as were flown.

    A flight is lost where no steady start exists with its draw of the airplane.
    """
    there = np.flatnonzero(good)
    return there[np.arange(good.size) % there.size] if there.size else np.arange(good.size)
