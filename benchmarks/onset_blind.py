"""Whether the onset lies where the program says, on upsets of another simulator.

    python benchmarks/onset_blind.py [--seed N] [--flights N] [--out FILE]

Upsets of `upset_flights.py`, autopilot on and off, are seen as a surveillance system sees them,
worked out by the smoother, and the onset is left to the program. True onset: when the motion parts
from the same flight without the fault (`onset_truth.py`). Printed: how often one is found, how
often the 90% interval holds the truth, how wide it is, and how often the compared window holds the
begin of the fault. Beside it what a user would do by eye: the first second at which the vertical
force is off by 0.3 g.
"""

from __future__ import annotations

import argparse
import os
import pickle
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from calibration_prepare import forecast
from onset_truth import PLAIN, VISIBLE, departure
from recorded import SURVEILLANCE, Degradation, rounded
from upset_flights import KINDS, Flights, fly

from neutralpoint.moments import compared_span, flight_from_paths, references
from neutralpoint.motion import (
    ONSET_SIGNALS,
    LiftData,
    Onsets,
    estimate_motion,
    fault_begin,
    upset_onsets,
)
from neutralpoint.motion.curvilinear import Curvilinear
from neutralpoint.quantities import DEGREE
from neutralpoint.spawned import spawned_pool, submit_part
from neutralpoint.track import Observations, Track

RESULTS = Path(__file__).parent / "results" / "onset_blind.md"
EPOCH = datetime(2030, 6, 1, tzinfo=UTC)
PATHS = 24
LOT, PROCESSES = 48, 4  # flights flown and worked out together; lots at a time
SPAN = 240.0  # s of each flight
NAMES = dict(zip(VISIBLE, ("path", "bank", "speed", "load"), strict=True))
# Paths that the onset and the references are found from.
KEPT = (*ONSET_SIGNALS, "dynamic_pressure", "mach")
BY_EYE, LASTING = 0.3, 1.0  # g and s


@dataclass(frozen=True)
class Seen:
    """One flight: what it was, and what was said of its onset, s.

    `onset` and `fault` are NaN without one, `most` the largest difference from the twin, `eye` when
    the force is plainly off; `window` is what would be compared.
    """

    kind: str
    engaged: bool
    radar: bool
    onset: float
    most: float
    fault: float
    found: Onsets
    window: tuple[float, float]
    eye: float


def track_of(
    flown: Flights, number: int, span: tuple[float, float], how: Degradation, rng, wind
) -> Track:
    """What a surveillance system keeps of a part of a flight; second 0 is the first of the part."""
    clock, values = flown.time, {name: each[number] for name, each in flown.values.items()}
    heading = rng.uniform(-np.pi, np.pi)
    north, east = values["north"], values["east"]
    north, east = (
        north * np.cos(heading) - east * np.sin(heading) + wind[0] * clock,
        north * np.sin(heading) + east * np.cos(heading) + wind[1] * clock,
    )
    rates = [np.gradient(each, clock) for each in (north, east, values["height"])]
    age = 0.1 + 0.15 * rng.standard_normal()
    stands = np.arange(span[0] + 1.0, span[1], how.interval)
    stands = stands[rng.random(stands.size) >= how.drop]
    jitter = how.jitter * np.clip(rng.standard_normal(stands.size), -3.0, 3.0)
    stamp = np.sort(stands + jitter) - span[0]
    row, none = np.arange(2, stands.size + 2), np.zeros(stands.size, bool)

    def at(series):
        return np.interp(stands - age, clock, series)

    def channel(series, step):
        return Observations(stamp, rounded(series, step), step, row, row * 0, none)

    noise = how.position_sigma * rng.standard_normal((2, stands.size))
    place = Curvilinear(0.8, 0.3).to_geographic(at(north) + noise[0], at(east) + noise[1])
    angle = np.mod(np.arctan2(at(rates[1]), at(rates[0])), 2.0 * np.pi)
    speed = np.hypot(at(rates[0]), at(rates[1]))
    return Track(
        epoch=EPOCH,
        position=Observations(stamp, np.stack(place, axis=-1), 0.0, row, row * 0, none),
        pressure_altitude=channel(at(values["height"]), how.altitude_step),
        geometric_altitude=None,
        ground_speed=channel(speed, how.speed_step) if how.velocity else None,
        track_angle=channel(angle, how.angle_step) if how.velocity else None,
        vertical_rate=channel(at(rates[2]), how.rate_step) if how.velocity else None,
        vertical_rate_source="baro",
    )


