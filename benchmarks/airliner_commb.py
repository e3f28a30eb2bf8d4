"""Position-only ADS-B of an airliner, reconstructed, against what the airplane replied of itself.

    python benchmarks/airliner_commb.py [--data FOLDER] [--out FILE]

Positions and pressure altitudes of the squitters alone go in. Out come bank, true airspeed,
calibrated airspeed and Mach number, compared with registers 5,0 and 6,0 (t < 1000 s). Wind and
temperature are profiles of the flight itself, from its own replies, spoilt by a forecast-like error
that is one shift of the whole profile; their stated error is that of the shift and of what the
profile leaves of the replies. A second run has no weather at all: standard air, calm, with a large
error. Printed: root mean square error and coverage of the 90 % band. A reply is rounded: it stands
for every value within half its step, and the band that is compared is that of the rounded value.
The plain way is beside it: bank from the turn rate of positions 10 s apart, airspeed equal to
ground speed.
"""

from __future__ import annotations

import argparse
import gzip
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import norm, qmc

from neutralpoint.earth import airspeed, atmosphere
from neutralpoint.earth.weather import Weather
from neutralpoint.motion import LiftData, Motion, estimate_motion
from neutralpoint.numerics.intervals import band, coverage
from neutralpoint.quantities import DEGREE, GRAVITY, KNOT
from neutralpoint.sources import ClockSettings, SourceReport
from neutralpoint.sources.modes.read import read_modes
from neutralpoint.track import Observations, Track

DATA = Path(__file__).resolve().parents[2] / "shared" / "data" / "flights"
RESULTS = Path(__file__).parent / "results" / "airliner_commb.md"
UNTIL = 1000.0  # s: later the replies thin out
FORECAST_WIND, FORECAST_WARMTH = 5.0 * KNOT / np.sqrt(2.0), 1.0  # sigma of a component, m/s; K
NO_WEATHER_WIND, NO_WEATHER_WARMTH = 12.0, 8.0  # m/s, K: what calm standard air may be off by
AIR = 1.4 * 287.05287  # gamma R, J/(kg K)
KNOTS = 9  # heights of the profiles
STIFF, CALM = 0.3, 0.02  # per m/s: change from height to height, and what the replies do not show
DRAWS = 32  # of the forecast-like error: a shift moves all replies of a draw together
FEWEST_SEEN = 0.05  # share of replies below which a variable counts as not observable
VARIABLES = (
    ("bank_angle", "roll", "bank deg", DEGREE, 45.0 / 256.0),
    ("true_airspeed", "true_airspeed", "TAS kt", KNOT, 2.0),
    ("calibrated_airspeed", "indicated_airspeed", "IAS kt", KNOT, 1.0),
    ("mach", "mach", "Mach", 1.0, 0.004),
)  # channel, reply, label, unit, and step of the reply in that unit (ICAO Doc 9871)


@dataclass(frozen=True)
class Score:
    """Error, coverage of the 90 % band, share of replies seen, error of the plain way."""

    rms: float
    coverage: float
    observable: float
    plain: float


def load(data: Path = DATA) -> tuple[Track, SourceReport]:
    """The recording as the reader of raw messages gives it."""
    with gzip.open(data / "airliner_modes_msgs.csv.gz", "rt") as file:
        text = file.read()
    start = ClockSettings("elapsed s", start=datetime(2030, 1, 1, tzinfo=UTC))
    return read_modes(text, start, None, "airliner_modes_msgs")


def _until(channel: Observations | None) -> Observations | None:
    if channel is None:
        return None
    keep = channel.time < UNTIL
    fields = ("time", "value", "row", "source", "suspect")
    return Observations(**{f: getattr(channel, f)[keep] for f in fields}, step=channel.step)


def positions_only(track: Track) -> Track:
    """Positions, and the altitudes of the messages that carry them."""
    rows = set(track.position.row.tolist())
    altitude = track.pressure_altitude
    keep = np.array([row in rows for row in altitude.row.tolist()])
    fields = ("time", "value", "row", "source", "suspect")
    squitted = Observations(**{f: getattr(altitude, f)[keep] for f in fields}, step=altitude.step)
    return Track(track.epoch, position=_until(track.position), pressure_altitude=_until(squitted))


