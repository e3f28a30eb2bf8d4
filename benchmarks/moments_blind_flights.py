"""Blind upsets for the verdicts: a second truth, with other airplanes and other pilots.

The airplane that is flown differs from the analyst's in ways that the analyst's draws do not
have: derivatives err independently and evenly, the slipstream moves the moment, and the pitching
moment bends with the angle of attack. The pilot is this file's own: a delay, a lag of the arms,
one of four manners. Used by `moments_verdicts.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import partial

import jax
import jax.numpy as jnp
import numpy as np
from moments_flights import (
    BEFORE,
    SPEEDS,
    Run,
    make_run,
    one_flight,
    true_multipliers,
)

from neutralpoint.airplane.model import Airplane, apply_multipliers
from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.dynamics.flight import STEP
from neutralpoint.dynamics.state import attitude
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName

CAUSES = (
    CauseName.STABILIZER_RUNAWAY,  # of the tab where the airplane has one
    CauseName.INTERMITTENT_RUNAWAY,
    CauseName.SEPARATION,
    CauseName.ELEVATOR_JAM,
    CauseName.LOAD_SHIFT_AFT,
    CauseName.LOAD_SHIFT_FORWARD,
    CauseName.POWER_LOSS_ALL,
    CauseName.WING_STALL,
    CauseName.SPIRAL_DIVE,
    CauseName.CONTROL_INPUT,
    CauseName.NO_FAILURE,
)
RUNAWAY, PAUSES, BROKEN, JAM, AFT, FORWARD, POWER, STALL, SPIRAL, INPUT, NONE = range(11)
MANNERS = ("none", "resists", "recovers", "maneuvers")
LAG = 0.3  # s of the arms, neuromuscular and feel; analyst's
STEEPEST = 80.0 * DEGREE  # of bank that is still flown
SPIRAL_BANK = 50.0 * DEGREE  # that a spiral is taken to go beyond
ROUGH = 1.0  # m/s rms above which air counts as rough


@jax.tree_util.register_dataclass
@dataclass(frozen=True)
class Plan:
    """What happens in each flight; leaves (n,), SI."""

    kind: np.ndarray
    onset: np.ndarray
    size: np.ndarray  # rad of the trim surface or elevator, m of CG, N of an input, rad of bank
    rate: np.ndarray  # of the change, per s
    run: np.ndarray  # s that a motor or an input lasts first
    pause: np.ndarray  # s before a motor runs again
    delay: np.ndarray
    strength: np.ndarray  # N; 0 for no hands
    manner: np.ndarray
    wish: np.ndarray  # rad of pitch that a maneuver is after
    slipstream: np.ndarray  # chords of arm
    bend: np.ndarray  # moment coefficient per rad^2
    speed: np.ndarray
    height: np.ndarray
    path_angle: np.ndarray
    heading: np.ndarray
    wind_north: np.ndarray
    wind_east: np.ndarray
    gust: np.ndarray


def make_plan(airplane: Airplane, rng: np.random.Generator, runs: int) -> Plan:
    """Draw what happens."""
    drive, chord = airplane.trim_drive, float(airplane.geometry.mean_chord)
    kind = np.arange(runs) % len(CAUSES)

    def is_(*which: int) -> np.ndarray:
        return np.isin(kind, which)

    sign = rng.choice([-1.0, 1.0], runs)
    slow, fast = sorted((float(drive.loaded_rate) or 0.5 * DEGREE, float(drive.rate) or DEGREE))
    motor = rng.uniform(slow, fast, runs)
    lasts = rng.uniform(4.0, 20.0, runs)
    size = np.select(
        [is_(RUNAWAY), is_(PAUSES), is_(BROKEN), is_(JAM), is_(AFT), is_(FORWARD), is_(INPUT)],
        [
            sign * motor * lasts,
            sign * motor * lasts,
            sign
            * rng.uniform(1.0, 5.0, runs)
            * DEGREE
            * (1.0 if drive.kind == "stabilizer" else 3.0),
            sign * rng.uniform(1.0, 5.0, runs) * DEGREE,
            chord * rng.uniform(0.04, 0.25, runs),
            -chord * rng.uniform(0.04, 0.25, runs),
            sign * rng.uniform(0.5, 1.0, runs),
        ],
        default=rng.uniform(50.0, 75.0, runs) * DEGREE * sign,
    )
    rate = np.where(is_(RUNAWAY, PAUSES), motor, np.abs(size) / rng.uniform(0.3, 2.0, runs))
    rate = np.where(is_(BROKEN, JAM), np.abs(size) / 0.3, rate)
    light = 0.4 if float(airplane.mass.mass) < 2000.0 else 1.0
    manner = rng.integers(0, 4, runs)
    manner = np.where(is_(JAM, SPIRAL), 0, np.where(is_(STALL, NONE), 3, manner))
    manner = np.where(is_(INPUT), rng.choice([0, 2], runs), manner)
    low, high = SPEEDS[airplane.name]
    return Plan(
        kind=kind,
        onset=BEFORE + rng.uniform(-5.0, 5.0, runs),
        size=np.where(is_(INPUT), size * light * rng.uniform(90.0, 330.0, runs), size),
        rate=rate,
        run=np.where(is_(INPUT), rng.uniform(2.0, 8.0, runs), rng.uniform(2.0, 8.0, runs)),
        pause=rng.uniform(3.0, 10.0, runs),
        delay=rng.lognormal(np.log(2.5), 0.5, runs),
        strength=np.where(manner == 0, 0.0, light * rng.uniform(60.0, 330.0, runs)),
        manner=manner,
        wish=np.where(is_(STALL), 25.0, sign * rng.uniform(3.0, 10.0, runs)) * DEGREE,
        slipstream=0.2 * rng.uniform(-1.0, 1.0, runs),
        bend=0.2 * rng.uniform(-1.0, 1.0, runs),
        speed=rng.uniform(low, high, runs),
        height=rng.uniform(1800.0, 3500.0, runs),
        path_angle=rng.uniform(-3.0, 3.0, runs) * DEGREE,
        heading=rng.uniform(-np.pi, np.pi, runs),
        wind_north=rng.normal(0.0, 7.0, runs),
        wind_east=rng.normal(0.0, 7.0, runs),
        gust=np.where(
            rng.random(runs) < 0.25, rng.uniform(ROUGH, 1.8, runs), rng.uniform(0.0, 0.6, runs)
        ),
    )


def _moved(plan: Plan, time):
    """What has moved of itself by now, in the unit of `size`."""
    since = time - plan.onset
    ran = jnp.where(
        plan.kind == PAUSES,
        jnp.clip(since, 0.0, plan.run) + jnp.maximum(since - plan.run - plan.pause, 0.0),
        jnp.maximum(since, 0.0),
    )
    return jnp.sign(plan.size) * jnp.clip(ran * plan.rate, 0.0, jnp.abs(plan.size))


def _hands(plan: Plan, airplane: Airplane, level, since, state, pitch):
    """Force that this pilot wants on the column."""
    stiff = 250.0 + 0.13 * airplane.mass.mass
    eager = jnp.where(plan.manner == 2, 1.6, 1.0)
    aim = level + jnp.where(plan.manner == 3, plan.wish * jnp.clip(since / 4.0, 0.0, 1.0), 0.0)
    aim = aim + jnp.where(plan.manner == 2, 5.0 * DEGREE, 0.0)  # a recovery pulls above level
    wanted = eager * stiff * (aim - pitch) - 0.5 * stiff * state.pitch_rate
    return plan.strength * jnp.tanh(wanted / jnp.maximum(plan.strength, 1.0))


def _policy(start, plan: Plan, airplane: Airplane, by: str):
    """What happens, who pulls, and wings held level except in a spiral."""
    trim = airplane.trim_drive.kind
    base = replace(start.inputs, pitch_by=by)
    level = attitude(start.state)[1]

    def policy(force, time, state, readings):
        since, moved = time - plan.onset, _moved(plan, time)
        bank, pitch, _ = attitude(state)
        waited = jnp.where((plan.kind == STALL) | (plan.kind == NONE), 0.0, plan.delay)
        waited = waited + jnp.where(plan.kind == INPUT, plan.run, 0.0)
        wanted = jnp.where(since > waited, _hands(plan, airplane, level, since, state, pitch), 0.0)
        pushed = jnp.where((plan.kind == INPUT) & (since < plan.run), moved, 0.0)
        force = force + STEP / LAG * (wanted - force)
        trimmed = (plan.kind == RUNAWAY) | (plan.kind == PAUSES) | (plan.kind == BROKEN)
        cut = jnp.where(plan.kind == POWER, jnp.clip(since, 0.0, 1.0), 0.0)
        cut = cut + jnp.where(plan.kind == STALL, 0.7 * jnp.clip(since, 0.0, 1.0), 0.0)
        off = bank - jnp.where(
            plan.kind == SPIRAL, plan.size * jnp.clip(since / 10.0, 0.0, 1.0), 0.0
        )
        arm = (
            plan.slipstream
            * readings.thrust
            / (readings.dynamic_pressure * airplane.geometry.wing_area)
        )
        bent = (
            plan.bend * (readings.angle_of_attack - 0.05) * jnp.abs(readings.angle_of_attack - 0.05)
        )
        inputs = replace(
            base,
            elevator=base.elevator + jnp.where(plan.kind == JAM, moved, 0.0),
            column_force=force + pushed,
            cg_shift=jnp.where((plan.kind == AFT) | (plan.kind == FORWARD), moved, 0.0),
            lever=tuple(lever * (1.0 - cut) for lever in base.lever),
            aileron=0.4 * off + 0.4 * state.roll_rate,
            Cm_extra=arm + bent,
            **{trim: getattr(base, trim) + jnp.where(trimmed, moved, 0.0)},
        )
        return inputs, force

    return policy


@partial(jax.jit, static_argnames=("by",))
def _simulate(airplanes: Airplane, plan: Plan, keys, by: str):
    def one(airplane, plan, key):
        return one_flight(
            airplane,
            plan,
            key,
            lambda start: _policy(start, plan, airplane, by),
            jnp.asarray(0.0),
            by=by,
        )

    return jax.vmap(one)(airplanes, plan, keys)


def _happened(run: Run) -> bool:
    """Whether what was planned came about: a spiral banked, a stall stalled."""
    after = run.time > run.onset
    if run.kind is CauseName.SPIRAL_DIVE:
        return bool(np.abs(run.series["bank"][after]).max() > SPIRAL_BANK)
    if run.kind is CauseName.WING_STALL:
        angle = run.series["angle_of_attack"][after]
        return bool(angle.max() > float(run.truth.longitudinal.stall_angle))
    return True


def simulate(
    airplane: Airplane, uncertainty: Uncertainty, *, seed: int, runs: int
) -> list[tuple[Run, Plan]]:
    """Fly blind flights of one airplane; those that cannot be trimmed are left out."""
    rng = np.random.default_rng(seed)
    plan = make_plan(airplane, rng, runs)
    truths = apply_multipliers(airplane, true_multipliers(uncertainty, rng, runs, independent=True))
    truths = jax.tree.map(lambda x: jnp.broadcast_to(jnp.asarray(x, float), (runs,)), truths)
    keys = jax.random.split(jax.random.key(seed), runs)
    found = []
    for by in ("force", "elevator"):
        chosen = np.flatnonzero((plan.kind == JAM) == (by == "elevator"))
        pick = partial(jax.tree.map, lambda x, c=chosen: x[c])
        out = jax.tree.map(np.asarray, _simulate(pick(truths), pick(plan), keys[chosen], by))
        for j, i in enumerate(chosen):
            one, mine, truth = (
                jax.tree.map(lambda x, k=k: np.asarray(x)[k], t)
                for k, t in ((j, out), (i, plan), (i, truths))
            )
            mine = replace(mine, **{f.name: float(getattr(mine, f.name)) for f in fields(Plan)})
            run = make_run(
                airplane, jax.tree.map(float, truth), mine, one, CAUSES, steepest=STEEPEST
            )
            found += [(run, mine)] if run is not None and _happened(run) else []
    return found
