"""From paths over the ground to flight through the air: speeds, angles and load factors."""

from __future__ import annotations

import numpy as np

from neutralpoint.earth import airspeed, atmosphere
from neutralpoint.earth.geodesy import gravity
from neutralpoint.earth.weather import Weather
from neutralpoint.motion.attitude import lift_direction
from neutralpoint.motion.curvilinear import inertial_terms
from neutralpoint.motion.gusts import gust_wind, unseen_load
from neutralpoint.motion.lift import LiftData, angle_of_attack, draw_lift
from neutralpoint.motion.smoother import Paths
from neutralpoint.numerics.arrays import Array, Index
from neutralpoint.quantities import EARTH_RADIUS, GRAVITY

AIR_STEP = 2.0  # s: the air changes slowly along the path, so it is drawn at this spacing
# Vertical air motion away from storms and hills: a standing uncertainty. Analyst's choices.
VERTICAL_WIND_SIGMA = 0.4  # m/s
VERTICAL_WIND_TIME = 30.0  # s


def _coarse(step: float, nodes: int) -> Index:
    """Nodes at which the air is drawn, first and last included."""
    stride = max(1, round(AIR_STEP / step))
    return np.unique(np.r_[np.arange(0, nodes, stride), nodes - 1])


def _spread(values: Array, nodes: Index, total: int) -> Array:
    """Linear interpolation along the last axis from coarse nodes to all."""
    grid = np.arange(total)
    left = np.clip(np.searchsorted(nodes, grid, side="right") - 1, 0, nodes.size - 2)
    fraction = (grid - nodes[left]) / (nodes[left + 1] - nodes[left])
    return values[:, left] * (1.0 - fraction) + values[:, left + 1] * fraction


def _vertical_wind(rng: np.random.Generator, samples: int, nodes: int) -> Array:
    """First-order Markov vertical wind at the coarse nodes, shape (S, nodes)."""
    memory = np.exp(-AIR_STEP / VERTICAL_WIND_TIME)
    noise = rng.standard_normal((samples, nodes))
    wind = np.empty_like(noise)
    wind[:, 0] = noise[:, 0]
    for k in range(1, nodes):
        wind[:, k] = memory * wind[:, k - 1] + np.sqrt(1.0 - memory**2) * noise[:, k]
    return VERTICAL_WIND_SIGMA * wind


def draw_air(
    weather: Weather, rng: np.random.Generator, pressure_altitude: Array, time: Array, step: float
) -> tuple[Array, Array]:
    """Wind and temperature along each path.

    Args:
        weather: Profile with its uncertainty.
        rng: Source of random numbers.
        pressure_altitude: m, shape (S, m).
        time: s, shape (m,).
        step: Grid step, s.

    Returns:
        Wind NED, m/s, shape (S, m, 3), and temperature, K, shape (S, m).
    """
    samples, nodes = pressure_altitude.shape
    coarse = _coarse(step, nodes)
    north, east, temperature = weather.draw(rng, pressure_altitude[:, coarse], time[coarse])
    down = -_vertical_wind(rng, samples, coarse.size)
    wind = np.stack([_spread(w, coarse, nodes) for w in (north, east, down)], axis=-1)
    return wind, _spread(temperature, coarse, nodes)


def flight_paths(
    ground: Paths,
    *,
    weather: Weather,
    altitude: Array,
    lift: LiftData,
    rng: np.random.Generator,
    step: float,
    rough: float,
    unseen: Array,
) -> dict[str, Array]:
    """Air data, attitude and load factors of each sample path.

    Args:
        ground: Sample paths over the ground.
        weather: Wind and temperature profile.
        altitude: Height above mean sea level of each path, m, shape (S, m).
        lift: Mass and lift line.
        rng: Source of random numbers.
        step: Grid step, s.
        rough: Root mean square gust about the mean wind, m/s.
        unseen: Variance of the load factor too quick for the vertical rates, shape (m,).

    Returns:
        Arrays of shape (S, m) in SI and radians, by name.
    """
    horizontal, vertical = ground.horizontal, ground.vertical
    pressure_altitude = vertical[..., 0]
    wind, temperature = draw_air(weather, rng, pressure_altitude, ground.time, step)
    latitude, longitude = ground.frame.to_geographic(horizontal[..., 0], horizontal[..., 3])
    stretch_north, stretch_east = ground.frame.stretch(latitude, altitude)
    # Geometric height per pressure altitude: warm air is thicker than standard air.
    thickness = (
        temperature
        / atmosphere.temperature(pressure_altitude)
        * (1.0 + altitude / EARTH_RADIUS) ** 2
    )
    velocity = np.stack(
        [
            horizontal[..., 1] * stretch_north,
            horizontal[..., 4] * stretch_east,
            -vertical[..., 1] * thickness,
        ],
        axis=-1,
    )
    acceleration = np.stack(
        [
            horizontal[..., 2] * stretch_north,
            horizontal[..., 5] * stretch_east,
            -vertical[..., 2] * thickness,
        ],
        axis=-1,
    )
    force = acceleration + inertial_terms(latitude, altitude, velocity)
    force[..., 2] -= gravity(latitude, altitude)

    air = velocity - wind
    typical = np.median(np.linalg.norm(air, axis=-1), axis=1)
    air = air - gust_wind(rng, pressure_altitude.shape, rough, typical, step)
    true_airspeed = np.maximum(np.linalg.norm(air, axis=-1), 1.0)
    direction = air / true_airspeed[..., None]
    lifted = lift_direction(force, direction, step)
    load_factor = lifted.load_factor + unseen_load(rng, true_airspeed.shape, unseen, step)
    pressure = atmosphere.pressure(pressure_altitude)
    mach = airspeed.mach_from_tas(true_airspeed, temperature)
    density = atmosphere.density(pressure, temperature)
    coefficient, incidence = angle_of_attack(
        lift,
        draw_lift(lift, rng, pressure_altitude.shape[0]),
        load_factor=load_factor,
        dynamic_pressure=0.5 * density * true_airspeed**2,
        mach=mach,
        elapsed=ground.time - ground.time[0],
    )
    path_angle = np.arcsin(np.clip(-direction[..., 2], -1.0, 1.0))
    pitch = np.arcsin(
        np.clip(
            np.cos(incidence) * np.sin(path_angle)
            + np.sin(incidence) * np.cos(lifted.bank) * np.cos(path_angle),
            -1.0,
            1.0,
        )
    )
    turn = 2.0 * np.pi
    return {
        "latitude": latitude,
        "longitude": longitude,
        "altitude": altitude,
        "pressure_altitude": pressure_altitude,
        "ground_speed": np.hypot(velocity[..., 0], velocity[..., 1]),
        "track_angle": np.mod(np.arctan2(velocity[..., 1], velocity[..., 0]), turn),
        "vertical_speed": -velocity[..., 2],
        "wind_north": wind[..., 0],
        "wind_east": wind[..., 1],
        "air_temperature": temperature,
        "true_airspeed": true_airspeed,
        "calibrated_airspeed": airspeed.cas_from_mach(mach, pressure),
        "mach": mach,
        "dynamic_pressure": 0.5 * density * true_airspeed**2,
        "heading_of_air_velocity": np.mod(np.arctan2(air[..., 1], air[..., 0]), turn),
        "flight_path_angle": path_angle,
        "bank_angle": lifted.bank,
        "pitch_angle": pitch,
        "angle_of_attack": incidence,
        "lift_coefficient": coefficient,
        "normal_load_factor": load_factor,
        "longitudinal_load_factor": lifted.along,
        "specific_energy_height": altitude + true_airspeed**2 / (2.0 * GRAVITY),
    }
