"""Blind cases from another truth model: what the weighing says of flights of known cause.

Flights of every cause are flown by another airplane than the one that is weighed with (derivatives
off by 20 %), in rougher air, by other pilots who do other things on purpose, from several steady
flights of several airplanes; beside them some of the world that causes are flown in, and of one
twice as wide as documented. They are seen with errors of the size that a motion from a 1 Hz track
has, and some through such a track and the smoother itself. Flights on which nothing failed are
weighed too, simulated and recorded ones. Needs only numpy, scipy, jax, optax and blackjax, and the
file of `calibration_prepare.py`:

    PYTHONPATH=src:benchmarks python3 benchmarks/calibration.py FILE --raw RAW [--budget SECONDS]

Keeps what the networks said of every case; `calibration_report.py` judges it.
"""

from __future__ import annotations

import argparse
import pickle
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from pathlib import Path

import jax
import numpy as np
from calibration_cases import (
    DURATION,
    SETTINGS,
    TWICE,
    WINDOW,
    Setting,
    as_seen,
    some,
)

from neutralpoint.weighing.blind import OTHER_ORDINARY, other_airplane
from neutralpoint.weighing.compare import TRACE, Compared, beside, compare
from neutralpoint.weighing.features import features
from neutralpoint.weighing.flights import Flown
from neutralpoint.weighing.network import Network, log_evidence
from neutralpoint.weighing.odds import NOTHING, UNLISTED
from neutralpoint.weighing.scores import interval_cover
from neutralpoint.weighing.simulate import flyable, simulate
from neutralpoint.weighing.weigh import QUICK_STEPS, Asked, parameters_of, tell_apart
from neutralpoint.weighing.wider import WIDER_ORDINARY, wider_airplane, wider_ordinary

ORDER = (0, 4, 2, 1, 3, 5, 6)  # those that are also seen through the smoother come first
SPARE = 10  # times as many flights are flown as cases are wanted: some faults leave no trace
RECORDED_FLIGHTS = 300  # of each cause, for each window of a recorded flight
QUICK_FLIGHTS = 192  # as in study.weighing, which needs more than is at hand here


@dataclass
class Kept:
    """What is kept of a run: one entry a case, and what was measured beside."""

    file: Path
    cases: list[dict] = field(default_factory=list)
    covered: list[dict] = field(default_factory=list)
    traced: dict[str, dict[str, float]] = field(default_factory=dict)
    smoother: list[dict] = field(default_factory=list)
    seconds: dict[str, float] = field(default_factory=dict)
    begun: float = field(default_factory=time.perf_counter)

    def add(self, world: str, label: str, names, cause: str, runs) -> None:
        """Keep what the networks said of one case, log evidence of shape (R, C)."""
        self.cases.append(
            {"world": world, "label": label, "names": names, "cause": cause, "runs": runs}
        )

    def save(self) -> None:
        """Write it all."""
        content = {k: v for k, v in vars(self).items() if k not in ("file", "begun")}
        device = jax.devices()[0]
        content["device"] = f"{device.platform}: {device.device_kind}"
        self.file.write_bytes(pickle.dumps(content))

    @property
    def spent(self) -> float:
        """Since the begin, s."""
        return time.perf_counter() - self.begun


@dataclass(frozen=True)
class Known:
    """Flights of a setting as the analyst flies them, with networks for the usual errors."""

    label: str
    flown: list[Flown]
    names: tuple[str, ...]
    compared: Compared
    network: Network
    quick: Network


def known(setting: Setting, prepared, flights: int, rng, seeds: int) -> Known:
    """Fly a setting and train."""
    airplane, fitted = prepared["airplanes"][setting.airplane]
    causes = flyable(airplane)
    flown = simulate(
        airplane,
        wider_airplane(fitted).draw(rng, flights * len(causes)),
        setting.start(),
        causes,
        rng=rng,
        duration=DURATION,
    )
    middle = some(flown[0].course, np.array([0]))
    compared = compare(as_seen(middle, 0, rng), flown, WINDOW)
    names = (*(batch.cause for batch in flown), UNLISTED)
    label = f"{setting.airplane}, {setting.speed:.0f} m/s, {np.degrees(setting.path_angle):.0f} deg"
    few = replace(
        compared,
        simulated=[rows[:QUICK_FLIGHTS] for rows in compared.simulated],
        traced=[rows[:QUICK_FLIGHTS] for rows in compared.traced],
    )
    return Known(
        label,
        flown,
        names,
        compared,
        tell_apart(compared, rng, seeds),
        tell_apart(few, rng, seeds, QUICK_STEPS),
    )


