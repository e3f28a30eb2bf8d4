"""Recorded flights with truth on board: read, degraded to a surveillance track, compared.

The recordings are not part of the project. They are looked for beside it in `shared/data/flights`
or in the folder named by `--data`; any flight there whose columns are known is used. Only error
statistics may leave this module.
"""

from __future__ import annotations

import gzip
import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.ndimage import gaussian_filter1d, uniform_filter1d

from neutralpoint.earth import airspeed, atmosphere
from neutralpoint.motion.curvilinear import Curvilinear
from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, GRAVITY, KNOT, POUND
from neutralpoint.track import Observations, Track

DATA = Path(__file__).resolve().parents[2] / "shared" / "data" / "flights"
WING_AREA = 30.0  # m2, a nominal value: only the product with the fitted lift slope matters
EMPTY_MASS = 9165.0 * POUND  # from the note in the weights file


@dataclass(frozen=True)
class Recording:
    """One recorded flight on its own time base, SI, NaN where a channel is absent.

    `time`, `pressure_altitude`, `vertical_rate`, `tas`, `cas`, `temperature`, `pitch`, `bank`,
    `load_factor` have shape (n,); `fix_time` (k,), `latitude`, `longitude`, `north`, `east` rate
    have shape (k,).
    """

    name: str
    time: np.ndarray
    pressure_altitude: np.ndarray
    vertical_rate: np.ndarray
    tas: np.ndarray
    cas: np.ndarray
    temperature: np.ndarray
    pitch: np.ndarray
    bank: np.ndarray
    load_factor: np.ndarray
    mass: np.ndarray
    fix_time: np.ndarray
    latitude: np.ndarray
    longitude: np.ndarray
    velocity_north: np.ndarray
    velocity_east: np.ndarray
    airborne: tuple[float, float]
    coarse: bool = False  # positions too coarse to make a ground speed of


def read_columns(path: Path) -> dict[str, np.ndarray]:
    """Columns of a recording as floats; blanks are NaN."""
    table = pd.read_csv(path, dtype=float)
    return {name: table[name].to_numpy() for name in table.columns}


def _velocity(time, latitude, longitude, width: float):
    """North and east velocity by differences over `width` seconds, smoothed as little as needed."""
    frame = Curvilinear(float(np.median(latitude)), float(np.median(longitude)))
    north, east = frame.to_plane(latitude, longitude)
    stretch_north, stretch_east = frame.stretch(latitude, np.zeros_like(latitude))
    half = 0.5 * width
    rates = []
    for axis, stretch in ((north, stretch_north), (east, stretch_east)):
        ahead = np.interp(time + half, time, axis)
        behind = np.interp(time - half, time, axis)
        rates.append((ahead - behind) / width * stretch)
    return rates


def _business_jet(name: str, c: dict, data: Path) -> Recording:
    nan = np.full_like(c["t_s"], np.nan)
    events = json.loads((data / "bizjet_events.json").read_text()).get(name, [])
    weights = json.loads((data / "bizjet_weights_and_points.json").read_text()).get(name)
    altitude = c["press_alt_ft"] * FOOT
    tas, mach = c["tas_kt"] * KNOT, c["mach"]
    pressure = atmosphere.pressure(altitude)
    flying = [(e["t0"], e["t1"]) for e in events if e["kind"] == "airborne_approx"]
    airborne = flying[0] if flying else _airborne(c["t_s"], tas)
    total = c["tat_c"] + 273.15
    temperature = total / (1.0 + 0.2 * mach**2)
    if "sat_c" in c:
        temperature = c["sat_c"] + 273.15
    used = c.get("fuel_used_kg")
    if used is None:
        used = (c["fuel_used_left_lb"] + c["fuel_used_right_lb"]) * POUND
    people, fuel = (
        (weights["occupants_total_kg"], weights["block_fuel_lb"] * POUND)
        if weights
        else (700.0, 3300.0 * POUND)
    )
    with np.errstate(invalid="ignore"):
        cas = airspeed.cas_from_mach(mach, pressure)
    if "cas_kt" in c:
        cas = c["cas_kt"] * KNOT
    fixed = np.isfinite(c["lat_deg"])
    time, latitude, longitude = (
        c["t_s"][fixed],
        c["lat_deg"][fixed] * DEGREE,
        c["lon_deg"][fixed] * DEGREE,
    )
    coarse = np.unique(np.abs(np.diff(c["lat_deg"][fixed]))).size < 8
    if coarse:  # good enough for a wind, not for a reported ground speed
        velocity = _velocity(
            time, gaussian_filter1d(latitude, 20.0), gaussian_filter1d(longitude, 5.0), 2.0
        )
    else:
        velocity = _velocity(time, latitude, longitude, 2.0)
    rate = c.get("alt_rate_fpm")
    if rate is None:
        smooth = uniform_filter1d(altitude, 11)
        rate = np.gradient(smooth, c["t_s"]) / FOOT_PER_MINUTE
    return Recording(
        name,
        c["t_s"],
        altitude,
        rate * FOOT_PER_MINUTE,
        tas,
        cas,
        temperature,
        c["pitch_deg"] * DEGREE,
        c["roll_deg"] * DEGREE,
        c["nz_minus1_g"] + 1.0 if "nz_minus1_g" in c else nan,
        EMPTY_MASS + people + fuel - used,
        time,
        latitude,
        longitude,
        velocity[0],
        velocity[1],
        (airborne[0] + 30.0, airborne[1] - 30.0),
        coarse,
    )


