"""Odds of the causes on flights of a rigid airplane in six degrees of freedom that nobody tuned on.

    python benchmarks/six_degrees_odds.py [--seed N ...] [--count N] [--out FILE] [--kept FILE ...]

Flights of `six_degrees_flights.py`: own equations, pilots, faults and sensors, airplanes of the
catalogue with errors that the analyst does not know; a quarter and more with nothing failed, a
tenth with a cause that is on no list. Each is seen, worked out by the smoother and asked of the
shipped networks, with the onset left to the program, by the same functions as a study. Flights
whose fault leaves no trace beside a twin without it are left out.
"""

from __future__ import annotations

import argparse
import pickle
from pathlib import Path

import numpy as np
from onset_truth import PLAIN, VISIBLE, departure
from six_degrees_airframe import load
from six_degrees_faults import KINDS
from six_degrees_flights import BEGINS, SPAN, Flights, fly
from six_degrees_odds_report import report
from six_degrees_seen import drawn_system, motion_of, seen
from six_degrees_worked import Worked

from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.motion import ONSET_SIGNALS
from neutralpoint.quantities import DEGREE
from neutralpoint.weighing.course import COLUMNS

RESULTS = Path(__file__).parent / "results" / "six_degrees_odds.md"
PATHS = 32
MORE = ("dynamic_pressure", "mach", "pressure_altitude")
KEPT = tuple(dict.fromkeys((*ONSET_SIGNALS, *COLUMNS, *MORE)))
OF = dict(zip(VISIBLE, ("path", "bank", "speed", "load"), strict=True))
LEAST = (45.0, 10.0)  # s of a record, and of what follows the fault, that are worth asking


def _span(flown: Flights, k: int, rng: np.random.Generator) -> tuple[float, float]:
    """Begin and end of the record of a flight, s."""
    begin = flown.begin[k] if np.isfinite(flown.begin[k]) else rng.uniform(*BEGINS)
    first = max(0.0, begin - rng.uniform(50.0, 130.0))
    return first, min(flown.end[k], begin + rng.uniform(15.0, 110.0), SPAN - 1.0)


def _onset(flown: Flights, k: int, span: tuple[float, float]) -> tuple[float, float]:
    """When the motion parts from its twin's, s of the record, and how far it ever does."""
    inside = (flown.time >= span[0]) & (flown.time <= span[1])
    pair = [
        {name: each[key][k, inside] for name, key in OF.items()}
        for each in (flown.values, flown.twin)
    ]
    return departure(flown.time[inside] - span[0], *pair)


def _strata(flown: Flights, k: int, system: str, span: tuple[float, float]) -> tuple[str, ...]:
    begin, end = (int(x) for x in span)
    meant = {name: flown.plan[name][k, begin:end] for name in ("bank", "climb")}
    busy = (np.abs(np.diff(meant["bank"])) > 8.0 * DEGREE).sum()
    busy += (np.abs(np.diff(meant["climb"])) > 1.5).sum()
    gust = flown.gust[k]
    return (
        flown.names[k],
        system,
        "autopilot on" if flown.engaged[k] else "flown by hand",
        "still air" if gust < 0.3 else "light gusts" if gust < 1.0 else "rough air",
        "several maneuvers" if busy > 2 else "one or two maneuvers" if busy else "quiet",
        "flaps out" if flown.flap[k] else "flaps in",
    )


def worked_one(
    flown: Flights, k: int, described: DescribedAirplane, rng: np.random.Generator
) -> Worked | None:
    """See and work out one flight; None where its fault leaves no trace or its record is short."""
    span = _span(flown, k, rng)
    system = drawn_system(rng)
    failed = np.isfinite(flown.begin[k])
    if span[1] - span[0] < LEAST[0]:
        return None
    onset, most = _onset(flown, k, span) if failed else (np.nan, np.inf)
    if failed and not (most >= PLAIN and span[1] - span[0] - onset >= LEAST[1]):
        return None
    inside = (flown.time >= span[0]) & (flown.time <= span[1])
    values = {name: each[k, inside] for name, each in flown.values.items()}
    clock = flown.time[inside] - span[0]
    flap = float(flown.flap[k])
    air = float(flown.air_frames.warmer[k]), flap > 0.0
    told = seen(clock, values, described, system, air, rng)
    motion = motion_of(told, rng, PATHS, flown.kind[k])
    if motion is None:
        return None
    return Worked(
        kind=flown.kind[k],
        fitting=KINDS[flown.kind[k]][0],
        name=flown.names[k],
        strata=_strata(flown, k, system.label, span),
        onset=onset,
        fault=float(flown.begin[k] - span[0]),
        flap=flap,
        airplane=described.airplane,
        system=system.label,
        time=motion.time,
        is_fix=motion.is_fix,
        paths={name: motion.paths[name].astype(np.float32) for name in KEPT},
        truth={
            name: np.interp(motion.time, clock, values[name])
            for name in ("path", "bank", "speed", "load", "height", "pitch")
        },
    )


def worked_out(seed: int, count: int, kept: Path | None = None) -> list[Worked]:
    """Fly and work out flights until `count` are worth asking about.

    Args:
        seed: Of everything.
        count: How many are wanted.
        kept: File that they are written to on the way.
    """
    described, found, batch = load(), [], 0
    rng = np.random.default_rng([seed, 1])
    while len(found) < count:
        flown = fly(1000 * seed + batch, 100, described)
        for k in range(len(flown.kind)):
            one = worked_one(flown, k, described[flown.names[k]], rng)
            found += [one] if one else []
            if kept and len(found) % 20 == 0:
                kept.write_bytes(pickle.dumps(found))
            if len(found) == count:
                break
        batch += 1
        print(f"batch {batch}: {len(found)} flights worked out", flush=True)
    if kept:
        kept.write_bytes(pickle.dumps(found))
    return found


def main() -> None:
    """Fly, see, ask, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, nargs="+", default=[7207, 7208, 7209, 7210])
    parser.add_argument("--count", type=int, default=50, help="of each seed")
    parser.add_argument("--out", type=Path, default=RESULTS)
    parser.add_argument("--kept", type=Path, nargs="+", help="file of the flights of each seed")
    parser.add_argument("--only-fly", action="store_true", help="ask nothing of the networks")
    options = parser.parse_args()
    worked = []
    for seed, kept in zip(options.seed, options.kept or [None] * len(options.seed), strict=True):
        if kept and kept.exists():
            worked += pickle.loads(kept.read_bytes())
        else:
            worked += worked_out(seed, options.count, kept)
    if not options.only_fly:
        options.out.write_text(report(worked, options.seed))


if __name__ == "__main__":
    main()
