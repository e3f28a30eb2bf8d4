"""The invented air and the receivers of the examples: what a flight leaves behind in files.

The program's own six degrees of freedom fly the examples; what a receiver makes of a flight uses
numpy only, so that it does not depend on the program that is tested.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial

import jax
import numpy as np

from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import (
    Pilot,
    find_cause,
    fly,
    trimmed_setting,
    with_procedure,
)
from neutralpoint.explanations.procedure import Procedure

FIELD = 360.0  # m, height of the invented field
FOOT, KNOT = 0.3048, 1852.0 / 3600.0
WARMER = 4.0  # K above the standard atmosphere at every height
SETTING = 1009.5  # hPa, altimeter setting of the field


@dataclass(frozen=True)
class Flight:
    """A flight as it was: time (n,) s; position and velocity over the ground, NED (n, 3), SI."""

    time: np.ndarray
    position: np.ndarray
    velocity: np.ndarray


def wind(height: float) -> np.ndarray:
    """Wind vector, m/s NED, at a height, m: from 230 deg 12 kt, turning right and growing."""
    rise = max(height - FIELD, 0.0)
    speed = (12.0 + 17.0 * (1.0 - np.exp(-rise / 1500.0))) * KNOT
    origin = np.radians(230.0 + 30.0 * (1.0 - np.exp(-rise / 1800.0)))
    return np.array([-speed * np.cos(origin), -speed * np.sin(origin), 0.0])


def pressure_altitude(height: np.ndarray) -> np.ndarray:
    """Pressure altitude, m, of a height, m, in a column warmer than standard.

    Source: ISO 2533 standard atmosphere, hydrostatic layer below 11 km; the warm column
    stretches each layer by T / T_standard.
    """
    at_field = (1.0 - (SETTING / 1013.25) ** 0.190263) * 288.15 / 0.0065 + FIELD
    grid = np.arange(FIELD - 400.0, FIELD + 12000.0, 5.0)
    altitude = np.zeros_like(grid)
    altitude[0] = at_field - 400.0
    for k in range(1, len(grid)):
        standard = 288.15 - 0.0065 * altitude[k - 1]
        altitude[k] = altitude[k - 1] + 5.0 * standard / (standard + WARMER)
    shift = np.interp(FIELD, grid, altitude) - at_field
    return np.interp(height, grid, altitude - shift)


def lagged(signal: np.ndarray, seconds: float, step: float) -> np.ndarray:
    """A first-order lag, as in the instrument that makes the vertical rate."""
    out = np.empty_like(signal)
    out[0] = signal[0]
    for k in range(1, len(signal)):
        out[k] = out[k - 1] + (signal[k] - out[k - 1]) * step / seconds
    return out


def places(
    flight: Flight, seen: np.ndarray, origin: tuple[float, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Latitude and longitude, degrees, at times (n,), from an origin in degrees."""
    north, east = (np.interp(seen, flight.time, flight.position[:, i]) for i in (0, 1))
    curvature = 6367500.0  # m, mean of the two radii there, good to 0.3%
    latitude = origin[0] + np.degrees(north / curvature)
    return latitude, origin[1] + np.degrees(east / (curvature * np.cos(np.radians(origin[0]))))


def stamped(epoch: datetime, seconds: float) -> str:
    """A time as the files write it, to a hundredth of a second."""
    return (epoch + timedelta(seconds=float(seconds))).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-4] + "Z"


def sounding(rng: np.random.Generator) -> str:
    """An upper-air text of an ascent 52 min earlier: the true profile with observation errors."""
    rule = "-" * 77
    names = ["PRES", "HGHT", "TEMP", "DWPT", "RELH", "MIXR", "DRCT", "SKNT", "THTA", "THTE", "THTV"]
    units = ["hPa", "m", "C", "C", "%", "g/kg", "deg", "knot", "K", "K", "K"]
    lines = [rule, "".join(f"{n:>7}" for n in names), "".join(f"{u:>7}" for u in units), rule]
    for height in (360, 480, 700, 950, 1200, 1500, 1800, 2100, 2500, 3000, 3700, 4500, 5600):
        high = float(pressure_altitude(np.array(float(height))))
        pressure = 1013.25 * (1.0 - 0.0065 * high / 288.15) ** 5.25588
        warmth = 15.0 - 0.0065 * high + WARMER + rng.normal(0.0, 0.3)
        blow = wind(float(height))
        speed = np.hypot(*blow[:2]) / KNOT + rng.normal(0.0, 1.2)
        origin = (np.degrees(np.arctan2(-blow[1], -blow[0])) + rng.normal(0.0, 3.0)) % 360.0
        dew = warmth - 8.0
        vapour = 6.112 * np.exp(17.67 * dew / (dew + 243.5))  # hPa, Bolton 1980, eq. 10
        humid = 100.0 * vapour / (6.112 * np.exp(17.67 * warmth / (warmth + 243.5)))
        mixing = 622.0 * vapour / (pressure - vapour)
        potential = (warmth + 273.15) * (1000.0 / pressure) ** 0.2857
        cells = [f"{pressure:7.1f}", f"{height:7d}", f"{warmth:7.1f}", f"{dew:7.1f}"]
        cells += [f"{humid:7.0f}", f"{mixing:7.2f}", f"{origin:7.0f}", f"{speed:7.0f}"]
        lines.append("".join([*cells, f"{potential:7.1f}", " " * 14]).rstrip())
    return "\n".join(lines) + "\n"