def _light(name: str, c: dict) -> Recording:
    fixed = np.isfinite(c["gps_lat"])
    time = c["t_s"][fixed]
    altitude = c["press_alt_ft"] * FOOT
    temperature = c["oat_c"] + 273.15
    pressure = atmosphere.pressure(altitude)
    cas = c["ias_kt"] * KNOT
    tas = airspeed.tas_from_cas(cas, pressure, temperature)
    return Recording(
        name,
        c["t_s"],
        altitude,
        c["vs_fpm"] * FOOT_PER_MINUTE,
        tas,
        cas,
        temperature,
        c["pitch_deg"] * DEGREE,
        c["roll_deg"] * DEGREE,
        c["nz_g"],
        np.full_like(altitude, 750.0),
        time,
        c["gps_lat"][fixed] * DEGREE,
        c["gps_lon"][fixed] * DEGREE,
        c["gps_vn_mps"][fixed],
        c["gps_ve_mps"][fixed],
        _airborne(c["t_s"], tas),
    )


def _airborne(time, tas):
    fast = time[tas > 0.5 * np.nanmax(tas)]
    return float(fast[0]), float(fast[-1])


def recordings(data: Path = DATA) -> list[Recording]:
    """Every flight in the folder whose columns are known."""
    found = []
    for path in sorted(data.glob("*.csv*")):
        name = path.name.split(".")[0]
        with (gzip.open if path.suffix == ".gz" else open)(path, "rt") as handle:
            header = set(handle.readline().strip().split(","))
        if {"press_alt_ft", "tas_kt", "elevator_deg", "lat_deg"} <= header:
            found.append(_business_jet(name, read_columns(path), data))
        elif {"press_alt_ft", "ias_kt", "gps_vn_mps", "nz_g"} <= header:
            found.append(_light(name, read_columns(path)))
    return found


def rounded(value: np.ndarray, step: float) -> np.ndarray:
    """Values on the lattice of a step; a step of 0 leaves them."""
    return value if step == 0.0 else np.rint(value / step) * step


@dataclass(frozen=True)
class Degradation:
    """What a surveillance system leaves of a flight, SI."""

    label: str
    interval: float
    altitude_step: float
    speed_step: float = 1.0 * KNOT
    angle_step: float = 1.0 * DEGREE
    rate_step: float = 64.0 * FOOT_PER_MINUTE
    position_sigma: float = 3.0
    jitter: float = 0.1
    drop: float = 0.05
    velocity: bool = True


SURVEILLANCE = (
    Degradation("1 s, 25 ft", 1.0, 25.0 * FOOT),
    Degradation("1 s, 100 ft", 1.0, 100.0 * FOOT),
    Degradation(
        "4.8 s radar, 100 ft",
        4.8,
        100.0 * FOOT,
        position_sigma=30.0,
        jitter=0.05,
        velocity=False,
    ),
)


def degrade(flight: Recording, how: Degradation, rng: np.random.Generator) -> Track:
    """The track that the surveillance system would have left of a flight."""
    first, last = flight.airborne
    time = np.arange(first, last, how.interval)
    time = time[rng.random(time.size) >= how.drop]
    stamp = time + how.jitter * rng.standard_normal(time.size)
    order = np.argsort(stamp)
    time, stamp = time[order], stamp[order]
    row = np.arange(time.size)
    none = np.zeros(time.size, dtype=bool)

    def channel(value, step):
        return Observations(stamp, rounded(value, step), step, row, row * 0, none)

    if flight.coarse:  # keep the steps: they are what was recorded
        nearest = np.clip(np.searchsorted(flight.fix_time, time), 0, flight.fix_time.size - 1)
        latitude, longitude = flight.latitude[nearest], flight.longitude[nearest]
    else:
        latitude = np.interp(time, flight.fix_time, flight.latitude)
        longitude = np.interp(time, flight.fix_time, flight.longitude)
    sigma = 0.0 if flight.coarse else how.position_sigma
    noise = sigma * rng.standard_normal((2, time.size)) / 6.371e6
    place = np.stack([latitude + noise[0], longitude + noise[1] / np.cos(latitude)], axis=-1)
    north = np.interp(time, flight.fix_time, flight.velocity_north)
    east = np.interp(time, flight.fix_time, flight.velocity_east)
    velocity = how.velocity and not flight.coarse
    altitude = np.interp(time, flight.time, flight.pressure_altitude)
    rate = np.interp(time, flight.time, flight.vertical_rate)
    return Track(
        epoch=datetime(2030, 1, 1, tzinfo=UTC),
        position=Observations(stamp, place, 0.0, row, row * 0, none),
        pressure_altitude=channel(altitude, how.altitude_step),
        geometric_altitude=None,
        ground_speed=channel(np.hypot(north, east), how.speed_step) if velocity else None,
        track_angle=(
            channel(np.mod(np.arctan2(east, north), 2 * np.pi), how.angle_step)
            if velocity
            else None
        ),
        vertical_rate=channel(rate, how.rate_step) if how.velocity else None,
        vertical_rate_source="baro",
    )