def compile_all(prepared) -> None:
    """Fly a few flights of every airplane at once, so that their programs compile side by side."""

    def one(entry) -> None:
        airplane, fitted = entry
        causes, rng = flyable(airplane), np.random.default_rng(0)
        first = next(s for s in SETTINGS if prepared["airplanes"][s.airplane][0] is airplane)
        draws = fitted.draw(rng, len(causes))
        simulate(airplane, draws, first.start(), causes, rng=rng, duration=DURATION)

    with ThreadPoolExecutor() as pool:
        list(pool.map(one, prepared["airplanes"].values()))


def moved(clean, twin, about: Known) -> np.ndarray:
    """How far faults moved their flights, in standard deviations, shape (n,)."""
    at, sigma = about.compared.at, about.compared.scale.sigma
    return np.abs((features(clean, at, WINDOW) - features(twin, at, WINDOW)) / sigma).max(axis=1)


def direct(world: str, about: Known, truth, pilots, setting, airplane, each: int, rng, kept, deep):
    """Cases with errors of the stated size, all judged by the networks of their setting."""
    causes = flyable(airplane)
    flown = simulate(
        airplane,
        truth.draw(rng, SPARE * each * len(causes)),
        setting.start(),
        causes,
        rng=rng,
        duration=DURATION,
        ordinary=pilots,
    )
    null, asked, rows, labels = flown[0], [], [], []
    for batch in flown:
        far = moved(batch.course, some(null.course, batch.twin), about)
        left = np.isfinite(far) & ((far >= TRACE) | (batch.cause == NOTHING))
        kept.traced.setdefault(about.label, {})[batch.cause] = float(left.mean())
        for number in np.flatnonzero(left)[:each]:
            seen = features(as_seen(batch.course, number, rng), about.compared.at, WINDOW)
            rows.append(seen.mean(axis=0))
            labels.append(batch.cause)
            mine = about.names.index(batch.cause)
            fitted = about.flown[mine]
            if deep and fitted.parameters:
                compared = about.compared
                one = Asked(fitted, compared.simulated[mine], compared.errors, rows[-1])
                asked.append((one, batch.values[number]))
    runs = log_evidence(about.network, np.array(rows))
    quick = log_evidence(about.quick, np.array(rows))
    for place, cause in enumerate(labels):
        kept.add(world, about.label, about.names, cause, runs[:, place])
        kept.add(f"{world}, quick look", about.label, about.names, cause, quick[:, place])
    if deep:
        judge_parameters(asked, about, deep, rng, kept)


def judge_parameters(asked, about: Known, count: int, rng, kept: Kept) -> None:
    """Whether intervals of parameters hold the truth."""
    chosen = [asked[i] for i in rng.permutation(len(asked))[:count]]
    found = parameters_of([entry for entry, _ in chosen], about.network, rng)
    for posterior, (entry, values) in zip(found, chosen, strict=True):
        for place, name in enumerate(posterior.names):
            draws = posterior.draws[:, place]
            if np.unique(entry.flown.values[:, place]).size <= 4:
                continue  # a side or a count, no interval
            kept.covered.append(
                {
                    "cause": entry.flown.cause,
                    "parameter": name,
                    "inside": interval_cover(draws, values[place]),
                    "rank": float(np.mean(draws < values[place])),
                    "narrowed": float(draws.std() / entry.flown.values[:, place].std()),
                }
            )


def ordinary(about: Known, truth, setting, airplane, count: int, rng, kept: Kept) -> None:
    """Flights on which nothing failed, of the other world."""
    causes = tuple(c for c in flyable(airplane) if c.name == NOTHING)
    flown = simulate(
        airplane,
        truth.draw(rng, count),
        setting.start(),
        causes,
        rng=rng,
        duration=DURATION,
        ordinary=OTHER_ORDINARY,
    )[0]
    rows = [
        features(as_seen(flown.course, i, rng), about.compared.at, WINDOW).mean(axis=0)
        for i in range(count)
    ]
    runs = log_evidence(about.network, np.array(rows))
    for place in range(count):
        kept.add("ordinary simulated", about.label, about.names, NOTHING, runs[:, place])


