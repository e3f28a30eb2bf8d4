"""Fit the weights of the onset's score to simulated flights of every cause of the product.

    python benchmarks/onset_fit.py [--seed N] [--each N] [--kept FOLDER]

Flights of four settings of three airplanes, by other airplanes and pilots than the analyst assumes,
with turns, climbs and changes of power before and after a fault, are blurred and spoilt about as a
track and its smoother do. The conditional logit gives a probability to every second of a record and
to there being no onset; its weights, with a small penalty on their size, are those that make the
true ones most probable. Written to `src/neutralpoint/motion/onset_weights.py`. Nothing of
`upset_flights.py`, on which the onset is judged, takes part.
"""

from __future__ import annotations

import argparse
import pickle
from pathlib import Path

import numpy as np
from calibration_cases import ERRORS, SETTINGS
from onset_truth import PLAIN, VISIBLE, departure
from scipy.ndimage import gaussian_filter1d
from scipy.optimize import minimize
from scipy.signal import lfilter

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.motion.onset_features import NAMES, cells, onset_features
from neutralpoint.weighing.blind import OTHER_ORDINARY, other_airplane
from neutralpoint.weighing.odds import NOTHING
from neutralpoint.weighing.simulate import flyable, simulate

TARGET = Path(__file__).parents[1] / "src" / "neutralpoint" / "motion" / "onset_weights.py"
PLACES = (0, 2, 4, 6)  # of `SETTINGS`
SPAN, FIRST, LAST = 150.0, 5.0, 120.0  # s of each flight; a fault begins between the last two
SIGNALS = (*VISIBLE, "longitudinal_load_factor")
CALM = 256  # flights of each setting on which nothing failed, beside those of every cause
PENALTY = 1e-2
HEADER = '''"""Weights of the score that tells when an upset began.

Made by benchmarks/onset_fit.py (seed {seed}, {count} flights, {upsets} with an upset); do not edit.
Source: fitted by benchmarks/onset_fit.py, judged by benchmarks/onset_blind.py.
"""

from __future__ import annotations

import numpy as np

from neutralpoint.motion.onset_features import NAMES

# Log odds of a second against no onset, before the number of seconds counts; and per unit of each
# number. Fitted.
INTERCEPT = {intercept:.4f}
_BY_NAME = {{  # fitted
'''


def flights(place: int, each: int, seed: int, *, calm: bool = False) -> dict:
    """Flights of every cause, or of none, and their twins, arrays (n, m) by name."""
    rng = np.random.default_rng([seed, place, int(calm)])
    setting = SETTINGS[place]
    described = load_airplane(setting.airplane)
    causes = flyable(described.airplane)
    causes = tuple(c for c in causes if not calm or c.name == NOTHING)
    flown = simulate(
        described.airplane,
        other_airplane(described.uncertainty).draw(rng, each * len(causes)),
        setting.start(),
        causes,
        rng=rng,
        duration=SPAN,
        begin_within=(FIRST, LAST),
        ordinary=OTHER_ORDINARY,
    )
    names = (*SIGNALS, "altitude")

    def every(rows_of):
        return {n: np.concatenate([getattr(*rows_of(b, n)) for b in flown]) for n in names}

    still = flown[0].course
    return {
        "time": still.time,
        "flown": every(lambda batch, name: (batch.course, name)),
        "twin": {
            name: np.concatenate([getattr(still, name)[batch.twin] for batch in flown])
            for name in names
        },
    }


def _wandering(rng: np.random.Generator, count: int, step: float, sigma: float, scale: float):
    """A Gaussian error that forgets itself over a time scale."""
    memory = np.exp(-step / scale)
    white = rng.standard_normal(count) * sigma * np.sqrt(1.0 - memory**2)
    white[0] = sigma * rng.standard_normal()
    return lfilter([1.0], [1.0, -memory], white)


