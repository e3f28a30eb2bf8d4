"""What `calibration.py` needs and what only a whole installation can make.

    python benchmarks/calibration_prepare.py FILE [--data FOLDER] [--cases N]

Writes the airplanes of the catalogue, blind flights seen through a degraded track and the smoother,
and windows of recorded flights (read from `shared/data/flights`; nothing of them may be published
but statistics). The file is no part of the project.
"""

from __future__ import annotations

import argparse
import pickle
import time
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from calibration_cases import (
    DURATION,
    SETTINGS,
    SMOOTHED,
    Blind,
    some,
)
from moments_flights import lift_of
from motion_on_recorded_flights import reconstruct
from recorded import DATA, SURVEILLANCE, Degradation, Recording, lift_line, recordings, rounded
from scipy.ndimage import uniform_filter1d

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.earth import atmosphere
from neutralpoint.earth.weather import Weather
from neutralpoint.motion import Motion, estimate_motion
from neutralpoint.motion.curvilinear import Curvilinear
from neutralpoint.quantities import DEGREE, KNOT
from neutralpoint.track import Observations, Track
from neutralpoint.weighing.blind import OTHER_ORDINARY, other_airplane
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.simulate import Start, flyable, simulate

AIRPLANES = ("velmar-c7", "ostrel-7", "tarnley-180")
PATHS = 48  # sample paths of a case
LEAD = 45.0  # s of steady flight before the reference ends
EPOCH = datetime(2030, 6, 1, tzinfo=UTC)
WIND_ERROR = 2.5 * KNOT  # standard deviation of each component
BETWEEN = 55.0  # s between windows of a recorded flight
MOST_WINDOWS = 24  # of one recorded flight


def track_of(
    flown, number: int, rng: np.random.Generator, wind: np.ndarray, how: Degradation
) -> Track:
    """The surveillance track that a simulated flight and the steady flight before it leave."""
    course = flown.course
    speed, path = course.true_airspeed[number, 0], course.flight_path_angle[number, 0]
    back = np.arange(-LEAD, 0.0, 0.5)
    clock = np.concatenate([back, course.time])
    along = np.concatenate(
        [speed * np.cos(path) * back, flown.north[number] - flown.north[number, 0]]
    )
    aside = np.concatenate([0.0 * back, flown.east[number] - flown.east[number, 0]])
    height = np.concatenate(
        [course.altitude[number, 0] + speed * np.sin(path) * back, course.altitude[number]]
    )
    heading = rng.uniform(-np.pi, np.pi)
    north = along * np.cos(heading) - aside * np.sin(heading) + wind[0] * clock
    east = along * np.sin(heading) + aside * np.cos(heading) + wind[1] * clock
    rates = [np.gradient(values, clock) for values in (north, east, height)]
    age = 0.1 + 0.15 * rng.standard_normal()
    stands = np.arange(-LEAD + 1.0, course.time[-1], how.interval)
    stands = stands[rng.random(stands.size) >= how.drop]
    jitter = how.jitter * np.clip(rng.standard_normal(stands.size), -3.0, 3.0)
    stamp = LEAD + np.sort(stands + jitter)
    row, none = np.arange(2, stands.size + 2), np.zeros(stands.size, bool)

    def at(values):
        return np.interp(stands - age, clock, values)

    def channel(values, step):
        return Observations(stamp, rounded(values, step), step, row, row * 0, none)

    noise = how.position_sigma * rng.standard_normal((2, stands.size))
    place = Curvilinear(0.8, 0.3).to_geographic(at(north) + noise[0], at(east) + noise[1])
    angle = np.mod(np.arctan2(at(rates[1]), at(rates[0])), 2.0 * np.pi)
    return Track(
        epoch=EPOCH,
        position=Observations(stamp, np.stack(place, axis=-1), 0.0, row, row * 0, none),
        pressure_altitude=channel(at(height), how.altitude_step),
        geometric_altitude=None,
        ground_speed=channel(np.hypot(at(rates[0]), at(rates[1])), how.speed_step),
        track_angle=channel(angle, how.angle_step),
        vertical_rate=channel(at(rates[2]), how.rate_step),
        vertical_rate_source="baro",
    )


def course_of(motion: Motion, begin: float, rng: np.random.Generator) -> Course:
    """Some sample paths of a motion from a time on."""
    inside = ~motion.is_fix & (motion.time >= begin) & (motion.time <= begin + DURATION)
    inside = np.flatnonzero(inside)[::2]  # half the grid is enough for windows of 2 s
    chosen = rng.permutation(motion.paths["altitude"].shape[0])[:PATHS]
    time_ = motion.time[inside]
    return Course(
        time_ - time_[0],
        **{name: np.asarray(motion.paths[name][chosen][:, inside], np.float32) for name in COLUMNS},
    )


def start_of(motion: Motion, begin: float) -> Start:
    """The steady flight at a time, as the study takes it."""
    near = ~motion.is_fix & (np.abs(motion.time - begin) <= 2.0)
    mean = {
        name: np.asarray(motion.paths[name][:, near], float).mean(axis=1)
        for name in ("true_airspeed", "flight_path_angle", "pressure_altitude", "mach")
    }
    altitude = float(np.median(mean["pressure_altitude"]))
    sound = np.median((mean["true_airspeed"] / mean["mach"]) ** 2)
    standard = float(atmosphere.temperature(np.array([altitude]))[0])
    return Start(
        mean["true_airspeed"],
        mean["flight_path_angle"],
        altitude,
        float(sound / (1.4 * 287.05287)) - standard,  # US Standard Atmosphere 1976
    )


