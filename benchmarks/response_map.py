"""Speed of a response map: 40 delays x 40 trim rates x 64 pilots, 102,400 flights.

    PYTHONPATH=src python3 benchmarks/response_map.py            # this machine
    PYTHONPATH=src python3 benchmarks/response_map.py --small    # 10 x 10 x 16

Needs only numpy and jax. Prints the card or processor, the first call (with compilation), the warm
call, and the error of the map against the step and precision that the other flights use. Beside
it: one flight after another, each a compiled call.
"""

from __future__ import annotations

import argparse
import dataclasses
import platform
import time

import jax
import numpy as np
from commuter import make_commuter

from neutralpoint.airplane.model import StopDevice
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import CAUSES, trimmed_setting
from neutralpoint.explanations.procedure import Action
from neutralpoint.response.answers import answer
from neutralpoint.response.maps import draw_people, over_rates, saved_over_height, shaped
from neutralpoint.response.outcome import saved
from neutralpoint.response.trials import CALLS, LANES, fly_trials

HEIGHT, DURATION, START = 1200.0, 40.0, 1.0
STEPS = (("float64", 0.1), ("float32", 0.1), ("float64", 0.05))


def make_setting():
    """The hand-built commuter in a climb, with a latching button."""
    device = StopDevice(
        name="latch", kind="latching_disconnect", reach_time=0.5, hands=0, release_restarts=False
    )
    airplane = make_commuter()
    drive = dataclasses.replace(airplane.trim_drive, stops=(device,))
    airplane = dataclasses.replace(airplane, trim_drive=drive)
    return trimmed_setting(
        airplane, make_air(), Condition(speed=85.0, height=HEIGHT, path_angle=0.05)
    )


def timed(call):
    """First and warm time of a call, s, its warm processor time, s, and its result."""
    begin = time.perf_counter()
    call()
    first = time.perf_counter() - begin
    begin, used = time.perf_counter(), time.process_time()
    result = call()
    return first, time.perf_counter() - begin, time.process_time() - used, result


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--lanes", type=int)
    parser.add_argument("--calls", type=int)
    options = parser.parse_args()
    side, people = (10, 16) if options.small else (40, 64)
    device = jax.devices()[0]
    on_cpu = device.platform == "cpu"
    count = side * side * people
    lanes = options.lanes or (LANES if on_cpu else count // 2)
    calls = options.calls or (CALLS if on_cpu else 2)
    print(f"# jax {jax.__version__} on {device.platform}: {device.device_kind}")
    print(f"host: {platform.machine()}, python {platform.python_version()}", end=", ")
    print(f"{lanes} lanes, {calls} calls under way")
    cause = CAUSES["stabilizer-runaway"]
    parameters = cause.middle() | {"start": START, "run": 1e4}
    setting = make_setting()
    done = answer(setting.airplane, (Action(kind="press", device="latch"),))
    crew = draw_people(setting, np.random.default_rng(2), people)
    delay, rate = np.linspace(0.0, 8.0, side), np.linspace(0.1, 1.3, side)
    trials = over_rates(cause, done, crew, parameters, delay=delay, rate=rate)

    def run(kind, step):
        return fly_trials(
            setting,
            trials,
            duration=DURATION,
            deepest=HEIGHT,
            step=step,
            lanes=lanes,
            calls=calls,
            kind=kind,
        )

    results = {}
    for kind, step in STEPS:
        first, warm, used, results[kind, step] = timed(lambda k=kind, s=step: run(k, s))
        print(f"{count} flights, {kind}, step {step} s: first {first:.1f} s, ", end="")
        print(f"warm {warm:.2f} s ({used:.2f} s of processor), {count / warm:.0f} flights/s")
    truth = results["float64", 0.05]
    for key in STEPS[:2]:
        other = results[key]
        both = np.asarray(saved(truth, HEIGHT) & saved(other, HEIGHT))
        lost = np.abs(other.height_lost - truth.height_lost)[both]
        a, b = [
            np.mean(np.asarray(saved(o, HEIGHT)).reshape(side, side, people), -1)
            for o in (other, truth)
        ]
        print(f"{key}: height lost differs by {np.median(lost):.2f} m (median), ", end="")
        print(f"{np.quantile(lost, 0.99):.2f} m (99 %); share saved of a cell by at most ", end="")
        print(f"{np.abs(a - b).max():.3f}, mean {np.abs(a - b).mean():.5f}")
    level = np.linspace(50.0, HEIGHT, side)
    laid = shaped(truth, side, side, people)
    _, warm, _, _ = timed(lambda: saved_over_height(laid, level))
    print(f"the same flights over {side} heights above the ground: {warm:.3f} s")
    one = jax.tree.map(lambda x: x[:1], trials)._replace(reaction=np.array([3.0]))
    calls_of_one = [
        timed(lambda: fly_trials(setting, one, duration=DURATION, deepest=HEIGHT, lanes=1, calls=1))
        for _ in range(4)
    ]
    each = np.median([warm for _, warm, _, _ in calls_of_one])
    print(f"one flight after another, compiled: {1.0 / each:.0f} flights/s, ", end="")
    print(f"the map would take {each * count / 60.0:.0f} min")


if __name__ == "__main__":
    main()
