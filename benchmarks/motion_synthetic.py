"""Synthetic flights of known motion, and the surveillance tracks they leave.

The truth is made by other means than the reconstruction: path angle and heading are given as
functions of time, speed follows from a constant excess of thrust and an induced drag, and bank and
load factor follow from the turn and climb rates by the equations of a coordinated flight over a
flat earth. Used by tests and benchmarks.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

import numpy as np
from recorded import Degradation, rounded
from scipy.ndimage import uniform_filter1d
from scipy.signal import lfilter

from neutralpoint.earth import airspeed, atmosphere
from neutralpoint.earth.weather import Weather
from neutralpoint.motion import LiftData
from neutralpoint.motion.curvilinear import radii
from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, GRAVITY, KNOT
from neutralpoint.track import Observations, Track

STEP = 0.02  # s, of the truth
EPOCH = datetime(2030, 6, 1, tzinfo=UTC)
LIFT = LiftData(
    mass=5000.0,
    wing_area=26.0,
    lift_slope=5.5,
    zero_lift_angle=-2.0 * DEGREE,
    maximum_lift=1.5,
    aspect_ratio=9.0,
    mass_sigma=100.0,
    lift_slope_sigma=0.2,
    zero_lift_angle_sigma=0.4 * DEGREE,
)
LEVELS = np.array([0.0, 3000.0, 6000.0, 12000.0])
WEATHER = Weather(
    LEVELS,
    np.array([3.0, 8.0, 12.0, 20.0]),
    np.array([-2.0, 5.0, 10.0, 15.0]),
    atmosphere.temperature(LEVELS) + 5.0,
)
PLAIN = Degradation("1 s, 25 ft", 1.0, 25.0 * FOOT, speed_step=KNOT, rate_step=64 * FOOT_PER_MINUTE)

Course = Callable[[np.ndarray], np.ndarray]


def constant(value: float) -> Course:
    """A course that does not change."""
    return lambda time: np.full_like(time, value)


def eased(time: np.ndarray, start: float, duration: float) -> np.ndarray:
    """From 0 to 1 between two times, smooth to the third derivative."""
    x = np.clip((time - start) / duration, 0.0, 1.0)
    return x**3 * (10.0 - 15.0 * x + 6.0 * x**2)


@dataclass(frozen=True)
class Truth:
    """What the synthetic airplane did; every array has shape (n,), SI and radians."""

    time: np.ndarray
    latitude: np.ndarray
    longitude: np.ndarray
    velocity_north: np.ndarray
    velocity_east: np.ndarray
    values: dict[str, np.ndarray]
    weather: Weather
    lift: LiftData

    def at(self, name: str, time: np.ndarray) -> np.ndarray:
        """One variable at given times."""
        return np.interp(time, self.time, self.values[name])


def roughness(time: np.ndarray, rng: np.random.Generator, sigma: float) -> np.ndarray:
    """Rate of an angle by light turbulence, of a given spread, that wanders back within seconds."""
    quick, slow = np.exp(-STEP / 0.7), np.exp(-STEP / 4.0)
    noise = lfilter([np.sqrt(1.0 - quick**2)], [1.0, -quick], rng.standard_normal(time.size))
    return sigma * (noise - lfilter([1.0 - slow], [1.0, -slow], noise))


def fly(
    duration: float,
    *,
    climb: Course,
    heading: Course,
    speed: float = 110.0,
    altitude: float = 2500.0,
    excess: float = 0.0,
    place: tuple[float, float] = (0.8, 0.3),
    rng: np.random.Generator | None = None,
    gusts: float = 0.0,
    weather: Weather = WEATHER,
    lift: LiftData = LIFT,
) -> Truth:
    """Fly given angles of climb and heading.

    `excess` is the along-path load factor in straight level flight; `rng`, where given, draws the
    error of wind, temperature and lift line that the reconstruction is told to expect; `gusts` is
    the spread of the load factor by turbulence.
    """
    time = np.arange(0.0, duration + STEP, STEP)
    gamma, chi = climb(time), heading(time)
    if gusts > 0.0:
        rough = gusts * GRAVITY / speed
        gamma = gamma + np.cumsum(roughness(time, rng, rough)) * STEP
        chi = chi + np.cumsum(roughness(time, rng, 0.5 * rough)) * STEP
    gamma_rate, chi_rate = np.gradient(gamma, STEP), np.gradient(chi, STEP)
    drag = 1.0 / (0.5 * 1.0 * lift.wing_area * np.pi * (lift.aspect_ratio or 8.0) * 0.8)
    level = lift.mass * GRAVITY * drag / speed**2
    slopes = zip(
        *(x.tolist() for x in (gamma_rate, np.cos(gamma) * chi_rate, np.cos(gamma), np.sin(gamma))),
        strict=True,
    )
    flown, v = [], speed
    for rise, bend, cosine, sine in slopes:
        flown.append(v)
        load = (v * rise / GRAVITY + cosine) ** 2 + (v * bend / GRAVITY) ** 2
        induced = level * ((speed / v) ** 2 * load - 1.0)
        v = max(v + STEP * GRAVITY * (excess - induced - sine), 20.0)
    tas = np.array(flown)
    up = tas * gamma_rate / GRAVITY + np.cos(gamma)
    side = tas * np.cos(gamma) * chi_rate / GRAVITY
    bank, load = np.arctan2(side, up), np.hypot(up, side)
    # A push is an upright airplane at negative load factor.
    pushed = (up < 0.0) & (np.abs(side) < np.abs(up))
    bank, load = np.where(pushed, np.arctan2(-side, -up), bank), np.where(pushed, -load, load)

    height = altitude + np.cumsum(tas * np.sin(gamma)) * STEP
    draw = {"wind": np.zeros(2), "warmth": 0.0, "zero": 0.0, "slope": 0.0, "mass": 0.0}
    if rng is not None:
        draw["zero"], draw["slope"], draw["mass"] = rng.standard_normal(3)
        north, east, temperature = (x[0] for x in weather.draw(rng, height[None], time))
    else:
        north, east, temperature = weather.at(height)
    pressure_altitude = altitude + np.cumsum(
        tas * np.sin(gamma) * STEP * atmosphere.temperature(height) / temperature
    )
    velocity_north = tas * np.cos(gamma) * np.cos(chi) + north
    velocity_east = tas * np.cos(gamma) * np.sin(chi) + east
    meridian, prime = radii(np.full_like(time, place[0]))
    latitude = place[0] + np.cumsum(velocity_north / (meridian + height)) * STEP
    _, prime = radii(latitude)
    longitude = place[1] + np.cumsum(velocity_east / (prime + height) / np.cos(latitude)) * STEP

    pressure = atmosphere.pressure(pressure_altitude)
    mach = airspeed.mach_from_tas(tas, temperature)
    dynamic = 0.5 * atmosphere.density(pressure, temperature) * tas**2
    true_lift = replace(
        lift,
        mass=lift.mass + draw["mass"] * lift.mass_sigma,
        lift_slope=lift.lift_slope + draw["slope"] * lift.lift_slope_sigma,
        zero_lift_angle=lift.zero_lift_angle + draw["zero"] * lift.zero_lift_angle_sigma,
    )
    aspect = lift.aspect_ratio or 8.0
    ratio = (2 + np.sqrt(4 + aspect**2)) / (2 + np.sqrt(4 + aspect**2 * (1 - mach**2)))
    alpha = true_lift.zero_lift_angle + load * true_lift.mass * GRAVITY / (
        dynamic * lift.wing_area * true_lift.lift_slope * ratio
    )
    # Body axis: the velocity turned by alpha towards the lift, in vectors.
    forward = np.stack([np.cos(gamma) * np.cos(chi), np.cos(gamma) * np.sin(chi), -np.sin(gamma)])
    upward = np.stack([-np.sin(gamma) * np.cos(chi), -np.sin(gamma) * np.sin(chi), -np.cos(gamma)])
    right = np.stack([-np.sin(chi), np.cos(chi), np.zeros_like(chi)])
    toward = np.cos(bank) * upward + np.sin(bank) * right
    body = np.cos(alpha) * forward + np.sin(alpha) * toward
    return Truth(
        time,
        latitude,
        np.mod(longitude + np.pi, 2 * np.pi) - np.pi,
        velocity_north,
        velocity_east,
        {
            "pressure_altitude": pressure_altitude,
            "altitude": height,
            "vertical_rate": np.gradient(pressure_altitude, STEP),
            "true_airspeed": tas,
            "calibrated_airspeed": airspeed.cas_from_mach(mach, pressure),
            "flight_path_angle": gamma,
            "bank_angle": bank,
            "normal_load_factor": uniform_filter1d(load, round(1.0 / STEP)),
            "pitch_angle": np.arcsin(-body[2]),
            "angle_of_attack": alpha,
        },
        weather,
        true_lift,
    )


@dataclass(frozen=True)
class Habits:
    """How late the channels of a track are, s."""

    position_age: float = 0.1
    altitude_age: float = 0.5
    latency: float = 0.0
    lag: float = 0.3


@dataclass(frozen=True)
class Faults:
    """What else is wrong with a track.

    `gap` is the first and last time without fixes; `wild` are indices of fixes whose position or
    altitude is thrown off by the distances given, m.
    """

    gap: tuple[float, float] | None = None
    wild: tuple[int, ...] = ()
    wild_position: float = 0.0
    wild_altitude: float = 0.0
    extra: dict = field(default_factory=dict)


def _lagged(values: np.ndarray, lag: float) -> np.ndarray:
    """First-order lag on the truth's time base."""
    keep = np.exp(-STEP / lag)
    return lfilter([1.0 - keep], [1.0, -keep], values, zi=[keep * values[0]])[0]


