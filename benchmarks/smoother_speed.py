"""Smoothing of 10,000 fixes beside a general Kalman library, in one run.

    python benchmarks/smoother_speed.py [--out FILE]

Both sides smooth the same positions with the same process on the same grid at fixed noise levels,
one axis of position, velocity and acceleration. Ours is one banded Cholesky factor; theirs is
`KalmanFilter.batch_filter` and `rts_smoother` of filterpy. Then the whole estimate with its noise
levels, lags and 200 joint sample paths of every variable, which the library does not offer.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np
from filterpy.kalman import KalmanFilter
from motion_synthetic import LIFT, PLAIN, WEATHER, fly, observe

from neutralpoint.motion import estimate_motion
from neutralpoint.motion.chain import posterior
from neutralpoint.motion.process import Process, horizontal_process
from neutralpoint.motion.rows import Rows, taylor

RESULTS = Path(__file__).parent / "results" / "smoother_speed.md"
FIXES = 10_000
SIGMA, JERK = 5.0, 0.1
GRID = 0.25


def problem():
    """Positions of one axis each second, and the process of that axis."""
    both = horizontal_process(GRID)
    transition = both.transition[:3, :3]
    noise = np.linalg.inv(both.inverse_noise[:3, :3])
    rng = np.random.default_rng(1)
    value = np.cumsum(100.0 + np.cumsum(0.3 * rng.standard_normal(FIXES)))
    return transition, noise, value + SIGMA * rng.standard_normal(FIXES)


def library(transition, noise, value):
    """Smoothed means by the library, shape (m, 3)."""
    every = round(1.0 / GRID)
    readings = [None] * ((FIXES - 1) * every + 1)
    readings[::every] = [np.array([[x]]) for x in value]
    kalman = KalmanFilter(dim_x=3, dim_z=1)
    kalman.x = np.zeros((3, 1))
    kalman.P = np.diag([1e12, 1e6, 1e4])
    kalman.F, kalman.Q = transition, JERK * noise
    kalman.H, kalman.R = np.array([[1.0, 0.0, 0.0]]), np.array([[SIGMA**2]])
    means, covariances, _, _ = kalman.batch_filter(readings, update_first=True)
    smooth, *_ = kalman.rts_smoother(means, covariances)
    return smooth[:, :, 0]


def banded(transition, noise, value):
    """Smoothed means by one banded factor, shape (m, 3)."""
    process = Process(transition, np.linalg.inv(noise), float(np.linalg.slogdet(noise)[1]))
    node = np.arange(FIXES) * round(1.0 / GRID)
    axes, _ = taylor(np.zeros(FIXES))
    one = np.ones(FIXES)
    rows = Rows(node * 0, node, axes, value, one, one, node)
    _, mean = posterior(
        process, rows, np.array([1e6, 1e3, 1e2]), np.full(node[-1], JERK), SIGMA**2 * one
    )
    return mean


def timed(call):
    """First and best later time of a call, and its value."""
    times, value = [], None
    for _ in range(3):
        started = time.perf_counter()
        value = call()
        times.append(time.perf_counter() - started)
    return times[0], min(times[1:]), value


def whole():
    """The whole estimate on 10,000 fixes: first call on a short track, then warm."""
    rng = np.random.default_rng(2)
    truth = fly(
        FIXES / 0.95 + 4.0,
        climb=lambda t: 0.02 * np.sin(t / 60.0),
        heading=lambda t: 0.5 * np.sin(t / 90.0),
        rng=rng,
        gusts=0.02,
    )
    track = observe(truth, rng, PLAIN)
    started = time.perf_counter()
    motion = estimate_motion(track, weather=WEATHER, lift=LIFT, rng=rng)
    spent = time.perf_counter() - started
    grid = ~motion.is_fix
    paths = np.median(motion.paths["normal_load_factor"][:, grid], axis=0)
    error = paths - truth.at("normal_load_factor", motion.time[grid])
    return spent, len(track.position), float(np.sqrt((error**2).mean()))


def main() -> None:
    """Run both and write the ratios."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    case = problem()
    first, warm, ours = timed(lambda: banded(*case))
    their_first, their_warm, theirs = timed(lambda: library(*case))
    apart = np.abs(ours - theirs)[:, :2].max(axis=0)
    spent, fixes, error = whole()
    lines = [
        "# Speed of the smoother",
        "",
        f"{FIXES} positions one second apart on a grid of {GRID} s, the same process and noise.",
        "",
        "| | library over ours |",
        "|---|---|",
        f"| first call | {their_first / first:.0f} |",
        f"| warm call | {their_warm / warm:.0f} |",
        "",
        f"Largest difference of the means: {apart[0]:.1e} m in position and {apart[1]:.1e} m/s in "
        "velocity.",
        "",
        f"The whole estimate of {fixes} fixes, with noise levels, lags and 200 joint sample paths "
        f"of every variable, takes {spent / their_warm:.1f} times what the library takes to smooth "
        f"one axis once; its load factor is off by {error:.3f} root mean square.",
    ]
    text = "\n".join(lines)
    options.out.write_text(text + "\n")
    print(text)
    print(f"ours {first:.3f} s, {warm:.3f} s; library {their_first:.2f} s, {their_warm:.2f} s")
    print(f"whole estimate {spent:.1f} s")


if __name__ == "__main__":
    main()