def invented_air(latitude: float):
    """The wind and warmth of the examples as the flight model takes them; latitude in degrees."""
    heights = np.arange(0.0, 6001.0, 100.0)
    blow = np.array([wind(height) for height in heights])
    return make_air(
        latitude=np.radians(latitude),
        temperature_offset=WARMER,
        pressure=100.0 * SETTING,
        wind_height=heights,
        wind_north=blow[:, 0],
        wind_east=blow[:, 1],
    )


def flown(
    airplane,
    condition: Condition,
    cause: str,
    *,
    parameters: dict[str, float],
    pilot: Pilot,
    duration: float,
    latitude: float,
    seed: int,
    procedure: Procedure = (),
) -> Flight:
    """A flight of one cause as it was, 20 records a second; `parameters` has the `start`, s."""
    setting = trimmed_setting(airplane, invented_air(latitude), condition, pilot=pilot)
    setting = with_procedure(setting, procedure)
    run = jax.jit(partial(fly, cause=find_cause(cause), duration=duration, record_every=1))
    flight = run(setting, parameters=parameters, key=jax.random.key(seed))
    where = flight.state
    return Flight(
        time=np.asarray(flight.time),
        position=np.column_stack([where.north, where.east, where.down]),
        velocity=np.column_stack([where.velocity_north, where.velocity_east, where.velocity_down]),
    )


ADSB_HEAD = "time_utc,latitude,longitude,altitude_ft,ground_speed_kt,track_deg,vertical_rate_ftmin"
RADAR_HEAD = "time_utc,latitude,longitude,altitude_ft"


def adsb_rows(
    flight: Flight,
    rng: np.random.Generator,
    *,
    epoch: datetime,
    origin: tuple[float, float],
    hidden: Sequence[tuple[float, float]],
    wrong: float,
    stale: float,
) -> list[str]:
    """The rows of a 1 Hz receiver log: coarse steps, jitter, drops, an outlier, a stale repeat.

    `hidden` are stretches without reception, s; the first reading after `wrong` has a wrong bit
    of altitude, and the first after `stale` repeats the state before it.
    """
    nominal = np.arange(0.0, flight.time[-1] - 1.0, 1.0)
    stamp = nominal + rng.uniform(-0.2, 0.2, nominal.size) + 0.3
    kept = rng.random(nominal.size) > 0.04
    for first, last in hidden:
        kept &= ~((nominal >= first) & (nominal < last))
    seen = stamp - 0.1  # s between measuring and reception
    latitude, longitude = places(flight, seen, origin)
    latitude += rng.normal(0.0, 2.7e-5, seen.size)  # 3 m
    longitude += rng.normal(0.0, 3.9e-5, seen.size)
    altitude = pressure_altitude(-flight.position[:, 2]) / FOOT
    step = float(flight.time[1] - flight.time[0])
    rate = lagged(-flight.velocity[:, 2], 0.8, step) / FOOT * 60.0
    rate = rate + np.repeat(rng.normal(0.0, 60.0, rate.size // 20 + 1), 20)[: rate.size]
    ground = np.hypot(flight.velocity[:, 0], flight.velocity[:, 1]) / KNOT
    course = np.degrees(np.unwrap(np.arctan2(flight.velocity[:, 1], flight.velocity[:, 0])))
    feet, knots, degrees, minute = (
        np.interp(seen, flight.time, x) for x in (altitude, ground, course, rate)
    )
    chosen = np.flatnonzero(kept)
    feet[chosen[nominal[chosen] > wrong][0]] += 1000.0
    rows = [
        [
            stamped(epoch, stamp[k]),
            f"{latitude[k]:.5f}",
            f"{longitude[k]:.5f}",
            f"{round(feet[k] / 25) * 25:d}",
            f"{round(knots[k]):d}",
            f"{round(degrees[k]) % 360:d}",
            f"{round(minute[k] / 64) * 64:d}",
        ]
        for k in chosen
    ]
    old = int(np.flatnonzero(nominal[chosen] > stale)[0])
    rows[old][1:] = rows[old - 1][1:]  # an old state sent again with a new time
    return [",".join(cells) for cells in rows]


def radar_rows(
    flight: Flight,
    rng: np.random.Generator,
    *,
    epoch: datetime,
    origin: tuple[float, float],
    turn: float,
) -> list[str]:
    """Radar returns: places with the noise of range and bearing, altitudes in hundreds of feet."""
    seen = np.arange(1.0, flight.time[-1] - 1.0, turn)
    seen = seen + rng.normal(0.0, 0.02, seen.size)
    latitude, longitude = places(flight, seen, origin)
    latitude += rng.normal(0.0, 4.0e-4, seen.size)  # 45 m
    longitude += rng.normal(0.0, 5.6e-4, seen.size)
    altitude = pressure_altitude(-flight.position[:, 2]) / FOOT
    feet = np.round(np.interp(seen, flight.time, altitude) / 100.0) * 100.0
    kept = rng.random(seen.size) > 0.05
    return [
        f"{stamped(epoch, seen[k])},{latitude[k]:.4f},{longitude[k]:.4f},{feet[k]:.0f}"
        for k in np.flatnonzero(kept)
    ]


def write_lines(path, head: str, rows: Sequence[str]) -> None:
    """A delimited file."""
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