def record(kept: dict, number: int, rng: np.random.Generator):
    """One flight as a smoother shows it, from some steady flight on, cut somewhere.

    Returns:
        Features and the cell of its onset, -1 without one; None where it is neither.
    """
    time = kept["time"]
    step = time[1] - time[0]
    flown = {name: kept["flown"][name][number].astype(float) for name in (*SIGNALS, "altitude")}
    twin = {name: kept["twin"][name][number].astype(float) for name in SIGNALS}
    onset, _ = departure(time, flown, twin)
    end = time[-1] if np.isnan(onset) else min(time[-1], onset + rng.uniform(10.0, 90.0))
    down = np.flatnonzero(flown["altitude"] < 0.0)
    end = min(end, time[down[0]]) if down.size else end
    kept_part = time <= end
    if kept_part.sum() * step < 15.0:
        return None
    part = [{n: values[n][kept_part] for n in SIGNALS} for values in (flown, twin)]
    onset, most = departure(time[kept_part], *part)
    if 1.0 < most < PLAIN:
        return None
    lead = round(rng.uniform(5.0, 50.0) / step)
    radar = rng.random() < 0.25
    blur = (3.5 if radar else 1.0) * np.exp(0.3 * rng.standard_normal()) / step
    size = (2.0 if radar else 1.0) * np.exp(0.3 * rng.standard_normal())
    seen = {}
    for name in SIGNALS:
        values = np.unwrap(part[0][name]) if name == "bank_angle" else part[0][name]
        values = gaussian_filter1d(np.r_[np.full(lead, values[0]), values], blur)
        sigma, scale = ERRORS[name]
        seen[name] = values + _wandering(rng, values.size, step, size * sigma, scale)
    clock = np.r_[time[0] - step * np.arange(lead, 0, -1), time[kept_part]]
    start, signals = cells(clock, seen)
    place = -1 if np.isnan(onset) else int(np.clip(onset - start[0], 0, start.size - 1))
    return onset_features(signals).astype(np.float32), place


def fit(records: list, penalty: float = PENALTY) -> tuple[float, np.ndarray]:
    """Intercept and weights on the features as they are."""
    table = np.concatenate([features for features, _ in records])
    middle, spread = table.mean(axis=0), table.std(axis=0) + 1e-3
    table = (table - middle) / spread
    sizes = np.array([len(features) for features, _ in records])
    first = np.r_[0, np.cumsum(sizes)[:-1]]
    owner = np.repeat(np.arange(sizes.size), sizes)
    truth = np.array([place for _, place in records])
    true = first[truth >= 0] + truth[truth >= 0]

    def loss(weights):
        score = table @ weights[:-1] + weights[-1] - np.log(sizes)[owner]
        top = np.maximum(np.maximum.reduceat(score, first), 0.0)
        each = np.exp(score - top[owner])
        total = np.add.reduceat(each, first) + np.exp(-top)
        value = np.log(total).sum() + top.sum() - score[true].sum()
        share = each / total[owner]
        share[true] -= 1.0
        slope = np.r_[share @ table, share.sum()] / sizes.size
        slope[:-1] += 2.0 * penalty * weights[:-1]
        return value / sizes.size + penalty * (weights[:-1] ** 2).sum(), slope

    found = minimize(
        loss, np.zeros(table.shape[1] + 1), jac=True, method="L-BFGS-B", options={"maxiter": 300}
    )
    weights = found.x[:-1] / spread
    return float(found.x[-1] - middle @ weights), weights


def main() -> None:
    """Fly, spoil, fit, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=22)
    parser.add_argument("--each", type=int, default=26, help="flights of each cause and setting")
    parser.add_argument("--kept", type=Path, help="folder that flights are kept in")
    options = parser.parse_args()
    rng = np.random.default_rng([options.seed, 1])
    records = []
    for place, calm in [(place, calm) for calm in (False, True) for place in PLACES]:
        name = f"onset_{options.seed}_{place}{'_calm' * calm}.pkl"
        file = options.kept / name if options.kept else None
        if file and file.exists():
            kept = pickle.loads(file.read_bytes())
        else:
            kept = flights(place, CALM if calm else options.each, options.seed, calm=calm)
            if file:
                file.write_bytes(pickle.dumps(kept))
        made = [record(kept, number, rng) for number in range(len(kept["flown"]["altitude"]))]
        records += [each for each in made if each is not None]
    intercept, weights = fit(records)
    upsets = sum(place >= 0 for _, place in records)
    lines = [f'    "{name}": {weight:.5g},\n' for name, weight in zip(NAMES, weights, strict=True)]
    head = HEADER.format(seed=options.seed, count=len(records), upsets=upsets, intercept=intercept)
    TARGET.write_text(
        head + "".join(lines) + "}\nWEIGHTS = np.array([_BY_NAME[name] for name in NAMES])\n"
    )


if __name__ == "__main__":
    main()
