"""Make the source files of the invented case `cedar-hollow`: a flight that never took place.

Everything is made up: the airplane, its registration (no nationality mark begins with Q), the
place (open ocean, so that no real one is meant), the weather and the words. A point mass is flown
by load factor, bank and thrust through a wind that turns with height: take-off climb, level-off,
a right turn, level flight, a nose-down upset that starts subtly and steepens, and a partial
recovery. What a receiver would have kept of it is written to `examples/cedar-hollow/`.

    python examples/make_cedar_hollow.py [FOLDER]

Only numpy is used, so that the case does not depend on the program it is a test for.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

SEED = 20310414
EPOCH = datetime(2031, 4, 14, 18, 52, 0, tzinfo=UTC)
LATITUDE, LONGITUDE, FIELD = 46.2, -36.4, 360.0  # degrees, degrees, m: an invented island
STEP = 0.02  # s; the path moves by < 0.1 m when this is halved
GRAVITY = 9.80665
FOOT, KNOT = 0.3048, 1852.0 / 3600.0
WARMER = 4.0  # K above the standard atmosphere at every height
SETTING = 1009.5  # hPa, altimeter setting of the field
UPSET, DURATION = 318.0, 368.0  # s


@dataclass(frozen=True)
class Flight:
    """The flight as it was: time (n,) s; position, velocity NED (n, 3) SI; attitude-free."""

    time: np.ndarray
    position: np.ndarray
    velocity: np.ndarray
    load_factor: np.ndarray
    bank: np.ndarray
    airspeed: np.ndarray


def wind(height: float) -> np.ndarray:
    """Wind vector, m/s NED, at a height, m: from 230 deg 12 kt, turning right and growing."""
    rise = max(height - FIELD, 0.0)
    speed = (12.0 + 17.0 * (1.0 - np.exp(-rise / 1500.0))) * KNOT
    origin = np.radians(230.0 + 30.0 * (1.0 - np.exp(-rise / 1800.0)))
    return np.array([-speed * np.cos(origin), -speed * np.sin(origin), 0.0])


def demand(time: float, speed: float, path: float, height: float) -> tuple[float, float, float]:
    """Load factor, bank (rad) and along-path thrust less drag over weight that are flown."""
    bank = np.radians(25.0) * np.interp(time, [248, 252, 280, 284], [0.0, 1.0, 1.0, 0.0])
    level = 2400.0
    climb = np.clip((level - height) / 130.0, 0.0, 1.0) * np.radians(
        np.interp(time, [0, 25], [6, 8])
    )
    wanted = np.interp(height, [FIELD, 900.0, 2200.0, 2380.0], [66.0, 76.0, 80.0, 98.0])
    along = np.sin(path) + np.clip(0.04 * (wanted - speed), -0.12, 0.12)
    load = (np.cos(path) + 0.6 * speed / GRAVITY * (climb - path)) / np.cos(bank)
    if time < UPSET:
        return load, bank, along
    since = time - UPSET
    # The hands correct and lose: n wavers about a falling mean, then a pull that fades.
    mean = np.interp(
        since, [0, 8, 14, 21, 26, 33, 40, 54], [1, 0.93, 0.80, 0.44, 0.62, 1.65, 1.25, 0.95]
    )
    waver = 0.10 * np.sin(2 * np.pi * since / 4.2) * np.interp(since, [0, 3, 15, 22], [0, 1, 1, 0])
    roll = np.radians(np.interp(since, [0, 14, 24, 34, 54], [0, -4, -17, -9, -6]))
    return mean + waver, roll, np.interp(since, [0, 20, 54], [0.02, 0.0, -0.06])


def axes(air: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Unit vectors along the air path, to its right, and in its lift direction, NED."""
    along = air / np.linalg.norm(air)
    right = np.cross([0.0, 0.0, 1.0], along)
    right /= np.linalg.norm(right)
    return along, right, np.cross(right, along)


