"""How far the reconstructed motion is from what was measured on board.

    python benchmarks/motion_on_recorded_flights.py [--data FOLDER] [--draws N] [--middle S]
        [--processes N]

Each recording is degraded to a surveillance track, reconstructed with a wind that is off by a
forecast-like 5 kt, and compared, several times with errors of their own. The stated error of the
wind is that of the forecast and of what a profile of the flight's own wind leaves of its airspeed.
The lift line comes from another flight of the same type where there is one. Printed per flight and
variable: root mean square error, coverage of the 90 % band, and the share of the time the variable
was called observable. The on-board load factor is averaged over 1 s, the shortest time that fixes
1 s apart can stand for.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from recorded import (
    DATA,
    SURVEILLANCE,
    WING_AREA,
    Degradation,
    Recording,
    degrade,
    lift_line,
    recordings,
    wind_misfit,
    wind_profile,
)
from scipy.ndimage import uniform_filter1d
from scipy.stats import norm, qmc

from neutralpoint.earth.weather import Weather
from neutralpoint.motion import LiftData, Motion, estimate_motion
from neutralpoint.numerics.intervals import band, circular_mean, coverage, unwrapped_about
from neutralpoint.quantities import DEGREE, KNOT
from neutralpoint.spawned import spawned_pool, submit_part

FORECAST_ERROR = 5.0 * KNOT / np.sqrt(2.0)  # each component, so that the vector is off by 5 kt
RESULTS = Path(__file__).parent / "results" / "motion_on_recorded_flights.md"
KNOTS = 5  # heights of the wind profile
DRAWS = 4  # of the errors: a wind error is nearly one number in a flight, and says little alone
VARIABLES = (
    ("calibrated_airspeed", "CAS kt", KNOT),
    ("pitch_angle", "pitch deg", DEGREE),
    ("bank_angle", "bank deg", DEGREE),
    ("normal_load_factor", "n", 1.0),
)


@dataclass(frozen=True)
class Score:
    """Error of one variable on one flight, in the unit of its label."""

    rms: float
    coverage: float
    observable: float


def wind_errors(count: int, seed: int) -> np.ndarray:
    """Wind errors in standard deviations, spread evenly over their law: (count, 2, 1 + KNOTS).

    The first of each component is common to all heights.
    """
    even = norm.ppf(qmc.Sobol(2 * (1 + KNOTS), seed=seed).random(count))
    return even.reshape(count, 2, 1 + KNOTS)


def weather_of(flight: Recording, error: np.ndarray) -> Weather:
    """The flight's own wind profile, spoilt by an error: half common, half of each height."""
    profile = altitude, north, east = wind_profile(flight, KNOTS)
    distance = np.abs(flight.pressure_altitude[:, None] - altitude)
    near = distance < np.sort(distance, axis=0)[2000]
    temperature = np.array(
        [np.median(flight.temperature[near[:, k]]) for k in range(altitude.size)]
    )
    shift = FORECAST_ERROR / np.sqrt(2.0) * (error[:, :1] + error[:, 1:])
    return Weather(
        altitude,
        north + shift[0],
        east + shift[1],
        temperature,
        float(np.hypot(FORECAST_ERROR, wind_misfit(flight, profile))),
        1.0,
    )


def reconstruct(
    flight: Recording,
    how: Degradation,
    line: tuple[float, float, float],
    seed: int,
    error: np.ndarray | None = None,
    middle: float = np.inf,
) -> Motion:
    """Degrade a flight and work out its motion; the wind error is drawn where none is given.

    Only `middle` seconds about the middle of the record are worked out.
    """
    rng = np.random.default_rng(seed)
    weather = weather_of(flight, wind_errors(1, seed)[0] if error is None else error)
    track = degrade(flight, how, rng)
    first, last = track.span()
    centre, half = 0.5 * (first + last), 0.5 * min(middle, last - first)
    worked = (centre - half, centre + half)
    track = track.between(*worked)
    mass = np.interp(worked, flight.time, flight.mass)
    lift = LiftData(
        mass=float(mass[0]),
        wing_area=WING_AREA,
        lift_slope=line[1],
        zero_lift_angle=line[0],
        maximum_lift=1.5,
        mass_flow=float((mass[0] - mass[1]) / (worked[1] - worked[0])),
        aspect_ratio=7.5,
        mass_sigma=100.0,
        lift_slope_sigma=0.15,
        zero_lift_angle_sigma=max(line[2], 0.4 * DEGREE),
    )
    return estimate_motion(track, weather=weather, lift=lift, rng=rng)