def shifts(count: int) -> np.ndarray:
    """Forecast-like errors in standard deviations, spread evenly over their law, (count, 3)."""
    return norm.ppf(qmc.Sobol(3, seed=3).random(count))


def own_weather(track: Track, report: SourceReport, shift: np.ndarray) -> Weather:
    """Wind and temperature that explain the replies, shifted: north, east and warmth, in sigmas."""
    onboard = report.onboard
    tas, mach = onboard["true_airspeed"], onboard["mach"]
    use = tas.time < UNTIL
    when, speed = tas.time[use], tas.value[use]
    height = np.interp(when, track.pressure_altitude.time, track.pressure_altitude.value)
    ground, course = track.ground_speed, track.track_angle
    v = np.interp(when, ground.time, ground.value)
    angle = np.interp(when, course.time, np.unwrap(course.value))
    climb = np.interp(when, track.vertical_rate.time, track.vertical_rate.value)
    north, east = v * np.cos(angle), v * np.sin(angle)
    level = np.sqrt(np.maximum(speed**2 - climb**2, 1.0))
    grid = np.linspace(height.min(), height.max(), KNOTS)

    def left(x):
        wind = np.interp(height, grid, x[:KNOTS]), np.interp(height, grid, x[KNOTS:])
        return np.hypot(north - wind[0], east - wind[1]) - level

    def misfit(x):
        bends = np.concatenate([np.diff(x[:KNOTS]), np.diff(x[KNOTS:])])
        return np.concatenate([left(x), STIFF * bends, CALM * x])

    x = least_squares(misfit, np.zeros(2 * KNOTS), loss="soft_l1", f_scale=2.0).x
    early = mach.time < UNTIL
    sound = np.interp(mach.time[early], when, speed) / mach.value[early]
    at = np.interp(mach.time[early], when, height)
    line = np.polyfit(at, sound**2 / AIR, 1)
    return Weather(
        grid,
        x[:KNOTS] + FORECAST_WIND * shift[0],
        x[KNOTS:] + FORECAST_WIND * shift[1],
        np.polyval(line, grid) + FORECAST_WARMTH * shift[2],
        float(np.hypot(FORECAST_WIND, np.std(left(x)))),
        float(np.hypot(FORECAST_WARMTH, _scatter(sound**2 / AIR - np.polyval(line, at)))),
    )


def _scatter(values: np.ndarray) -> float:
    """Standard deviation of what is not rounding: means of neighbours, which rounding leaves."""
    means = np.convolve(values, np.ones(8) / 8.0, mode="valid")
    return float(np.std(means))


def no_weather() -> Weather:
    """Calm standard air that may be far off."""
    grid = np.linspace(0.0, 12000.0, 13)
    calm = np.zeros(grid.size)
    return Weather(
        grid, calm, calm, atmosphere.temperature(grid), NO_WEATHER_WIND, NO_WEATHER_WARMTH
    )


def plain(track: Track, name: str, when: np.ndarray) -> np.ndarray:
    """What a quick look gives: turn rate and ground speed from positions about 10 s apart."""
    position = track.position
    origin = position.value[0]
    metres = 6.371e6 * np.column_stack(
        [
            position.value[:, 0] - origin[0],
            (position.value[:, 1] - origin[1]) * np.cos(position.value[:, 0]),
        ]
    )

    def velocity(t):
        ends = [
            np.array([np.interp(t + s, position.time, m) for m in metres.T]) for s in (-5.0, 5.0)
        ]
        return (ends[1] - ends[0]) / 10.0

    speed = np.hypot(*velocity(when))
    if name == "bank_angle":
        turn = [np.arctan2(*velocity(when + s)[::-1]) for s in (-5.0, 5.0)]
        rate = (np.mod(turn[1] - turn[0] + np.pi, 2 * np.pi) - np.pi) / 10.0
        return np.arctan(speed * rate / GRAVITY)
    altitude = np.interp(when, track.pressure_altitude.time, track.pressure_altitude.value)
    warmth = atmosphere.temperature(altitude)
    if name == "true_airspeed":
        return speed
    mach = speed / np.sqrt(AIR * warmth)
    return mach if name == "mach" else airspeed.cas_from_mach(mach, atmosphere.pressure(altitude))