def fly() -> Flight:
    """Fly the point mass from lift-off to the last moment."""
    count = round(DURATION / STEP) + 1
    time = np.arange(count) * STEP
    position, velocity = np.zeros((count, 3)), np.zeros((count, 3))
    load, bank, airspeed = np.zeros(count), np.zeros(count), np.zeros(count)
    heading, path, speed = np.radians(215.0), np.radians(6.0), 62.0
    position[0, 2] = -(FIELD + 15.0)
    start = np.array(
        [np.cos(path) * np.cos(heading), np.cos(path) * np.sin(heading), -np.sin(path)]
    )
    velocity[0] = speed * start + wind(-position[0, 2])
    flown = np.array([1.0, 0.0, 0.0])
    for k in range(count):
        height = -position[k, 2]
        air = velocity[k] - wind(height)
        along, right, lift = axes(air)
        airspeed[k] = np.linalg.norm(air)
        asked = demand(time[k], airspeed[k], np.arcsin(-along[2]), height)
        flown = flown + (np.array(asked) - flown) * STEP / 0.4  # the airplane follows in 0.4 s
        load[k], bank[k] = flown[0], flown[1]
        force = flown[2] * along + flown[0] * (np.cos(flown[1]) * lift + np.sin(flown[1]) * right)
        acceleration = GRAVITY * (force + np.array([0.0, 0.0, 1.0]))
        if k + 1 < count:
            velocity[k + 1] = velocity[k] + acceleration * STEP
            position[k + 1] = position[k] + (velocity[k] + velocity[k + 1]) * STEP / 2
    return Flight(time, position, velocity, load, bank, airspeed)


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


def lagged(signal: np.ndarray, seconds: float) -> np.ndarray:
    """A first-order lag, as in the instrument that makes the vertical rate."""
    out = np.empty_like(signal)
    out[0] = signal[0]
    for k in range(1, len(signal)):
        out[k] = out[k - 1] + (signal[k] - out[k - 1]) * STEP / seconds
    return out


def track_rows(flight: Flight, rng: np.random.Generator) -> list[str]:
    """The rows of a 1 Hz receiver log: coarse steps, jitter, drops, an outlier, a stale repeat."""
    nominal = np.arange(0.0, DURATION - 1.0, 1.0)
    stamp = nominal + rng.uniform(-0.2, 0.2, nominal.size) + 0.3
    kept = rng.random(nominal.size) > 0.04
    kept &= ~((nominal >= 150) & (nominal < 157))  # the antenna hidden by a wing for 7 s
    kept &= ~((nominal >= UPSET + 27) & (nominal < UPSET + 30))
    seen = stamp - 0.1  # s between measuring and reception
    north, east = (np.interp(seen, flight.time, flight.position[:, i]) for i in (0, 1))
    north, east = (x + rng.normal(0.0, 3.0, x.size) for x in (north, east))
    curvature = 6367500.0  # m, mean of the two radii there, good to 0.3 %
    latitude = LATITUDE + np.degrees(north / curvature)
    longitude = LONGITUDE + np.degrees(east / (curvature * np.cos(np.radians(LATITUDE))))
    altitude = pressure_altitude(-flight.position[:, 2]) / FOOT
    rate = lagged(-flight.velocity[:, 2], 0.8) / FOOT * 60.0
    ground = np.hypot(flight.velocity[:, 0], flight.velocity[:, 1]) / KNOT
    course = np.degrees(np.unwrap(np.arctan2(flight.velocity[:, 1], flight.velocity[:, 0])))
    values = [np.interp(seen, flight.time, x) for x in (altitude, ground, course, rate)]
    rows = []
    wrong = int(np.flatnonzero(kept & (nominal > 200.0))[0])
    for k in np.flatnonzero(kept):
        feet, knots, degrees, minute = (x[k] for x in values)
        if k == wrong:
            feet += 1000.0  # one wrong bit
        cells = [
            (EPOCH + timedelta(seconds=float(stamp[k]))).strftime("%Y-%m-%dT%H:%M:%S.%f")[:-4]
            + "Z",
            f"{latitude[k]:.5f}",
            f"{longitude[k]:.5f}",
            f"{round(feet / 25) * 25:d}",
            f"{round(knots):d}",
            f"{round(degrees) % 360:d}",
            f"{round(minute / 64) * 64:d}",
        ]
        rows.append(cells)
    stale = next(i for i, cells in enumerate(rows) if cells[0] > "2031-04-14T18:56:41")
    rows[stale][1:] = rows[stale - 1][1:]  # an old state sent again with a new time
    return [",".join(cells) for cells in rows]


def metar() -> str:
    """The surface report of the invented field, 8 min before lift-off."""
    return "METAR QQCH 141844Z 23012G18KT 9999 SCT045 BKN090 14/06 Q1009=\n"


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


def main(folder: Path) -> None:
    """Write the three source files."""
    rng = np.random.default_rng(SEED)
    head = "time_utc,latitude,longitude,altitude_ft,ground_speed_kt,track_deg,vertical_rate_ftmin"
    rows = track_rows(fly(), rng)
    (folder / "track.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    (folder / "metar.txt").write_text(metar(), encoding="utf-8")
    (folder / "sounding.txt").write_text(sounding(rng), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "cedar-hollow")
