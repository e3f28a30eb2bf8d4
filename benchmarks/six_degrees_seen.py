"""What a surveillance system keeps of the judge's flights, and what an analyst is told of the air.

Three systems: ADS-B-like once a second (25 ft, velocities rounded to what the accuracy category
asks, latency, dropouts), the same places with Mode C in 100 ft, and a radar of 4.8 s that measures
range and azimuth. Error sizes are the analyst's, of the order of the published accuracy categories
(NACp 8 to 10, NACv 1 to 2; secondary radar 30 m and 0.07 deg), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from recorded import rounded

from neutralpoint.airplane_file.build import DescribedAirplane
from neutralpoint.earth.weather import Weather
from neutralpoint.errors import NeutralPointError
from neutralpoint.motion import LiftData, Motion, estimate_motion
from neutralpoint.motion.curvilinear import Curvilinear
from neutralpoint.motion.lift import compressible_slope_ratio
from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT
from neutralpoint.track import Observations, Track

Array = np.ndarray
EPOCH = datetime(2030, 6, 1, tzinfo=UTC)


@dataclass(frozen=True)
class System:
    """A surveillance system, SI."""

    label: str
    share: float
    interval: float
    altitude_step: float
    velocity: bool
    drop: float
    place: tuple[float, float]  # range of the error of a place, m, one standard deviation
    gap: float  # chance of a gap of 5 to 20 s in a record


SYSTEMS = (
    System("1 s, 25 ft", 0.45, 1.0, 25.0 * FOOT, True, 0.05, (1.0, 8.0), 0.15),
    System("1 s, 100 ft", 0.3, 1.0, 100.0 * FOOT, True, 0.08, (1.0, 15.0), 0.15),
    System("4.8 s radar", 0.25, 4.8, 100.0 * FOOT, False, 0.06, (30.0, 70.0), 0.1),
)


@dataclass(frozen=True)
class Told:
    """What an analyst is given of a flight."""

    track: Track
    weather: Weather
    lift: LiftData
    system: System


def _stands(system: System, span: float, rng: np.random.Generator) -> Array:
    """When the places were measured, s after the start of the record."""
    stands = np.arange(1.0 + rng.random() * system.interval, span - 0.5, system.interval)
    kept = rng.random(stands.size) >= system.drop
    if rng.random() < system.gap:
        begin = rng.uniform(10.0, span - 10.0)
        kept &= (stands < begin) | (stands > begin + rng.uniform(5.0, 20.0))
    return stands[kept]


def _radar(north: Array, east: Array, rng: np.random.Generator) -> tuple[Array, Array]:
    """Places by range and azimuth from a site 15 to 90 km away, with a bias that stays.

    The site is where it is believed to be; range is true over the ground here.
    """
    bearing, far = rng.uniform(-np.pi, np.pi), rng.uniform(15e3, 90e3)
    site = far * np.cos(bearing), far * np.sin(bearing)
    x, y = north - site[0], east - site[1]
    distance = np.hypot(x, y) + 20.0 * rng.standard_normal()
    distance = rounded(distance + 25.0 * rng.standard_normal(x.size), 1852.0 / 256.0)
    angle = np.arctan2(y, x) + 0.04 * DEGREE * rng.standard_normal(x.size)
    angle = rounded(angle, 2.0 * np.pi / 65536.0)
    return site[0] + distance * np.cos(angle), site[1] + distance * np.sin(angle)


def seen(
    clock: Array,
    values: dict[str, Array],
    described: DescribedAirplane,
    system: System,
    weather: tuple[float, bool],
    rng: np.random.Generator,
) -> Told:
    """One record of one flight.

    Args:
        clock: s, from the start of the record.
        values: North, east, height (pressure altitude) in the moving air, SI, by name.
        described: The airplane as documented.
        system: What looks on.
        weather: K above standard, and whether flaps were out.
        rng: Of the errors.

    Returns:
        Track, weather and lift line as an analyst has them.
    """
    warmer, flap = weather
    wind, sigma = rng.normal(0.0, 9.0, 2), rng.uniform(1.5, 4.0)
    north, east = (values["north"] + wind[0] * clock, values["east"] + wind[1] * clock)
    rates = [np.gradient(each, clock) for each in (north, east, values["height"])]
    stands = _stands(system, float(clock[-1]), rng)
    age = rng.uniform(0.0, 0.35) if system.velocity else 0.0
    stamp = np.sort(stands + 0.1 * np.clip(rng.standard_normal(stands.size), -3.0, 3.0))
    row, none = np.arange(2, stands.size + 2), np.zeros(stands.size, bool)

    def at(series: Array, late: float = age) -> Array:
        return np.interp(stands - late, clock, series)

    def channel(series: Array, step: float) -> Observations:
        return Observations(stamp, rounded(series, step), step, row, row * 0, none)

    noise = _place_errors(stands, rng.uniform(*system.place), rng)
    where = at(north) + noise[0], at(east) + noise[1]
    if not system.velocity:
        where = _radar(at(north), at(east), rng)
    place = Curvilinear(0.8, 0.3).to_geographic(*where)
    jitter = rng.uniform(0.1, 0.7) * rng.standard_normal((3, stands.size))
    parts = [at(rates[0]) + jitter[0], at(rates[1]) + jitter[1]]
    angle = np.mod(np.arctan2(parts[1], parts[0]), 2.0 * np.pi)
    biased = at(values["height"]) + 8.0 * rng.standard_normal()
    track = Track(
        epoch=EPOCH,
        position=Observations(stamp, np.stack(place, axis=-1), 0.0, row, row * 0, none),
        pressure_altitude=channel(biased, system.altitude_step),
        geometric_altitude=None,
        ground_speed=channel(np.hypot(*parts), 1.0 * KNOT) if system.velocity else None,
        track_angle=channel(angle, 1.0 * DEGREE) if system.velocity else None,
        vertical_rate=channel(at(rates[2], age + 0.5), 64.0 * FOOT_PER_MINUTE)
        if system.velocity
        else None,
        vertical_rate_source="baro",
    )
    return Told(track, _forecast(wind, sigma, warmer, rng), _lift(described, flap, rng), system)


def drawn_system(rng: np.random.Generator) -> System:
    """A system by how common it is."""
    return SYSTEMS[rng.choice(len(SYSTEMS), p=[each.share for each in SYSTEMS])]


def motion_of(told: Told, rng: np.random.Generator, samples: int, label: str) -> Motion | None:
    """What the smoother makes of a record; None, and said, where it refuses.

    Args:
        told: Of `seen`.
        rng: Of the sample paths.
        samples: How many.
        label: Of the flight, for what is said.
    """
    try:
        return estimate_motion(
            told.track, weather=told.weather, lift=told.lift, rng=rng, samples=samples
        )
    except NeutralPointError as error:
        print(f"not worked out: {label}: {error.code}", flush=True)
        return None


def _place_errors(stands: Array, sigma: float, rng: np.random.Generator) -> Array:
    """Errors of satellite places: they keep for half a minute, with a little noise, (2, m)."""
    found = sigma * rng.standard_normal((2, stands.size))
    for k in range(1, stands.size):
        keep = np.exp(-(stands[k] - stands[k - 1]) / 30.0)
        found[:, k] = keep * found[:, k - 1] + np.sqrt(1.0 - keep**2) * found[:, k]
    return found + 0.2 * sigma * rng.standard_normal((2, stands.size))


def _forecast(wind: Array, sigma: float, warmer: float, rng: np.random.Generator) -> Weather:
    """Wind and temperature as forecast, with the error that is stated."""
    told = wind + sigma * rng.standard_normal(2)
    levels = np.array([0.0, 3000.0, 10500.0])
    standard = 288.15 - 0.0065 * levels  # ISO 2533
    return Weather(
        levels,
        np.full(3, told[0]),
        np.full(3, told[1]),
        standard + warmer + rng.standard_normal(),
        sigma_wind=sigma,
        sigma_temperature=1.0,
    )


def _lift(described: DescribedAirplane, flap: bool, rng: np.random.Generator) -> LiftData:
    """Mass and lift line by the airplane file."""
    plane, sigma = described.airplane, described.uncertainty.sigma
    lon, mass = plane.longitudinal, float(plane.mass.mass)
    ratio = float(lon.compressibility_aspect_ratio)
    growth = compressible_slope_ratio(np.asarray(float(lon.mach)), ratio)
    slope = float(lon.CL_alpha) / float(growth)
    return LiftData(
        mass=mass * (1.0 + 0.01 * rng.standard_normal()),
        wing_area=float(plane.geometry.wing_area),
        lift_slope=slope,
        zero_lift_angle=-float(lon.CL_0) / float(lon.CL_alpha),
        maximum_lift=1.5,
        aspect_ratio=ratio,
        mass_sigma=0.02 * mass,
        lift_slope_sigma=slope * sigma["lift_slope"],
        zero_lift_angle_sigma=0.7 * DEGREE,
        flaps_open=flap,
    )