def smoothed(about: Known, cases, until: float, rng, seeds: int, kept: Kept) -> None:
    """Cases through track and smoother, each with networks for its own errors."""
    for case in cases:
        if kept.spent > until:
            return
        far = moved(case.clean, case.twin, about)[0]
        if case.cause != NOTHING and not far >= TRACE:
            continue
        at = about.compared.at
        compared = beside(case.seen, about.flown, about.compared.simulated, at, WINDOW)
        network = tell_apart(compared, rng, seeds)
        runs = log_evidence(network, compared.observed[None])[:, 0]
        kept.add("smoothed", about.label, about.names, case.cause, runs)
        error = compared.observed - features(case.clean, at, WINDOW)[0]
        kept.smoother.append(
            {"error": error, "spread": compared.errors.std(axis=0), "knots": at.size}
        )
    kept.save()


def recorded(prepared, until: float, rng, seeds: int, kept: Kept) -> None:
    """Windows of recorded flights, each with flights from its own start."""
    cases = prepared["recorded"]
    for place in rng.permutation(len(cases)):
        if kept.spent > until:
            return
        case = cases[place]
        airplane, fitted = prepared["airplanes"][case.airplane]
        causes = flyable(airplane)
        flown = simulate(
            airplane,
            wider_airplane(fitted).draw(rng, RECORDED_FLIGHTS * len(causes)),
            case.start,
            causes,
            rng=rng,
            duration=float(case.seen.time[-1]),
        )
        compared = compare(case.seen, flown, WINDOW)
        names = (*(batch.cause for batch in flown), UNLISTED)
        if not all(np.isfinite(rows).all() for rows in compared.simulated):
            kept.add(f"{case.label}, not trimmed", case.airplane, names, NOTHING, None)
            continue
        network = tell_apart(compared, rng, seeds)
        runs = log_evidence(network, compared.observed[None])[:, 0]
        kept.add(case.label, case.airplane, names, NOTHING, runs)
    kept.save()


def main() -> None:
    """Run and keep."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("file", type=Path, help="of calibration_prepare.py")
    parser.add_argument("--raw", type=Path, required=True)
    parser.add_argument("--cases", type=int, default=832)
    parser.add_argument("--flights", type=int, default=1000, help="simulated flights of each cause")
    parser.add_argument("--seed", type=int, default=12)
    parser.add_argument("--seeds", type=int, default=5, help="networks")
    parser.add_argument("--deep", type=int, default=96, help="cases with parameters as well")
    parser.add_argument("--settings", type=int, nargs="*", default=ORDER, help="places in SETTINGS")
    parser.add_argument("--budget", type=float, default=560.0, help="s")
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    prepared = pickle.loads(options.file.read_bytes())
    kept = Kept(options.raw)
    deep = -(-options.deep // len(SETTINGS))
    each = -(-options.cases // (16 * len(SETTINGS)))
    compile_all(prepared)
    print(f"{kept.spent:.0f} s: compiled", flush=True)
    through = {}
    for place in options.settings:
        setting = SETTINGS[place]
        airplane, fitted = prepared["airplanes"][setting.airplane]
        about = known(setting, prepared, options.flights, rng, options.seeds)
        truth = other_airplane(fitted)
        direct("blind", about, truth, OTHER_ORDINARY, setting, airplane, each, rng, kept, deep)
        for world, wide, pilots in (
            ("own", wider_airplane(fitted), WIDER_ORDINARY),
            ("twice", wider_airplane(fitted, TWICE), wider_ordinary(TWICE)),
        ):
            direct(world, about, wide, pilots, setting, airplane, each // 2, rng, kept, 0)
        ordinary(about, truth, setting, airplane, 40, rng, kept)
        kept.save()
        print(f"{kept.spent:.0f} s: {about.label}, {len(kept.cases)} cases", flush=True)
        if cases := prepared["smoothed"].get(place):
            through[place] = (about, cases)
    left = options.budget - kept.spent
    for number, (about, cases) in enumerate(through.values(), start=1):
        chosen = [cases[i] for i in rng.permutation(len(cases))]
        until = options.budget - left + 0.5 * left * number / len(through)
        smoothed(about, chosen, until, rng, options.seeds, kept)
        print(f"{kept.spent:.0f} s: {about.label} smoothed", flush=True)
    recorded(prepared, options.budget, rng, options.seeds, kept)
    kept.seconds["all"] = kept.spent
    kept.save()
    print(f"{kept.spent:.0f} s: recorded, {len(kept.cases)} cases", flush=True)


if __name__ == "__main__":
    main()
