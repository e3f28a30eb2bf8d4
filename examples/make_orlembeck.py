"""Make the invented case `orlembeck`: a tail that parted, a dive, and parts on a hillside.

Everything in it is made up: the airplane (the catalogue's invented cargo twin), the hills, the
weather, the sound and the parts. The flight is flown by the program's own equations; how parts fall
and what a microphone hears is computed here with numpy alone.

    python examples/make_orlembeck.py [FOLDER]
"""

from __future__ import annotations

import sys
import wave
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import tifffile
from surroundings import ADSB_HEAD, Flight, adsb_rows, flown, places, sounding, wind, write_lines

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import Pilot

SEED = 20311120
EPOCH = datetime(2031, 11, 20, 15, 20, 0, tzinfo=UTC)
ORIGIN = (47.1, -35.2)  # degrees: open ocean, so that no real place is meant; the land is invented
CONDITION = Condition(find="trim", speed=105.0, height=3000.0, heading=np.radians(115.0))
START, DURATION = 100.0, 160.0  # s
PARAMETERS = {
    "start": START, "wing_lost": 0.0, "tail_lost": 0.75, "drag": 1.6, "lopsided": np.radians(0.6),
    "snap": 0.4, "margin": 9.0,
}  # fmt: skip
LOST = 250.0  # m above the ground below which the receiver hears nothing
# Name, mass kg, drag area m2, seconds after the break; found or not. All invented.
PARTS = (
    ("left tailplane half", 46.0, 2.6, 0.6),
    ("right tailplane tip", 14.0, 1.1, 0.6),
    ("elevator", 21.0, 1.9, 0.9),
    ("tail cone fairing", 4.5, 1.0, 0.7),
    ("fin cap", 2.0, 0.5, 0.6),
)
SOUND = 340.0  # m/s
BLADE_RATE = 4 * 1591.0 / 60.0  # Hz: four blades at 1,591 rpm
FARM, HEARD, SAMPLES = 92.0, (52.0, 132.0), 1600  # s, s, samples a second
MISSING = ("trim tab with its rod", 3.2, 0.42, 0.8)
CASE = """# An invented case whose answer comes from beside the track.
# examples/make_orlembeck.py writes this file and the source files beside it.

schema = 1
title = "Orlembeck: a dive, and parts on a hillside"
question = "Did this airplane break in flight, and where is the part that is missing?"
place = "Orlembeck, invented hills"
invented = true
cut_off = 2031-12-15
seed = 20311120
something_failed = 0.95              # the airplane did not come back
altimeter_setting = "1009.5 hPa +- 1 hPa"

[airplane]
name = "Velmar C7 (invented cargo twin)"
registration = "QQ-ORL"
file = "velmar-c7"                   # of the catalogue: `neutralpoint airplane velmar-c7`

[analysis]
onset = 15:21:40                     # the last moment of the steady cruise

[[tracks]]
file = "track.csv"
vertical_rate_source = "baro"

[tracks.columns]
time = "time_utc"
latitude = {{ column = "latitude", unit = "deg" }}
longitude = {{ column = "longitude", unit = "deg" }}
pressure_altitude = {{ column = "altitude_ft", unit = "ft" }}
ground_speed = {{ column = "ground_speed_kt", unit = "kt" }}
track_angle = {{ column = "track_deg", unit = "deg" }}
vertical_rate = {{ column = "vertical_rate_ftmin", unit = "ft/min" }}

[[weather]]
kind = "sounding"
file = "sounding.txt"
wind_error = "6 kt"
temperature_error = "2 K"

[[terrain]]
file = "hills.tif"                   # heights in whole meters; needs the extra `terrain`

[[evidence]]
kind = "impact"
latitude = "{latitude:.5f} deg"
longitude = "{longitude:.5f} deg"
place_error = "30 m"
source = "invented survey: crater with both engines"

[[evidence]]
kind = "tree-cuts"
first_height = "11.5 m +- 0.6 m"
second_height = "2.0 m +- 0.6 m"
distance = "2.1 m +- 0.4 m"
slope = "4 deg +- 2 deg"
source = "invented survey: two firs above the crater"

[[recordings]]
file = "farm.wav"
kind = "ground"
start = 15:20:52
error = "1 s"
blades = 4
slowest = "1200 rpm"
fastest = "1900 rpm"
latitude = "{farm[0]:.5f} deg"
longitude = "{farm[1]:.5f} deg"
height = "{farm[2]:.0f} m"
source = "invented camera at a farm, clock set by radio"

[[recordings]]
file = "tape.wav"
kind = "radio"
start = 15:21:38
blades = 4
slowest = "1200 rpm"
fastest = "1900 rpm"
source = "invented tape of the tower, recorded too loud"

{debris}
"""


