"""A flight: the equations of motion stepped at a fixed step under a policy for the inputs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import jax
import jax.numpy as jnp
from jax import Array

from neutralpoint.airplane.model import Airplane
from neutralpoint.dynamics.air import Air
from neutralpoint.dynamics.equations import CALM, evaluate
from neutralpoint.dynamics.once import once
from neutralpoint.dynamics.state import Gust, Inputs, Readings, State
from neutralpoint.dynamics.turbulence import Turbulence, start_filters, step_filters
from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.errors import NeutralPointError

Policy = Callable[[Any, Scalar, State, Readings], tuple[Inputs, Any]]

# Justified in experiments/fixed_step.py.
STEP = 0.05


@jax.tree_util.register_dataclass
@dataclass(frozen=True, kw_only=True)
class Flight:
    """A recorded flight; every leaf has a leading axis over the n records.

    Args:
        time: (n,) s since the start.
        state: State at each record.
        inputs: In force from that record on.
        readings: At that record with those inputs.
        memory: The policy's memory at the end (no time axis).
    """

    time: Array
    state: State
    inputs: Inputs
    readings: Readings
    memory: Any


def advance(
    airplane: Airplane,
    state: State,
    inputs: Inputs,
    air: Air,
    *,
    step: Scalar,
    gust: Gust = CALM,
) -> State:
    """One step of the classical fourth-order Runge-Kutta rule with the inputs held.

    Source: Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I (1993), table 1.2.
    Checked against: tests/unit/test_dynamics_flight.py (order of convergence).

    Args:
        airplane: The airplane.
        state: At the start of the step.
        inputs: Held during the step.
        air: The column of air.
        step: s.
        gust: Held during the step.

    Returns:
        State at the end of the step.
    """

    kind = jnp.result_type(state.e0, step)
    # Runge and Kutta's classical weights; where the last stage would lead is not read.
    reach = jnp.asarray((0.5, 0.5, 1.0, 0.0), kind) * step
    weight = jnp.asarray((1.0, 2.0, 2.0, 1.0), kind) * (step / 6.0)

    def stage(number, carry):
        at, total = carry
        slope = once(evaluate(airplane, at, inputs, air, gust)[0], at.e0)
        at = jax.tree.map(lambda x, dx: x + reach[number] * dx, state, slope)
        return at, jax.tree.map(lambda x, dx: x + weight[number] * dx, total, slope)

    begin = jax.tree.map(lambda x: jnp.asarray(x, kind), state)
    # One copy of the equations compiles and runs faster on the CPU; a graphics card would launch
    # its kernels anew for each stage.
    unroll = jax.default_backend() != "cpu"
    return jax.lax.fori_loop(0, 4, stage, (begin, begin), unroll=unroll)[1]


def scheduled(inputs_at: Callable[[Scalar], Inputs]) -> Policy:
    """A policy that follows a clock and nothing else.

    Args:
        inputs_at: Inputs at a time, s.

    Returns:
        The policy.
    """
    return lambda memory, time, state, readings: (inputs_at(time), memory)


def _floats(tree):
    return jax.tree.map(lambda x: jnp.asarray(x, float), tree)


def fly(
    airplane: Airplane,
    state: State,
    policy: Policy,
    memory: Any,
    air: Air,
    *,
    steps: int,
    step: Scalar = STEP,
    record_every: int = 1,
    inputs: Inputs,
    turbulence: Turbulence | None = None,
    key: Array | None = None,
) -> Flight:
    """Fly from a state.

    At each step the policy is given its memory, the time at the middle of the step (so that a
    scheduled ramp is followed to second order), the state and the readings at the start of the
    step under the previous inputs; the inputs it returns are held for the step.

    Args:
        airplane: The airplane.
        state: At time 0.
        policy: Who moves the controls: `policy(memory, time, state, readings)` returns
            (inputs, memory).
        memory: The policy's own state at time 0, any pytree of arrays.
        air: The column of air.
        steps: Number of steps; a multiple of `record_every`. Static.
        step: s.
        record_every: Steps between records. Static.
        inputs: In force before time 0, seen through the first readings.
        turbulence: None for calm air.
        key: JAX random key, needed with turbulence.

    Returns:
        The flight, n = steps / record_every records, the first at time 0.
    """

    def decide(count, state, inputs, memory):
        readings = evaluate(airplane, state, inputs, air)[1]
        held, memory = policy(memory, (count + 0.5) * step, state, readings)
        return _floats(held), memory, readings

    def one_step(carry, _):
        count, state, inputs, memory, filters = carry
        inputs, memory, readings = decide(count, state, inputs, memory)
        gust = CALM
        if turbulence is not None and key is not None:
            filters, gust = step_filters(
                filters,
                turbulence,
                span=airplane.geometry.span,
                speed=readings.true_airspeed,
                step=step,
                key=jax.random.fold_in(key, count),
            )
        state = advance(airplane, state, inputs, air, step=step, gust=gust)
        return (count + 1, state, inputs, memory, filters), None

    def one_record(carry, _):
        count, state, inputs, memory, _ = carry
        # The step asks the policy again, which answers the same: a record changes no flight.
        held, _, _ = decide(count, state, inputs, memory)
        record = (count * step, state, held, evaluate(airplane, state, held, air)[1])
        carry, _ = jax.lax.scan(one_step, carry, None, length=record_every)
        return carry, record

    filters = None
    if turbulence is not None:
        if key is None:
            raise NeutralPointError(
                "argument-invalid",
                "Turbulence is asked for without a random key.",
                where="fly(key)",
                hint="Give a JAX random key, or None for the turbulence.",
            )
        # No step has this count: the start has a key of its own.
        filters = start_filters(jax.random.fold_in(key, steps))
    carry = (jnp.asarray(0), _floats(state), _floats(inputs), memory, filters)
    carry, record = jax.lax.scan(one_record, carry, None, length=steps // record_every)
    return Flight(
        time=record[0], state=record[1], inputs=record[2], readings=record[3], memory=carry[3]
    )