def forecast(wind: np.ndarray, rng: np.random.Generator) -> Weather:
    """The weather as an analyst is told it: the wind that blew, off by the error that is stated."""
    told = wind + WIND_ERROR * rng.standard_normal(2)
    levels = np.array([0.0, 8000.0])
    return Weather(
        levels,
        np.full(2, told[0]),
        np.full(2, told[1]),
        atmosphere.temperature(levels),
        sigma_wind=WIND_ERROR,
        sigma_temperature=0.5,
    )


def smoothed(described, setting, each: int, rng: np.random.Generator) -> list[Blind]:
    """Blind flights of one setting through track and smoother."""
    airplane = described.airplane
    causes = flyable(airplane)
    flown = simulate(
        airplane,
        other_airplane(described.uncertainty).draw(rng, each * len(causes)),
        setting.start(),
        causes,
        rng=rng,
        duration=DURATION,
        ordinary=OTHER_ORDINARY,
    )
    lift = lift_of(airplane, described.uncertainty)
    found = []
    for batch in flown:
        for number in range(each):
            wind = rng.normal(0.0, 6.0, 2)
            weather = forecast(wind, rng)
            track = track_of(batch, number, rng, wind, SURVEILLANCE[number % 2])
            motion = estimate_motion(track, weather=weather, lift=lift, rng=rng, samples=PATHS)
            twin = flown[0].course
            found.append(
                Blind(
                    f"{setting.airplane} smoothed",
                    start_of(motion, LEAD),
                    setting.airplane,
                    course_of(motion, LEAD, rng),
                    batch.cause,
                    batch.values[number],
                    some(batch.course, np.array([number])),
                    some(twin, batch.twin[number : number + 1]),
                )
            )
    return found


def trimmed_times(motion: Motion) -> np.ndarray:
    """Times at the end of 8 s of steady flight, s, at least `BETWEEN` apart."""
    grid = np.flatnonzero(~motion.is_fix)
    time_ = motion.time[grid]
    size = max(1, round(8.0 / float(np.median(np.diff(time_)))))

    def middle(name):
        return np.median(motion.paths[name][:, grid], axis=0)

    def mean(values):
        return uniform_filter1d(values, size, origin=(size - 1) // 2)

    load, bank, speed = (middle(n) for n in ("normal_load_factor", "bank_angle", "true_airspeed"))
    path = middle("flight_path_angle")
    steady = (
        (mean(np.abs(load - 1.0)) < 0.06)
        & (mean(np.abs(bank)) < 5.0 * DEGREE)
        & (mean(np.abs(np.gradient(speed, time_))) < 0.5)
        & (mean(np.abs(np.gradient(path, time_))) < 0.3 * DEGREE)
    )
    chosen, last = [], -np.inf
    for moment in time_[steady]:
        if moment > last + BETWEEN and moment + DURATION < time_[-1] - 30.0:
            chosen.append(moment)
            last = moment
    return np.array(chosen)


def kind_of(flight: Recording, begin: float) -> str:
    """Whether what was measured on board in a window is ordinary flying or a test of the airplane.

    Ordinary: load factor 0.5 to 1.7, bank within 60 deg, pitch within 20 deg, fast enough.
    """
    inside = (flight.time >= begin) & (flight.time <= begin + DURATION)
    load = flight.load_factor[inside]
    good = (
        (np.nanmin(load, initial=1.0) > 0.5)
        and (np.nanmax(load, initial=1.0) < 1.7)
        and np.nanmax(np.abs(flight.bank[inside])) < 60.0 * DEGREE
        and np.nanmax(np.abs(flight.pitch[inside])) < 20.0 * DEGREE
    )
    return "ordinary" if good else "test maneuver"


def recorded(data: Path, rng: np.random.Generator) -> list[Blind]:
    """Windows of the recorded flights, each from the end of steady flight."""
    found = []
    for number, flight in enumerate(recordings(data)):
        begun = time.perf_counter()
        motion = reconstruct(flight, SURVEILLANCE[0], lift_line(flight), number)
        times = trimmed_times(motion)
        if times.size > MOST_WINDOWS:
            times = np.sort(rng.choice(times, MOST_WINDOWS, replace=False))
        airplane = "tarnley-180" if flight.name.startswith("light") else "ostrel-7"
        for begin in times:
            found.append(
                Blind(
                    f"recorded {kind_of(flight, begin)}",
                    start_of(motion, begin),
                    airplane,
                    course_of(motion, begin, rng),
                    "",
                    np.array([]),
                    None,
                    None,
                )
            )
        spent = time.perf_counter() - begun
        print(f"recording {number}: {times.size} windows in {spent:.0f} s", flush=True)
    return found


def main() -> None:
    """Make and write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("file", type=Path)
    parser.add_argument("--data", type=Path, default=DATA)
    parser.add_argument("--cases", type=int, default=5, help="of each cause and smoothed setting")
    parser.add_argument("--seed", type=int, default=3)
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    described = {name: load_airplane(name) for name in AIRPLANES}
    airplanes = {name: (d.airplane, d.uncertainty) for name, d in described.items()}
    found = {"airplanes": airplanes, "recorded": [], "smoothed": {}}
    if options.data.is_dir():
        found["recorded"] = recorded(options.data, rng)
        options.file.write_bytes(pickle.dumps(found))
    for place in SMOOTHED:
        begun = time.perf_counter()
        setting = SETTINGS[place]
        found["smoothed"][place] = smoothed(
            described[setting.airplane], setting, options.cases, rng
        )
        options.file.write_bytes(pickle.dumps(found))
        print(f"{setting.airplane}: {time.perf_counter() - begun:.0f} s", flush=True)


if __name__ == "__main__":
    main()