def observe(
    truth: Truth,
    rng: np.random.Generator,
    how: Degradation = PLAIN,
    habits: Habits = Habits(),
    faults: Faults = Faults(),
) -> Track:
    """The surveillance track of a synthetic flight."""
    time = np.arange(2.0, truth.time[-1] - 2.0, how.interval)
    time = time[rng.random(time.size) >= how.drop]
    if faults.gap is not None:
        time = time[(time < faults.gap[0]) | (time > faults.gap[1])]
    stamp = time + how.jitter * np.clip(rng.standard_normal(time.size), -3.0, 3.0)
    order = np.argsort(stamp)
    time, stamp = time[order], stamp[order]
    row = np.arange(2, time.size + 2)
    none = np.zeros(time.size, dtype=bool)
    off = np.zeros(time.size)
    off[list(faults.wild)] = 1.0

    def channel(value, step):
        return Observations(stamp, rounded(value, step), step, row, row * 0, none)

    def late(values, age):
        return np.interp(time - age, truth.time, values)

    noise = how.position_sigma * rng.standard_normal((2, time.size))
    noise += off * faults.wild_position * np.array([[0.8], [0.6]])
    latitude = late(truth.latitude, habits.position_age)
    longitude = late(np.unwrap(truth.longitude), habits.position_age)
    latitude = latitude + noise[0] / 6.371e6
    longitude = longitude + noise[1] / (6.371e6 * np.cos(latitude))
    place = np.stack([latitude, np.mod(longitude + np.pi, 2 * np.pi) - np.pi], axis=-1)
    velocity_age = habits.position_age + habits.latency
    north, east = (late(v, velocity_age) for v in (truth.velocity_north, truth.velocity_east))
    rate = _lagged(truth.values["vertical_rate"], habits.lag)
    altitude = late(truth.values["pressure_altitude"], habits.position_age + habits.altitude_age)
    position = Observations(stamp, place, 0.0, row, row * 0, none)
    step = how.angle_step
    angle = channel(np.mod(np.arctan2(east, north), 2 * np.pi), step)
    return Track(
        epoch=EPOCH,
        position=position,
        pressure_altitude=channel(altitude + off * faults.wild_altitude, how.altitude_step),
        ground_speed=channel(np.hypot(north, east), how.speed_step) if how.velocity else None,
        track_angle=angle if how.velocity else None,
        vertical_rate=(
            channel(late(rate, habits.position_age + habits.altitude_age), how.rate_step)
            if how.velocity
            else None
        ),
        vertical_rate_source="baro",
    )