@dataclass(frozen=True)
class Worked:
    """One flight computed: what it was, and its paths. NaN as in `Seen`."""

    kind: str
    engaged: bool
    radar: bool
    onset: float
    most: float
    fault: float
    time: np.ndarray
    is_fix: np.ndarray
    paths: dict[str, np.ndarray]


def analysed(worked: Worked) -> Seen:
    """Onset, compared window and the onset by eye, s on the motion's clock."""
    grid = ~worked.is_fix
    time = worked.time[grid]
    found = upset_onsets(time, {name: worked.paths[name][:, grid] for name in ONSET_SIGNALS})
    flight = flight_from_paths(worked.time, worked.is_fix, worked.paths, 2.0)
    begun = fault_begin(found)
    chosen = references(flight, begun.time, begun.weight)
    window = compared_span(chosen, found.interval[1], time[-1])
    load, bank, path = (
        np.median(worked.paths[name][:, grid], axis=0)
        for name in ("normal_load_factor", "bank_angle", "flight_path_angle")
    )
    off = np.abs(load * np.cos(bank) - np.cos(path)) > BY_EYE
    lasting = round(LASTING / float(time[1] - time[0]))
    run = np.convolve(off, np.ones(lasting), "valid") >= lasting
    eye = float(time[run.argmax()]) if run.any() else float("nan")
    w = worked
    return Seen(w.kind, w.engaged, w.radar, w.onset, w.most, w.fault, found, window, eye)


def lift_known(flown: Flights, number: int) -> LiftData:
    """What an analyst knows of the wing of one flight."""
    craft = {name: values[number] for name, values in flown.lift.items()}
    return LiftData(
        mass=1.02 * craft["mass"],
        wing_area=craft["area"],
        lift_slope=5.1,
        zero_lift_angle=-1.5 * DEGREE,
        maximum_lift=craft["most"],
        mass_sigma=0.03 * craft["mass"],
        lift_slope_sigma=0.4,
        zero_lift_angle_sigma=1.5 * DEGREE,
    )