def truth_of(flight: Recording, name: str) -> np.ndarray:
    """What was measured on board, on the flight's own time base."""
    if name == "normal_load_factor":
        second = max(1, round(1.0 / float(np.median(np.diff(flight.time)))))
        return uniform_filter1d(flight.load_factor, second)
    return {
        "calibrated_airspeed": flight.cas,
        "pitch_angle": flight.pitch,
        "bank_angle": flight.bank,
    }[name]


def score(
    flight: Recording, motion: Motion, name: str, unit: float, when: np.ndarray | None = None
) -> Score:
    """Error and coverage where the variable is called observable.

    `when` restricts the comparison to a part of the flight, shape (m,).
    """
    grid = ~motion.is_fix if when is None else ~motion.is_fix & when
    truth = np.interp(motion.time, flight.time, truth_of(flight, name))
    paths = motion.paths[name]
    if name == "bank_angle":
        paths = unwrapped_about(paths, circular_mean(paths))
        centre = np.median(paths, axis=0)
        truth = centre + np.mod(truth - centre + np.pi, 2.0 * np.pi) - np.pi
    seen = motion.observable[name] & grid
    lower, upper = band(paths[:, seen], 0.9)
    error = np.median(paths[:, seen], axis=0) - truth[seen]
    return Score(
        float(np.sqrt(np.nanmean(error**2))) / unit,
        coverage(lower, upper, truth[seen]),
        float(seen.sum() / grid.sum()),
    )


def pooled(scores: list[Score]) -> str:
    """One cell of several runs of the same flight."""
    rms = np.sqrt(np.mean([s.rms**2 for s in scores]))
    share = np.mean([s.coverage for s in scores])
    return f"{rms:.2f} / {share:.2f} / {np.mean([s.observable for s in scores]):.2f}"


def row(
    flight: Recording,
    index: int,
    line: tuple[float, float, float],
    how: Degradation,
    draws: int,
    middle: float,
) -> str:
    """One row of the table: a flight seen one way, with several draws of errors."""
    started = time.perf_counter()
    scores = {name: [] for name, _, _ in VARIABLES}
    for draw, error in enumerate(wind_errors(draws, seed=index)):
        motion = reconstruct(flight, how, line, 100 * (index + 1) + draw, error, middle)
        for name, _, unit in VARIABLES:
            if np.isfinite(truth_of(flight, name)).any():
                scores[name].append(score(flight, motion, name, unit))
    spent = (time.perf_counter() - started) / draws
    cells = [pooled(found) if found else "not recorded" for found in scores.values()]
    age = motion.altitude_age
    cells.append(f"{age.value:.1f} +- {2.0 * age.sigma:.1f}")
    return f"| {flight.name} | {how.label} | " + " | ".join(cells) + f" | {spent:.0f} |"


def main() -> None:
    """Run every recording through every degradation and write the table, which grows."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", type=Path, default=DATA)
    parser.add_argument("--out", type=Path, default=RESULTS)
    parser.add_argument("--draws", type=int, default=DRAWS)
    parser.add_argument("--middle", type=float, default=np.inf, help="seconds of each flight")
    parser.add_argument("--processes", type=int, default=1)
    options = parser.parse_args()
    flights = recordings(options.data)
    lines = {flight.name: lift_line(flight) for flight in flights}
    rows = [
        "# Motion on recorded flights",
        "",
        "Root mean square error / coverage of the 90 % band / share of the time observable, over "
        f"{options.draws} draws of wind error, noise and drop-outs for each flight. "
        f"Made by benchmarks/motion_on_recorded_flights.py --middle {options.middle:g}.",
        "",
        "| flight | track | "
        + " | ".join(label for _, label, _ in VARIABLES)
        + " | altitude age s | run s |",
        "|---|---|" + "---|" * (len(VARIABLES) + 2),
    ]
    options.out.parent.mkdir(parents=True, exist_ok=True)
    with spawned_pool(options.processes) as pool:
        parts = []
        for index, flight in enumerate(flights):
            kin = [n for n in lines if n != flight.name and n[:6] == flight.name[:6]]
            line = lines[kin[0] if kin else flight.name]
            for how in SURVEILLANCE:
                given = (flight, index, line, how, options.draws, options.middle)
                parts.append(submit_part(pool, row, *given))
        for part in parts:
            rows.append(part.result())
            print(rows[-1], flush=True)
            options.out.write_text("\n".join(rows) + "\n")


if __name__ == "__main__":
    main()
