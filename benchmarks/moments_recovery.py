"""How often the required moment tells the truth: flights under known carriers.

    OMP_NUM_THREADS=1 python benchmarks/moments_recovery.py [RUNS] [PROCESSES] [independent]

Every run is flown, degraded to a surveillance track, smoothed, inverted and judged by an analyst
who has other derivatives and another wind. Prints, and writes to results/moments_recovery.md:
coverage of the 90% bands of the true carrier, calibration of the scaling test, and calls of power
change. The words given to causes are judged by moments_verdicts.py on a second truth.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from moments_chain import WINDOW, Chain
from moments_flights import TRACKS, Run, exact_flight, simulate
from moments_recovery_report import report
from moments_seen import Seen, seen_flights, worked_through
from moments_speed import measure

from neutralpoint.airplane.model import Airplane
from neutralpoint.moments import (
    FEWEST,
    needed_history,
    power_change,
    required_moment,
    scaling_test,
)
from neutralpoint.moments.question import standing
from neutralpoint.quantities import GRAVITY

RESULTS = Path(__file__).parent / "results"
SEED = 20300601


def true_carrier(run: Run, trimmed_times: tuple[float, float]):
    """Name of the carrier and its true history with what the hands were worth in it, or None."""
    s, (first, last) = run.series, trimmed_times
    kind = run.airplane.trim_drive.kind
    name, series = {
        "trim": (kind, kind),
        "center of gravity": ("cg_shift", "cg_shift"),
        "elevator": ("elevator", "elevator"),
        "power": ("thrust", "thrust"),
    }[run.kind]
    inside = (run.time >= first) & (run.time <= last)
    if run.kind == "power":
        return name, s["thrust"]
    history = s[series] - s[series][inside].mean()
    if run.hands:
        exact = required_moment(run.truth, exact_flight(run), inside, window=WINDOW)
        worth = getattr(exact, name)[0] / exact.column_force[0]
        history = history + worth * s["column_force"]
    return name, history


def averaged(times: np.ndarray, series: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Mean over the smoothing window."""
    offsets = WINDOW * np.array([-0.4, -0.2, 0.0, 0.2, 0.4])
    return np.mean([np.interp(at + o, times, series) for o in offsets], axis=0)


def study(seen: Seen) -> dict:
    """One run from its track to its verdicts."""
    run, nominal = seen.run, seen.nominal
    chain, rng = seen.analysed()
    row = {"kind": run.kind, "airplane": nominal.name, "hands": run.hands, "how": seen.how.label}
    row |= {"seconds": chain.seconds, "onset": run.onset}
    row |= _scaling(chain, rng) | _power(chain, run, nominal)
    row |= _bands(chain, run)
    return row


def _scaling(chain: Chain, rng: np.random.Generator) -> dict:
    required, part = chain.required, chain.part
    needed = needed_history(part, standing, lambda took: np.ones_like(took.moment))
    if needed.time.size < FEWEST:
        return {}
    base = required.lift_coefficient[:, chain.trimmed].mean(axis=1, keepdims=True)
    lift = (required.lift_coefficient[:, part.knots] / base).mean(0)
    scaling = scaling_test(needed, lift, rng, window=WINDOW)
    return {"surface": scaling.surface(), "surface_power": scaling.surface_power()}


def _power(chain: Chain, run: Run, nominal: Airplane) -> dict:
    change = power_change(
        chain.energy,
        chain.required.time,
        chain.trimmed,
        run.onset,
        float(nominal.mass.mass) * GRAVITY,
    )
    return {"fell": change.fell, "rose": change.rose}


def _bands(chain: Chain, run: Run) -> dict:
    """Where the true carrier lies against its band, every 2 s."""
    required = chain.required
    times = required.time[chain.trimmed]
    name, truth = true_carrier(run, (float(times[0]), float(times[-1])))
    nodes = np.searchsorted(required.time, np.arange(run.onset - 4.0, run.end - 1.0, 2.0))
    nodes = nodes[nodes < required.time.size]
    nodes = nodes[~required.stalled[nodes]]
    paths = getattr(required, name)[:, nodes]
    known = np.isfinite(paths).all(axis=0)
    nodes, paths = nodes[known], paths[:, known]
    true = averaged(run.time, truth, required.time[nodes])
    low, middle, high = np.quantile(paths, (0.05, 0.5, 0.95), axis=0)
    return {
        "inside": (true >= low) & (true <= high),
        "late": required.time[nodes] > run.onset + 2.0,
        "error": middle - true,
        "half": 0.5 * (high - low),
    }


def main() -> None:
    """Run and write."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 330
    processes = int(sys.argv[2]) if len(sys.argv) > 2 else 2
    independent = "independent" in sys.argv
    made = seen_flights(simulate, TRACKS[:2], runs=runs, seed=SEED, independent=independent)
    rows = worked_through(study, made, processes)
    text = report(rows, independent, measure(made[0].nominal, made[0].uncertainty))
    print(text)
    name = "moments_recovery_independent.md" if independent else "moments_recovery.md"
    (RESULTS / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