def blind(seed: int, count: int) -> list[Worked]:
    """Fly, see, work out, in lots with seeds of their own."""
    sizes = [LOT] * (count // LOT) + [count % LOT] * (count % LOT > 0)
    with spawned_pool(min(PROCESSES, os.cpu_count() or 1)) as pool:
        parts = [submit_part(pool, lot, 1000 * seed + k, each) for k, each in enumerate(sizes)]
        return [worked for part in parts for worked in part.result()]


def lot(seed: int, count: int) -> list[Worked]:
    """A lot of them."""
    flown, twin = fly(seed, count, span=SPAN)
    rng = np.random.default_rng([seed, 1])
    found = []
    for number in range(count):
        begin = flown.fault[number] if flown.kind[number] else rng.uniform(80.0, 160.0)
        span = (
            max(0.0, begin - rng.uniform(60.0, 140.0)),
            min(flown.end[number], begin + rng.uniform(25.0, 110.0)),
        )
        how = SURVEILLANCE[rng.choice(3, p=[0.4, 0.35, 0.25])]
        wind = rng.normal(0.0, 8.0, 2)
        told = forecast(wind, rng)
        if span[1] - span[0] < 40.0:
            continue
        track = track_of(flown, number, span, how, rng, wind)
        motion = estimate_motion(
            track, weather=told, lift=lift_known(flown, number), rng=rng, samples=PATHS
        )
        inside = (flown.time >= span[0]) & (flown.time <= span[1])
        pair = [
            {name: each.values[key][number, inside] for name, key in NAMES.items()}
            for each in (flown, twin)
        ]
        onset, most = departure(flown.time[inside] - span[0], *pair)
        found.append(
            Worked(
                kind=KINDS[flown.kind[number]],
                engaged=bool(flown.engaged[number]),
                radar=how is SURVEILLANCE[2],
                onset=onset,
                most=most,
                fault=float(flown.fault[number] - span[0]),
                time=motion.time,
                is_fix=motion.is_fix,
                paths={name: motion.paths[name] for name in KEPT},
            )
        )
    return found


def row(label: str, chosen: list[Seen]) -> str:
    """One row of the table of upsets."""
    inside = [s.found.interval[0] <= s.onset <= s.found.interval[1] for s in chosen]
    width = [s.found.interval[1] - s.found.interval[0] for s in chosen]
    error = [abs(s.found.median - s.onset) for s in chosen]
    holds = [s.window[0] <= s.fault <= s.window[1] for s in chosen]
    eye = [s.eye - s.onset for s in chosen if np.isfinite(s.eye)]
    by_eye = f"{np.median(np.abs(eye)):.1f}" if eye else "none"
    return (
        f"| {label} | {len(chosen)} | {np.mean([s.found.found for s in chosen]):.2f} | "
        f"{np.mean(inside):.2f} | {np.median(width):.0f} | {np.median(error):.1f} | "
        f"{np.mean(holds):.2f} | {1.0 - len(eye) / len(chosen):.2f} | {by_eye} |"
    )


def report(found: list[Seen], seed: int) -> str:
    """The page of results."""
    upsets = [s for s in found if s.most >= PLAIN]
    calm = [s for s in found if np.isnan(s.onset)]
    small = [s for s in found if np.isfinite(s.onset) and s.most < PLAIN]
    lines = [
        "# When an upset began, on flights of another simulator",
        "",
        f"Made by benchmarks/onset_blind.py, seed {seed}: {len(found)} flights, "
        f"{len(upsets)} with an upset. Times in s. *By eye*: the vertical force off by "
        f"{BY_EYE} g for {LASTING:.0f} s; share without such a moment, and its median error.",
        "",
        "| upsets | how many | found | in 90% interval | median width | median error | "
        "window holds the fault | by eye: none | error |",
        "|---|---|---|---|---|---|---|---|---|",
        row("all", upsets),
    ]
    for label, is_in in (
        ("an onset is found", lambda s: s.found.found),
        ("none is found", lambda s: not s.found.found),
        ("autopilot on", lambda s: s.engaged),
        ("flown by hand", lambda s: not s.engaged),
        ("1 s", lambda s: not s.radar),
        ("4.8 s radar", lambda s: s.radar),
    ):
        lines.append(row(label, [s for s in upsets if is_in(s)]))
    lines += [
        row(kind, chosen) for kind in KINDS[1:] if (chosen := [s for s in upsets if s.kind == kind])
    ]
    silence = [s.onset - s.fault for s in upsets]
    masked = [s.onset - s.fault for s in upsets if s.engaged]
    lines += [
        "",
        f"No failure, or nothing showed yet: {len(calm)} flights, no onset in "
        f"{np.mean([not s.found.found for s in calm]):.2f}. A fault left a trace below what counts "
        f"as an upset: {len(small)}, no onset in "
        f"{np.mean([not s.found.found for s in small] or [np.nan]):.2f}.",
        "",
        "From the begin of the fault to the motion showing it, s: median "
        f"{np.median(silence):.1f}, 95% {np.quantile(silence, 0.95):.0f}; with the autopilot on "
        f"{np.median(masked):.1f} and {np.quantile(masked, 0.95):.0f}.",
        "",
    ]
    return "\n".join(lines) + "\n"


def asked(about, work, *, seed, flights, results):
    """Options of a benchmark, and its flights: computed, or read where they are kept."""
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("--seed", type=int, default=seed)
    parser.add_argument("--flights", type=int, default=flights)
    parser.add_argument("--out", type=Path, default=results)
    parser.add_argument("--kept", type=Path, help="file that the flights computed are kept in")
    options = parser.parse_args()
    if options.kept and options.kept.exists():
        worked = pickle.loads(options.kept.read_bytes())
    else:
        worked = work(options.seed, options.flights)
    if options.kept:
        options.kept.write_bytes(pickle.dumps(worked))
    return options, worked


def main() -> None:
    """Fly, see, judge, write."""
    options, worked = asked(__doc__.splitlines()[0], blind, seed=903, flights=336, results=RESULTS)
    options.out.write_text(report([analysed(each) for each in worked], options.seed))


if __name__ == "__main__":
    main()
