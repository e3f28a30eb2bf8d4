"""Blind cases from another truth model: log score, coverage, wrong exclusions, reliability.

Flights of every cause are flown by another airplane than the one that is weighed with (derivatives
off by 20 %), in rougher air, by quicker pilots with longer delays, and seen with errors of the size
that a motion from a 1 Hz track has. Needs only numpy, scipy, jax, optax and blackjax:

    PYTHONPATH=src:benchmarks python3 benchmarks/calibration.py --cases 208 --flights 300

Prints and writes the score that is shipped with the package and printed beside every conclusion.
"""

from __future__ import annotations

import argparse
import json
import time
from dataclasses import replace
from pathlib import Path

import jax
import numpy as np
from commuter import make_commuter

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.explanations import Prior
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.scores import (
    brier_score,
    credible_set_cover,
    interval_cover,
    log_score,
    reliability,
)
from neutralpoint.weighing.simulate import ORDINARY, Start, flyable, simulate
from neutralpoint.weighing.weigh import weigh

FITTED = Uncertainty(
    {
        "lift_slope": 0.05,
        "neutral_point": 0.02,
        "pitch_damping": 0.15,
        "elevator_power": 0.1,
        "stabilizer_power": 0.1,
        "drag": 0.1,
        "thrust": 0.05,
        "mass": 0.02,
        "cg_station": 0.03,
        "roll_yaw": 0.15,
    }
)
TRUTH = Uncertainty({name: max(0.2, s) if s > 0.04 else s for name, s in FITTED.sigma.items()})
OTHER = {
    "crossover": Prior("lognormal", 1.3, 0.4),
    "delay": Prior("lognormal", 0.4, 0.3),
    "holding": Prior("lognormal", 0.4, 0.5),
    "air": Prior("lognormal", 0.8, 0.8),
}
PILOTS = tuple(replace(p, prior=OTHER[p.name]) if p.name in OTHER else p for p in ORDINARY)
# Errors of a motion: standard deviation, and time over which they change, s.
ERRORS = {
    "normal_load_factor": (0.05, 2.0),
    "longitudinal_load_factor": (0.03, 3.0),
    "bank_angle": (0.03, 3.0),
    "true_airspeed": (3.0, 60.0),
    "flight_path_angle": (0.01, 5.0),
    "altitude": (8.0, 10.0),
}
DURATION, SPEED, ALTITUDE, WINDOW = 40.0, 100.0, 3000.0, 2.0


def wandering(rng, count, time_, sigma, scale):
    """Gaussian errors that forget themselves over a time scale."""
    apart = np.abs(time_[:, None] - time_[None, :])
    factor = np.linalg.cholesky(np.exp(-apart / scale) + 1e-9 * np.eye(time_.size))
    return sigma * rng.standard_normal((count, time_.size)) @ factor.T


def as_seen(batch, number, rng):
    """One flight as a reconstruction gives it: one error made, its spread known."""
    paths = {}
    for name in COLUMNS:
        sigma, scale = ERRORS[name]
        errors = wandering(rng, 101, batch.course.time, sigma, scale)
        paths[name] = getattr(batch.course, name)[number] + errors[0] + errors[1:]
    return Course(batch.course.time, **paths)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=208)
    parser.add_argument("--flights", type=int, default=300, help="simulated flights of each cause")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--deep", type=int, default=40, help="cases with parameters as well")
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    rng, airplane = np.random.default_rng(options.seed), make_commuter()
    causes = flyable(airplane)
    start = Start(np.full(64, SPEED), np.zeros(64), ALTITUDE)
    each = -(-options.cases // len(causes))
    begin = time.perf_counter()
    truth = simulate(
        airplane,
        TRUTH.draw(rng, each * len(causes)),
        start,
        causes,
        rng=rng,
        duration=DURATION,
        ordinary=PILOTS,
    )
    # Every case starts from the same steady flight, so the simulated flights serve them all.
    flown = simulate(
        airplane,
        FITTED.draw(rng, options.flights * len(causes)),
        start,
        causes,
        rng=rng,
        duration=DURATION,
    )
    print(f"flights in {time.perf_counter() - begin:.0f} s on {jax.devices()[0]}", flush=True)
    prior = np.full(len(causes) + 1, 1.0 / (len(causes) + 1))
    given, true, covered, spent = [], [], [], []
    for number in range(each):
        for index, batch in enumerate(truth):
            deep = len(given) < options.deep
            begin = time.perf_counter()
            found = weigh(
                as_seen(batch, number, rng),
                flown,
                window=WINDOW,
                prior=prior,
                rng=rng,
                deep=deep,
            )
            spent.append(time.perf_counter() - begin)
            given.append(found.odds.probability)
            true.append(index)
            if deep and batch.cause in found.parameters:
                draws = found.parameters[batch.cause].draws
                covered += [
                    interval_cover(draws[:, i], batch.values[number, i])
                    for i in range(draws.shape[1])
                    if np.unique(batch.values[:, i]).size > 4
                ]
    given, true = np.array(given), np.array(true)
    diagram = reliability(given, true)
    result = {
        "cases": len(true),
        "flights_of_each_cause": options.flights,
        "device": str(jax.devices()[0]),
        "mean_log_score": float(log_score(given, true).mean()),
        "prior_log_score": float(np.log(prior[0])),
        "brier": float(brier_score(given, true).mean()),
        "true_cause_below_1_percent": float((given[np.arange(len(true)), true] < 0.01).mean()),
        "cover_of_90_percent_sets": float(credible_set_cover(given, true).mean()),
        "cover_of_90_percent_parameter_intervals": float(np.mean(covered)) if covered else None,
        "parameter_intervals": len(covered),
        "true_cause_leads": float((given.argmax(1) == true).mean()),
        "median_seconds_a_case": float(np.median(spent)),
        "reliability": {
            "edges": list(diagram.edges),
            "stated": [None if np.isnan(x) else float(x) for x in diagram.stated],
            "happened": [None if np.isnan(x) else float(x) for x in diagram.happened],
            "count": [int(x) for x in diagram.count],
        },
        "by_cause": {
            batch.cause: {
                "mean_log_score": float(log_score(given, true)[true == i].mean()),
                "leads": float((given.argmax(1) == i)[true == i].mean()),
            }
            for i, batch in enumerate(truth)
        },
    }
    text = json.dumps(result, indent=1)
    print(text)
    if options.json:
        options.json.write_text(text + "\n", "utf-8")


if __name__ == "__main__":
    main()
