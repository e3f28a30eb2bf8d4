"""Flights per second: 60 s flights in a batch, beside a SciPy loop over the same equations.

Each flight starts trimmed; the stabilizer runs away nose-down at its own time and rate, and after a
reaction time the pilot pulls with a force of their own. Needs only numpy and jax (and scipy for the
comparison):

    PYTHONPATH=src python3 benchmarks/flight_batch.py            # 2 cores
    PYTHONPATH=src python3 benchmarks/flight_batch.py --flights 4096 65536 --no-scipy   # a GPU

Prints the device, compile time, warm time, error against a fine step, and the share reached of the
multiply-add rate measured on the same device in the same run.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import time

import jax
import jax.numpy as jnp
import numpy as np
import plain_python
from commuter import make_commuter
from jax.flatten_util import ravel_pytree
from jax.sharding import Mesh
from jax.sharding import PartitionSpec as P

from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equations import evaluate
from neutralpoint.dynamics.equilibrium import Condition, find_equilibrium
from neutralpoint.dynamics.flight import STEP, advance, fly, scheduled

SECONDS = 60.0
AIRPLANE = make_commuter()
# On the CPU: one XLA device per core, so that a core runs its share of the flights alone (threads
# inside each small kernel cost more than they gain); 256 flights at a time stay in the cache; the
# vector width tells LLVM that 512-bit units may be used. No effect on other devices.
jax.config.update("jax_num_cpu_devices", len(os.sched_getaffinity(0)))
ON_CPU = jax.default_backend() == "cpu"
OPTIONS = {"xla_cpu_prefer_vector_width": 512} if ON_CPU else {}
CHUNK = 256
AIR = make_air(wind_height=(0.0, 2000.0, 5000.0), wind_north=(2.0, 8.0, 15.0), wind_east=(0, 3, 9))


def draw(flights: int) -> dict[str, jnp.ndarray]:
    """Start, rate, reaction and pull of each flight; the same for every device and batch."""
    low = {"start": 2.0, "rate": np.radians(0.1), "reaction": 1.0, "pull": 50.0}
    high = {"start": 20.0, "rate": np.radians(0.6), "reaction": 4.0, "pull": 300.0}
    share = np.random.default_rng(3).uniform(size=(flights, len(low))).T
    return {
        name: jnp.asarray(low[name] + (high[name] - low[name]) * part)
        for name, part in zip(low, share, strict=True)
    }


def inputs_of(trimmed, case):
    """Inputs of one flight against time; smooth enough for an adaptive rule to follow."""

    def at(t):
        run = jnp.clip((t - case["start"]) * case["rate"], 0.0, 0.05)
        late = t - case["start"] - case["reaction"]
        pull = case["pull"] * jnp.clip(late, 0.0, 1.0)
        return dataclasses.replace(
            trimmed,
            pitch_by="force",
            stabilizer=trimmed.stabilizer + run,
            column_force=pull,
        )

    return at


def one_flight(trimmed, case, step, record_every):
    """One flight: height and airspeed at each record, and the state at the end."""
    at = inputs_of(trimmed.inputs, case)
    return fly(
        AIRPLANE,
        trimmed.state,
        scheduled(at),
        None,
        AIR,
        steps=round(SECONDS / step),
        step=step,
        record_every=record_every,
        inputs=at(0.0),
    )


def batch(trimmed, step=STEP):
    """Compiled-on-demand batch that returns height and true airspeed once a second."""
    every = round(1.0 / step)
    trimmed = jax.tree.map(np.asarray, trimmed)

    def one(case):
        flight = one_flight(trimmed, case, step, every)
        return flight.readings.height, flight.readings.true_airspeed

    def run(cases):
        return jax.lax.map(one, cases, batch_size=CHUNK) if ON_CPU else jax.vmap(one)(cases)

    mesh = Mesh(np.array(jax.devices()), ("core",))
    spread = jax.shard_map(run, mesh=mesh, in_specs=P("core"), out_specs=P("core"), check_vma=False)
    return jax.jit(spread, compiler_options=OPTIONS)


def measure(run, *args, repeats=3):
    """First call and best warm call, s."""
    begin = time.perf_counter()
    result = jax.block_until_ready(run(*args))
    first = time.perf_counter() - begin
    warm = []
    for _ in range(repeats):
        begin = time.perf_counter()
        result = jax.block_until_ready(run(*args))
        warm.append(time.perf_counter() - begin)
    return first, min(warm), result


def arithmetic(trimmed, step) -> tuple[float, float]:
    """Additions and multiplications, and transcendentals, of one flight, by XLA's cost analysis
    of one step before any fusion (each operation counted once)."""
    case = jax.tree.map(lambda x: x[0], draw(1))

    def one(state, t):
        return advance(AIRPLANE, state, inputs_of(trimmed.inputs, case)(t), AIR, step=step)

    with jax.default_device(jax.local_devices(backend="cpu")[0]):  # a GPU's compiler keeps no count
        cost = jax.jit(one).lower(trimmed.state, 1.0).cost_analysis()
    steps = SECONDS / step
    return cost["flops"] * steps, cost.get("transcendentals", 0.0) * steps


def multiply_add_rate(width: int) -> float:
    """Float64 operations per second of a chain of multiply-adds, same compiler, all devices."""
    chain, loops = 256, 400

    def run(x):
        def one(_, y):
            for _ in range(chain):
                y = y * 0.999 + 0.001
            return y

        return jax.lax.fori_loop(0, loops, one, x)

    mesh = Mesh(np.array(jax.devices()), ("core",))
    spread = jax.shard_map(run, mesh=mesh, in_specs=P("core"), out_specs=P("core"))
    _, warm, _ = measure(jax.jit(spread, compiler_options=OPTIONS), jnp.linspace(0.0, 1.0, width))
    return 2.0 * chain * loops * width / warm


def right_hand_sides(trimmed):
    """Rates of change of the flat state in three ways one could write them."""
    start, unravel = ravel_pytree(trimmed.state)
    floats = jax.tree.map(float, trimmed.inputs)
    knots = {
        n: tuple(map(float, getattr(AIR, n))) for n in ("wind_height", "wind_north", "wind_east")
    }
    air = dataclasses.replace(AIR, **knots)
    kind, leaves = jax.tree.structure(trimmed.state), len(start)

    @jax.jit
    def compiled(t, y, case):
        at = inputs_of(trimmed.inputs, case)(t)
        return ravel_pytree(evaluate(AIRPLANE, unravel(y), at, AIR)[0])[0]

    def scalars(t, start, rate, reaction, pull, *y):
        case = {"start": start, "rate": rate, "reaction": reaction, "pull": pull}
        state = jax.tree.unflatten(kind, y)
        return jax.tree.leaves(evaluate(AIRPLANE, state, inputs_of(floats, case)(t), air)[0])

    plain = plain_python.write(scalars, *[1.0] * (5 + leaves))
    numpy = plain_python.write(scalars, *[1.0] * (5 + leaves), module=np)

    def by_jax(case):
        return lambda t, y: np.asarray(compiled(t, y, case))

    def by_hand(case):
        order = [float(case[name]) for name in ("start", "rate", "reaction", "pull")]
        return lambda t, y: plain(t, *order, *y.tolist())

    def by_numpy(case):
        order = [float(case[name]) for name in ("start", "rate", "reaction", "pull")]
        return lambda t, y: numpy(t, *order, *y)

    sides = {
        "in NumPy": by_numpy,
        "compiled by JAX": by_jax,
        "as plain Python floats": by_hand,
    }
    return np.asarray(start), sides


def scipy_loop(start, side, cases, count: int):
    """What one would write instead: `solve_ivp` for one flight after another."""
    from scipy.integrate import solve_ivp

    listed = [jax.tree.map(lambda x, i=i: x[i], cases) for i in range(count)]
    side(listed[0])(0.0, start)
    times, calls, heights = np.arange(0.0, SECONDS, 1.0), 0, []
    begin = time.perf_counter()
    for case in listed:
        found = solve_ivp(
            side(case), (0.0, SECONDS), start, rtol=1e-6, atol=1e-6, max_step=1.0, t_eval=times
        )
        calls += found.nfev
        north, east, down = found.y[0], found.y[1], found.y[2]
        heights.append(-down + (north**2 + east**2) / (2.0 * AIR.radius))
    return (time.perf_counter() - begin) / count, calls / count, np.array(heights)


def report(flights: int, trimmed, fine, step: float, run) -> float:
    """Times and errors of one batch size; returns flights per second."""
    cases = draw(flights)
    first, warm, (height, speed) = measure(run, cases)
    count = fine[0].shape[0]
    error = [
        float(jnp.abs(a[:count] - b).max()) for a, b in zip((height, speed), fine, strict=True)
    ]
    flops, hard = arithmetic(trimmed, step)
    peak = multiply_add_rate(2048 if ON_CPU else max(flights, 1 << 18))
    rate = flights / warm
    print(f"## {flights} flights of {SECONDS:.0f} s at a step of {step} s")
    print(f"first call {first:.1f} s, warm {warm:.3f} s: {rate:.0f} flights/s")
    print(f"largest error against a step of {STEP / 8:.5f} s over {count} flights: ", end="")
    print(f"height {error[0]:.1e} m, airspeed {error[1]:.1e} m/s")
    print(f"arithmetic: {flops / 1e6:.2f} M operations + {hard / 1e6:.3f} M transcendentals each")
    print(f"bound: {peak / 1e9:.1f} G multiply-add operations/s measured here; ", end="")
    print(f"share reached {100.0 * rate * flops / peak:.0f}%")
    return rate


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--flights", type=int, nargs="+", default=[4096])
    parser.add_argument("--no-scipy", action="store_true")
    options = parser.parse_args()
    device = jax.devices()[0]
    print(f"# jax {jax.__version__} on {len(jax.devices())} x {device.platform}, ", end="")
    print(f"{device.device_kind}; load of the host before the run {os.getloadavg()[0]:.1f}")
    trimmed = jax.jit(find_equilibrium)(
        AIRPLANE, AIR, Condition(find="trim", speed=110.0, height=4000.0)
    )
    fine = batch(trimmed, STEP / 8)(jax.tree.map(lambda x: x[:64], draw(options.flights[0])))
    steps = (STEP, 2.0 * STEP)
    rates = {}
    for step in steps:
        for flights in options.flights:
            rate = report(flights, trimmed, fine, step, batch(trimmed, step))
            rates.setdefault(step, rate)
    if options.no_scipy:
        return
    print("## SciPy solve_ivp (RK45, rtol 1e-6), one flight after another, one core")
    start, sides = right_hand_sides(trimmed)
    for name, side in sides.items():
        each, calls, height = scipy_loop(start, side, draw(options.flights[0]), 16)
        error = np.abs(height - np.asarray(fine[0][:16])).max()
        print(f"right-hand side {name}: {1.0 / each:.2f} flights/s, ", end="")
        print(f"{calls:.0f} evaluations each, height error {error:.1e} m")
        for step, rate in rates.items():
            print(f"  batch at {step} s: {rate * each:.0f} times the flights per second")


if __name__ == "__main__":
    main()