def hills(north: np.ndarray, east: np.ndarray) -> np.ndarray:
    """Height of the invented ground, m, at m north and east of the origin."""
    ridge = 220.0 * np.exp(-(((east - 9500.0) / 2600.0) ** 2))
    rolling = 35.0 * np.sin(north / 1400.0 + 0.6) * np.cos(east / 1900.0)
    return 380.0 + ridge + rolling + 0.004 * east


def terrain(path: Path) -> None:
    """A small GeoTIFF of the ground about the flight, heights in whole meters above the sea."""
    step = 1.0 / 600.0  # degrees
    rows, columns = 91, 151
    north, west = ORIGIN[0] + 0.05, ORIGIN[1] - 0.02
    latitude = north - step * np.arange(rows)[:, None]
    longitude = west + step * np.arange(columns)[None, :]
    heights = hills(
        np.radians(latitude - ORIGIN[0]) * 6367500.0,
        np.radians(longitude - ORIGIN[1]) * 6367500.0 * np.cos(np.radians(ORIGIN[0])),
    )
    keys = (1, 1, 0, 4, 1024, 0, 1, 2, 1025, 0, 1, 2, 2048, 0, 1, 4326, 4096, 0, 1, 5773)
    tifffile.imwrite(
        path,
        np.rint(heights).astype(np.int16),
        compression="zlib",
        metadata=None,
        software=False,
        datetime=False,
        extratags=[
            (33550, 12, 3, (step, step, 0.0), True),
            (33922, 12, 6, (0.0, 0.0, 0.0, west, north, 0.0), True),
            (34735, 3, len(keys), keys, True),
        ],
    )


def fallen(flight: Flight, mass: float, area: float, after: float, rng) -> np.ndarray:
    """Where a part comes down, m north and east, by steps of 10 ms with drag alone."""
    moment = START + after
    x = np.array([np.interp(moment, flight.time, flight.position[:, i]) for i in range(3)])
    v = np.array([np.interp(moment, flight.time, flight.velocity[:, i]) for i in range(3)])
    v = v + rng.normal(0.0, 2.0, 3)
    area, start = area * np.exp(rng.normal(0.0, 0.1)), -x[2]
    while -x[2] > hills(x[0], x[1]):
        density = 1.225 * (1.0 + 0.0065 * x[2] / 288.15) ** 4.2559
        relative = v - wind(-x[2])
        pull = 0.5 * density * area / mass * np.linalg.norm(relative)
        v = v + 0.01 * (np.array([0.0, 0.0, 9.80665]) - pull * relative)
        x = x + 0.01 * v
    return x[:2] + rng.normal(0.0, 0.015, 2) * (start - 400.0)


def degrees_of(place: np.ndarray) -> tuple[float, float]:
    """Latitude and longitude of m north and east of the origin."""
    latitude = ORIGIN[0] + np.degrees(place[0] / 6367500.0)
    east = np.degrees(place[1] / (6367500.0 * np.cos(np.radians(ORIGIN[0]))))
    return float(latitude), float(ORIGIN[1] + east)


def debris(flight: Flight, rng: np.random.Generator) -> str:
    """The tables of the parts as the case file has them."""
    tables = []
    for name, mass, area, after in (*PARTS, MISSING):
        lines = ["[[debris]]", f'name = "{name}"', f'mass = "{mass:g} kg +- {0.1 * mass:.1f} kg"']
        lines += [f'area = "{area / 0.8:.2f} m2"', 'drag = "0.8 +- 0.3"']
        if name != MISSING[0]:
            latitude, longitude = degrees_of(fallen(flight, mass, area, after, rng))
            lines += [f'latitude = "{latitude:.5f} deg"', f'longitude = "{longitude:.5f} deg"']
            lines += ['place_error = "15 m"']
        tables.append("\n".join([*lines, 'source = "invented survey of the hillside"']))
    return "\n\n".join(tables)


