"""Speed of a response map: 40 delays x 40 trim rates x 64 pilots, 102,400 flights.

    PYTHONPATH=src python3 benchmarks/response_map.py            # this machine
    PYTHONPATH=src python3 benchmarks/response_map.py --small    # 10 x 10 x 16

Needs only numpy and jax. Prints the card or processor, the first call (with compilation), the warm
call, and the error of the map against the step and precision that the other flights use. Beside
it: one flight after another, each a compiled call.
"""

from __future__ import annotations

import argparse
import platform
import time

import jax
import jax.numpy as jnp
import numpy as np
from commuter import make_commuter

from neutralpoint.airplane.model import StopDevice
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import CAUSES, trimmed_setting
from neutralpoint.explanations.procedure import Action
from neutralpoint.response.maps import draw_pilots, fly_many, outcome_map, saved_over_height
from neutralpoint.response.outcome import saved

HEIGHT, DURATION, START = 1200.0, 40.0, 1.0


def make_setting():
    """The hand-built commuter in a climb, with a latching button."""
    import dataclasses

    device = StopDevice(
        name="latch", kind="latching_disconnect", reach_time=0.5, hands=0, release_restarts=False
    )
    airplane = make_commuter()
    drive = dataclasses.replace(airplane.trim_drive, stops=(device,))
    airplane = dataclasses.replace(airplane, trim_drive=drive)
    condition = Condition(speed=85.0, height=HEIGHT, path_angle=0.05)
    return trimmed_setting(
        airplane, make_air(), condition, procedure=(Action(kind="press", device="latch"),)
    )


def timed(call):
    """First and warm time of a call, s, and its result."""
    begin = time.perf_counter()
    jax.block_until_ready(call())
    first = time.perf_counter() - begin
    begin = time.perf_counter()
    result = jax.block_until_ready(call())
    return first, time.perf_counter() - begin, result


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--small", action="store_true")
    options = parser.parse_args()
    side, people = (10, 16) if options.small else (40, 64)
    device = jax.devices()[0]
    print(f"# jax {jax.__version__} on {device.platform}: {device.device_kind}")
    print(f"host: {platform.machine()}, python {platform.python_version()}")
    cause = CAUSES["stabilizer-runaway"]
    parameters = cause.middle() | {"start": START, "run": 100.0}
    setting = make_setting()
    pilots = draw_pilots(setting, jax.random.key(2), people)
    delay, rate = jnp.linspace(0.0, 8.0, side), jnp.linspace(0.1, 1.3, side)
    block = 2048 if device.platform == "cpu" else side * side * people

    def run(kind, step):
        return outcome_map(
            setting,
            cause,
            parameters,
            delay=delay,
            rate=rate,
            pilots=pilots,
            duration=DURATION,
            deepest=HEIGHT,
            step=step,
            block=block,
            kind=kind,
        )

    results = {}
    for kind, step in (("float64", 0.1), ("float32", 0.1), ("float64", 0.05)):
        first, warm, results[kind, step] = timed(lambda k=kind, s=step: run(k, s))
        print(
            f"{side * side * people} flights, {kind}, step {step} s: first {first:.1f} s, ", end=""
        )
        print(f"warm {warm:.2f} s, {side * side * people / warm:.0f} flights/s")
    truth = results["float64", 0.05]
    for key in (("float64", 0.1), ("float32", 0.1)):
        other = results[key]
        both = saved(truth, HEIGHT) & saved(other, HEIGHT)
        lost = np.abs(np.asarray(other.height_lost - truth.height_lost))[np.asarray(both)]
        a, b = [np.mean(np.asarray(saved(o, HEIGHT)), -1) for o in (other, truth)]
        print(f"{key}: height lost differs by {np.median(lost):.2f} m (median), ", end="")
        print(f"{np.quantile(lost, 0.99):.2f} m (99 %); share saved of a cell by at most ", end="")
        print(f"{np.abs(a - b).max():.3f}, mean {np.abs(a - b).mean():.5f}")
    height = jnp.linspace(50.0, HEIGHT, side)
    _, warm, _ = timed(lambda: saved_over_height(truth, height))
    print(f"the same flights over {side} heights above the ground: {warm:.3f} s")
    one = {"reaction": jnp.array([3.0])}
    calls = []
    for _ in range(6):
        begin = time.perf_counter()
        jax.block_until_ready(
            fly_many(setting, cause, parameters, one, duration=DURATION, deepest=HEIGHT)
        )
        calls.append(time.perf_counter() - begin)
    each = np.median(calls[1:])
    print(f"one flight after another, compiled: {1.0 / each:.0f} flights/s, ", end="")
    print(f"the map would take {each * side * side * people / 60.0:.0f} min")


if __name__ == "__main__":
    main()
