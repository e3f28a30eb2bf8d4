"""Wind and temperature against pressure altitude, with an error that is correlated along a flight.

A forecast or a distant sounding is not wrong by noise: it is wrong by about the same amount a few
hundred metres higher or a few minutes later. `Weather.draw` therefore draws whole error fields.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from neutralpoint.earth import atmosphere
from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import SEA_LEVEL_TEMPERATURE

# Analyst's choices, no published law behind them: the error of a forecast or of a sounding tens of
# kilometres away keeps its sign over about a kilometre of height and half an hour of flight.
HEIGHT_SCALE = 1500.0  # m
TIME_SCALE = 1800.0  # s
# Analyst's: 5 kt a component, an ordinary error of a short-range forecast aloft; 1.5 K likewise.
SIGMA_WIND = 2.5  # m/s
SIGMA_TEMPERATURE = 1.5  # K
# Analyst's: a surface report says less and less the higher one flies above it.
_REPORT_HEIGHTS = np.array([0.0, 1000.0, 3000.0, 10000.0])  # m above the station
_REPORT_SIGMA_WIND = np.array([2.0, 5.0, 10.0, 20.0])  # m/s
_REPORT_SIGMA_TEMPERATURE = np.array([1.0, 3.0, 5.0, 8.0])  # K

_FEATURES = 32  # waves in one error field; the weights are normal, so each value is exactly normal
_FREEDOM = 3  # Student-t freedom of the wave numbers of a Matern-3/2 field (2 nu = 3)


def _rows(values: ArrayLike, count: int) -> Array:
    return np.array(np.broadcast_to(np.asarray(values, float), (count,)))


def _refuse(message: str, where: str, hint: str) -> NeutralPointError:
    return NeutralPointError("weather-invalid", message, where=where, hint=hint)


@dataclass(frozen=True)
class Weather:
    """A vertical profile with its uncertainty.

    Wind is the velocity of the air (the direction it blows to), as vector components. Outside the
    profile the end values are held: wind as such, temperature as its deviation from standard.

    Args:
        altitude: Pressure altitude of the levels, m, shape (k,), rising.
        wind_north: m/s, shape (k,).
        wind_east: m/s, shape (k,).
        temperature: K, shape (k,).
        sigma_wind: Standard deviation of each wind component, m/s, one value or shape (k,).
        sigma_temperature: Standard deviation of the temperature, K, one value or shape (k,).
        height_scale: Correlation length of the error in height, m.
        time_scale: Correlation time of the error along the flight, s.

    Raises:
        NeutralPointError: `weather-invalid` for levels that do not rise, unequal lengths, values
            that are not finite, or a sigma or scale that cannot be.
    """

    altitude: Array
    wind_north: Array
    wind_east: Array
    temperature: Array
    sigma_wind: ArrayLike = SIGMA_WIND
    sigma_temperature: ArrayLike = SIGMA_TEMPERATURE
    height_scale: float = HEIGHT_SCALE
    time_scale: float = TIME_SCALE

    def __post_init__(self) -> None:
        altitude = np.atleast_1d(np.asarray(self.altitude, float))
        object.__setattr__(self, "altitude", altitude)
        for name in ("wind_north", "wind_east", "temperature"):
            values = np.atleast_1d(np.asarray(getattr(self, name), float))
            if values.shape != altitude.shape:
                found = f"{values.size} values for {altitude.size} levels"
                raise _refuse(f"The profile has {found}.", name, "Give one value for each level.")
            object.__setattr__(self, name, values)
        for name in ("sigma_wind", "sigma_temperature"):
            object.__setattr__(self, name, _rows(getattr(self, name), altitude.size))
        self._check()

    def _check(self) -> None:
        numbers = ("altitude", "wind_north", "wind_east", "temperature")
        for name in (*numbers, "sigma_wind", "sigma_temperature"):
            bad = ~np.isfinite(getattr(self, name))
            if bad.any():
                level = int(np.argmax(bad))
                message = f"Level {level} of the profile is not a number."
                raise _refuse(message, f"{name}[{level}]", "Leave the level out.")
        if self.altitude.size == 0:
            raise _refuse("The profile is empty.", "altitude", "Give at least one level.")
        if np.any(np.diff(self.altitude) <= 0.0):
            level = int(np.argmax(np.diff(self.altitude) <= 0.0)) + 1
            message = f"The levels do not rise at {self.altitude[level]:g} m."
            raise _refuse(message, f"altitude[{level}]", "Sort the levels and drop repeats.")
        if np.any(self.temperature <= 100.0) or np.any(self.temperature > 340.0):
            message = f"Air of {self.temperature.min():g} to {self.temperature.max():g} K."
            raise _refuse(message, "temperature", "Give 100 to 340 K; check the unit.")
        if min(np.min(self.sigma_wind), np.min(self.sigma_temperature)) < 0.0:
            raise _refuse("A standard deviation is negative.", "sigma", "Give 0 or more.")
        if min(self.height_scale, self.time_scale) <= 0.0:
            raise _refuse("A correlation scale is not positive.", "scale", "Give more than 0.")

    def at(self, altitude: ArrayLike) -> tuple[Array, Array, Array]:
        """The profile itself, without its error.

        Args:
            altitude: Pressure altitude, m, any shape.

        Returns:
            Wind north and east, m/s, and temperature, K, each the same shape.
        """
        altitude = np.asarray(altitude, float)
        deviation = self.temperature - atmosphere.temperature(self.altitude)
        return (
            np.interp(altitude, self.altitude, self.wind_north),
            np.interp(altitude, self.altitude, self.wind_east),
            np.interp(altitude, self.altitude, deviation) + atmosphere.temperature(altitude),
        )

    def draw(
        self, rng: np.random.Generator, altitude: ArrayLike, time: ArrayLike
    ) -> tuple[Array, Array, Array]:
        """Joint draws of wind and temperature along sample paths.

        Each path gets an error field of its own for each of the three quantities.

        Args:
            rng: Source of random numbers.
            altitude: Pressure altitude of each path, m, shape (S, m).
            time: s, shape (m,).

        Returns:
            Wind north and east, m/s, and temperature, K, each shape (S, m).

        Source: random Fourier features, A. Rahimi and B. Recht, NIPS 20 (2007), of a product of two
        Matern-3/2 correlations, whose wave numbers are Student-t with 3 degrees of freedom,
        C. E. Rasmussen and C. Williams, Gaussian Processes for Machine Learning (2006), eq. 4.15.
        Checked against: tests/unit/test_earth_weather.py (correlation of many draws).
        """
        altitude = np.asarray(altitude, float)
        field = _error_fields(
            rng, altitude / self.height_scale, np.asarray(time, float) / self.time_scale
        )
        wind = np.interp(altitude, self.altitude, np.asarray(self.sigma_wind, float))
        warmth = np.interp(altitude, self.altitude, np.asarray(self.sigma_temperature, float))
        north, east, temperature = self.at(altitude)
        return north + wind * field[0], east + wind * field[1], temperature + warmth * field[2]


def _error_fields(rng: np.random.Generator, height: Array, time: Array) -> Array:
    """Three unit-variance Gaussian fields on each path, (3, S, m); arguments in correlation scales.

    A sum of waves with random wave numbers and independent normal weights on cosine and sine.
    Single precision: 1e-5 of a standard deviation does not matter, and it is ten times as fast.
    """
    samples, single = height.shape[0], np.float32
    waves = rng.standard_t(_FREEDOM, (_FEATURES, 2, samples, 1)).astype(single)
    weights = rng.standard_normal((_FEATURES, 2, 3, samples, 1), dtype=single)
    rise = (height - height.mean(axis=-1, keepdims=True)).astype(single)
    elapsed = (time - time.mean()).astype(single)
    field = np.zeros((3, *height.shape), single)
    for (in_height, in_time), (on_cosine, on_sine) in zip(waves, weights, strict=True):
        phase = in_height * rise + in_time * elapsed
        field += on_cosine * np.cos(phase)
        field += on_sine * np.sin(phase)
    return field.astype(float) / np.sqrt(_FEATURES)


def constant(
    wind_north: float,
    wind_east: float,
    *,
    temperature_deviation: float = 0.0,
    sigma_wind: float = SIGMA_WIND,
    sigma_temperature: float = SIGMA_TEMPERATURE,
) -> Weather:
    """The same wind and the same deviation from standard temperature at all heights.

    Args:
        wind_north: m/s.
        wind_east: m/s.
        temperature_deviation: K above standard.
        sigma_wind: m/s.
        sigma_temperature: K.

    Returns:
        The profile.
    """
    warmth = SEA_LEVEL_TEMPERATURE + temperature_deviation
    return Weather(
        np.zeros(1),
        np.array([wind_north]),
        np.array([wind_east]),
        np.array([warmth]),
        sigma_wind=sigma_wind,
        sigma_temperature=sigma_temperature,
    )


def from_surface_report(
    *,
    wind_north: float,
    wind_east: float,
    temperature: float,
    elevation: float,
    altimeter_setting: float,
) -> Weather:
    """A profile from nothing but a surface report: wind held, standard lapse, widening error.

    Args:
        wind_north: At the station, m/s.
        wind_east: m/s.
        temperature: At the station, K.
        elevation: Of the station above mean sea level, m.
        altimeter_setting: QNH, Pa.

    Returns:
        The profile; its standard deviations grow with height above the station.

    Valid: for want of anything better aloft; the growth of the error is an analyst's estimate.
    """
    station = elevation + float(atmosphere.pressure_altitude(altimeter_setting))
    levels = station + _REPORT_HEIGHTS
    deviation = temperature - float(atmosphere.temperature(station))
    return Weather(
        levels,
        np.full(levels.shape, wind_north),
        np.full(levels.shape, wind_east),
        atmosphere.temperature(levels) + deviation,
        sigma_wind=_REPORT_SIGMA_WIND,
        sigma_temperature=_REPORT_SIGMA_TEMPERATURE,
    )


def components(speed: ArrayLike, direction_from: ArrayLike) -> tuple[Array, Array]:
    """Velocity of the air from a reported wind.

    Args:
        speed: m/s, any shape.
        direction_from: True direction the wind blows from, rad, same shape.

    Returns:
        Wind north and east, m/s: the velocity of the air, so a wind from the north is negative
        north.

    Source: WMO-No. 8, Guide to Instruments and Methods of Observation, chapter 5 (direction from).
    """
    speed, direction_from = np.asarray(speed, float), np.asarray(direction_from, float)
    return -speed * np.cos(direction_from), -speed * np.sin(direction_from)


def indicated_altitude(pressure_altitude: ArrayLike, altimeter_setting: ArrayLike) -> Array:
    """What an altimeter shows with a setting in its window.

    Args:
        pressure_altitude: m, any shape.
        altimeter_setting: QNH, Pa.

    Returns:
        m, same shape.

    Source: an altimeter is a standard-atmosphere scale shifted by its setting, ICAO Doc 8168
    (PANS-OPS) definition of QNH.
    Checked against: tests/unit/test_earth_weather.py.
    """
    return np.asarray(pressure_altitude, float) - atmosphere.pressure_altitude(altimeter_setting)