def save(path: Path, samples: np.ndarray, rate: int) -> None:
    """A WAV file of 16 bits, one channel."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(np.rint(np.clip(samples, -1.0, 1.0) * 32767.0).astype("<i2").tobytes())


def farm(flight: Flight, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Where the camera stood, m north, east and up, and what it recorded.

    The propellers turn steadily to the end. Sound takes its way over each moment of the flight and
    its image in the ground, grows weak with distance, and noise as of wind is added.
    """
    at = np.array([np.interp(FARM, flight.time, flight.position[:, i]) for i in (0, 1)])
    place = at + np.array([-140.0, 60.0])
    up = float(hills(place[0], place[1])) + 1.5
    heard = np.arange(HEARD[0], HEARD[1], 1.0 / SAMPLES)
    signal = np.zeros(heard.size)
    ground = up - 1.5
    for image in (1.0, -1.0):
        height = ground + image * (-flight.position[:, 2] - ground)
        distance = np.sqrt(((flight.position[:, :2] - place) ** 2).sum(axis=1) + (height - up) ** 2)
        arrival = flight.time + distance / SOUND
        phase = 2.0 * np.pi * BLADE_RATE * np.interp(heard, arrival, flight.time)
        size = (1.0 if image > 0.0 else 0.5) * 300.0 / np.interp(heard, arrival, distance)
        signal += size * sum(0.75**h * np.cos((h + 1) * phase + h) for h in range(5))
    noise = np.fft.rfft(rng.normal(size=heard.size))
    noise /= np.sqrt(np.maximum(np.fft.rfftfreq(heard.size, 1.0 / SAMPLES), 20.0) / 60.0)
    signal += 0.25 * np.fft.irfft(noise, heard.size)
    return np.array([*place, up]), 0.9 * signal / np.abs(signal).max()


def tape(rng: np.random.Generator) -> np.ndarray:
    """Three seconds that were recorded so loud that hardly more than the signs are left."""
    return 20.0 * rng.normal(size=3 * 4000)


def struck(flight: Flight) -> int:
    """Record at which the flight meets the ground."""
    x = flight.position
    below = -x[:, 2] <= hills(x[:, 0], x[:, 1])
    return int(np.argmax(below)) if below.any() else len(x) - 1


def cut(flight: Flight, last: int) -> Flight:
    """The flight up to a record."""
    return Flight(flight.time[:last], flight.position[:last], flight.velocity[:last])


def main(folder: Path) -> None:
    """Write the case."""
    rng = np.random.default_rng(SEED)
    flight = flown(
        load_airplane("velmar-c7").airplane,
        CONDITION,
        "structural-failure",
        parameters=PARAMETERS,
        pilot=Pilot(strength=300.0),
        duration=DURATION,
        latitude=ORIGIN[0],
        seed=SEED,
    )
    end = struck(flight)
    above = -flight.position[:, 2] - hills(flight.position[:, 0], flight.position[:, 1])
    heard = cut(flight, int(np.argmax((above < LOST) & (flight.time > START))) or end)
    rows = adsb_rows(
        heard, rng, epoch=EPOCH, origin=ORIGIN, hidden=((40.0, 45.0),), wrong=70.0, stale=58.0
    )
    folder.mkdir(exist_ok=True)
    write_lines(folder / "track.csv", ADSB_HEAD, rows)
    (folder / "sounding.txt").write_text(sounding(rng), encoding="utf-8")
    terrain(folder / "hills.tif")
    camera, sound = farm(cut(flight, end), rng)
    save(folder / "farm.wav", sound, SAMPLES)
    save(folder / "tape.wav", tape(rng), 4000)
    latitude, longitude = places(flight, flight.time[[end]], ORIGIN)
    case = CASE.format(
        latitude=latitude[0],
        longitude=longitude[0],
        farm=(*degrees_of(camera), camera[2]),
        debris=debris(flight, rng),
    )
    (folder / "case.toml").write_text(case, encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "orlembeck")