def wind_profile(flight: Recording, knots: int = 5):
    """Wind against pressure altitude that best explains true airspeed from ground velocity.

    Returns altitude (k,), north (k,), east (k,). Least squares on `|Vg - W|^2 = TAS^2 cos^2 gamma`.
    """
    from scipy.optimize import least_squares

    inside = (flight.fix_time > flight.airborne[0]) & (flight.fix_time < flight.airborne[1])
    time = flight.fix_time[inside][::5]
    altitude = np.interp(time, flight.time, flight.pressure_altitude)
    climb = np.interp(time, flight.time, flight.vertical_rate)
    tas = np.interp(time, flight.time, flight.tas)
    level = np.sqrt(np.maximum(tas**2 - climb**2, 1.0))
    north = np.interp(time, flight.fix_time, flight.velocity_north)
    east = np.interp(time, flight.fix_time, flight.velocity_east)
    grid = np.quantile(altitude, np.linspace(0.0, 1.0, knots))
    grid = np.maximum.accumulate(grid + np.arange(knots))

    def misfit(x):
        w_north = np.interp(altitude, grid, x[:knots])
        w_east = np.interp(altitude, grid, x[knots:])
        smooth = np.concatenate([np.diff(x[:knots]), np.diff(x[knots:])])
        return np.concatenate([np.hypot(north - w_north, east - w_east) - level, smooth])

    fit = least_squares(misfit, np.zeros(2 * knots), loss="soft_l1", f_scale=2.0)
    return grid, fit.x[:knots], fit.x[knots:]


def wind_misfit(flight: Recording, profile) -> float:
    """What a wind profile leaves of the true airspeed: one sigma, m/s, of most of the flight."""
    altitude, north, east = profile
    inside = (flight.fix_time > flight.airborne[0]) & (flight.fix_time < flight.airborne[1])
    time = flight.fix_time[inside]
    at = np.interp(time, flight.time, flight.pressure_altitude)
    climb = np.interp(time, flight.time, flight.vertical_rate)
    tas = np.interp(time, flight.time, flight.tas)
    level = np.sqrt(np.maximum(tas**2 - climb**2, 1.0))
    left = level - np.hypot(
        np.interp(time, flight.fix_time, flight.velocity_north) - np.interp(at, altitude, north),
        np.interp(time, flight.fix_time, flight.velocity_east) - np.interp(at, altitude, east),
    )
    left = left[np.isfinite(left)]
    return float(1.4826 * np.median(np.abs(left - np.median(left))))  # sigma of a Gaussian


def lift_line(flight: Recording) -> tuple[float, float, float]:
    """Zero-lift angle and lift slope (per rad) by which pitch follows from the path, and sigma.

    Least squares of `pitch - path angle` on the lift coefficient in nearly level flight.
    """
    inside = (flight.time > flight.airborne[0] + 120) & (flight.time < flight.airborne[1] - 240)
    path = np.arcsin(np.clip(flight.vertical_rate / np.maximum(flight.tas, 10.0), -1, 1))
    steady = inside & (np.abs(path) < 5 * DEGREE) & (np.abs(flight.bank) < 5 * DEGREE)
    density = atmosphere.pressure(flight.pressure_altitude) / (287.05287 * flight.temperature)
    pressure = 0.5 * density * np.maximum(flight.tas, 1.0) ** 2
    lift = flight.mass * GRAVITY / (pressure * WING_AREA)
    steady &= np.isfinite(lift) & (lift < 1.2)
    design = np.stack([np.ones(steady.sum()), lift[steady]], axis=-1)
    target = (flight.pitch - path)[steady]
    for _ in range(3):  # drop what flaps and gusts leave far off the line
        solution, *_ = np.linalg.lstsq(design, target, rcond=None)
        off = target - design @ solution
        keep = np.abs(off) < 2.5 * np.std(off)
        design, target = design[keep], target[keep]
    return float(solution[0]), float(1.0 / solution[1]), float(np.std(off))