def reconstruct(track: Track, weather: Weather) -> Motion:
    """The motion; the lift line is that of no airplane and moves none of what is compared."""
    lift = LiftData(
        mass=62000.0,
        wing_area=122.0,
        lift_slope=5.2,
        zero_lift_angle=-2.0 * DEGREE,
        maximum_lift=1.6,
        mass_sigma=4000.0,
        lift_slope_sigma=0.3,
        zero_lift_angle_sigma=1.0 * DEGREE,
    )
    return estimate_motion(track, weather=weather, lift=lift, rng=np.random.default_rng(7))


def score(
    motion: Motion, track: Track, replies: Observations, name: str, unit: float, step: float
) -> Score:
    """Compare one variable with the replies, at the times of the replies; `step` is in `unit`."""
    first, last = track.position.time[0], track.position.time[-1]
    use = (replies.time < UNTIL) & (replies.time > first + 6.0) & (replies.time < last - 6.0)
    when, truth = replies.time[use], replies.value[use]
    paths = motion.paths[name]
    at = np.array([np.interp(when, motion.time, path) for path in paths])
    nearest = np.clip(np.searchsorted(motion.time, when), 0, motion.time.size - 1)
    seen = motion.observable[name][nearest]
    if not seen.any():
        return Score(float("nan"), float("nan"), 0.0, float("nan"))
    rounding = np.random.default_rng(5).uniform(-0.5, 0.5, at.shape) * step * unit
    lower, upper = band((at + rounding)[:, seen], 0.9)
    error = np.median(at[:, seen], axis=0) - truth[seen]
    rough = plain(track, name, when[seen]) - truth[seen]
    return Score(
        float(np.sqrt(np.mean(error**2))) / unit,
        coverage(lower, upper, truth[seen]),
        float(seen.mean()),
        float(np.sqrt(np.mean(rough**2))) / unit,
    )


def pooled(scores: list[Score]) -> Score:
    """One score of several runs of the same replies."""
    return Score(
        float(np.sqrt(np.mean([s.rms**2 for s in scores]))),
        float(np.mean([s.coverage for s in scores])),
        float(np.mean([s.observable for s in scores])),
        float(np.sqrt(np.mean([s.plain**2 for s in scores]))),
    )


def cells(found: Score, unit: float) -> str:
    """The two cells of a score; a variable that is called not observable has no error."""
    if found.observable < FEWEST_SEEN:
        return f"not observable ({found.observable:.2f}) | -"
    digits = 3 if unit == 1.0 else 2
    return (
        f"{found.rms:.{digits}f} / {found.coverage:.2f} / {found.observable:.2f} | "
        f"{found.plain:.{digits}f}"
    )


def main() -> None:
    """Both runs, and the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", type=Path, default=DATA)
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    track, report = load(options.data)
    seen = positions_only(track)
    rows = [
        "# Airliner from positions alone, against its own replies",
        "",
        "Root mean square error / coverage of the 90 % band / share of replies where observable; "
        "then the error of the plain way. Made by benchmarks/airliner_commb.py.",
        "",
        "| weather | variable | replies | rms / coverage / observable | plain way, rms | run s |",
        "|---|---|---|---|---|---|",
    ]
    for label, weathers in (
        (
            f"own, off by 5 kt and 1 K, {DRAWS} draws",
            [own_weather(track, report, shift) for shift in shifts(DRAWS)],
        ),
        ("none: calm standard air", [no_weather()]),
    ):
        started = time.perf_counter()
        motions = [reconstruct(seen, weather) for weather in weathers]
        spent = (time.perf_counter() - started) / len(motions)
        for name, reply, title, unit, step in VARIABLES:
            replies = report.onboard[reply]
            found = pooled([score(m, seen, replies, name, unit, step) for m in motions])
            count = int((replies.time < UNTIL).sum())
            row = f"| {label} | {title} | {count} | {cells(found, unit)} | {spent:.0f} |"
            rows.append(row)
            print(row, flush=True)
    options.out.write_text("\n".join(rows) + "\n")


if __name__ == "__main__":
    main()
