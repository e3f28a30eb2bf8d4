"""Make the invented case `cedar-hollow`: a stabilizer that ran away.

Everything in it is made up: the airplane (the catalogue's invented commuter), the place (in the
open ocean, so that no real one is meant), the weather and the words. The program's own six degrees
of freedom fly it: a steady climb, a stabilizer that starts to move nose-down by itself, a pilot who
pulls, and a force that grows past what a person can hold. What a receiver would have kept of it is
written to `examples/cedar-hollow/`.

    python examples/make_cedar_hollow.py [FOLDER]

The degrading of the flight to readings uses numpy only.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import jax
import numpy as np
from surroundings import (
    FOOT,
    KNOT,
    SETTING,
    WARMER,
    Flight,
    lagged,
    places,
    pressure_altitude,
    sounding,
    stamped,
    wind,
)

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import Pilot, find_cause, fly, trimmed_setting

SEED = 20310414
EPOCH = datetime(2031, 4, 14, 18, 52, 0, tzinfo=UTC)
ORIGIN = (46.2, -36.4)  # degrees: an invented island
HEIGHT, SPEED, HEADING = 1500.0, 88.0, np.radians(305.0)  # m, m/s, rad
CLIMB = np.radians(3.5)  # rad, steady before the upset
CAUSE, START, DURATION = "stabilizer-runaway", 150.0, 174.0  # s
PARAMETERS = {"direction": 1.0, "rate_share": 0.9, "run": 30.0}
STRENGTH = 420.0  # N, of the pilot's two hands


def invented_air():
    """The wind and warmth of the examples, as the flight model takes them."""
    heights = np.arange(0.0, 6001.0, 100.0)
    blow = np.array([wind(height) for height in heights])
    return make_air(
        latitude=np.radians(ORIGIN[0]),
        temperature_offset=WARMER,
        pressure=100.0 * SETTING,
        wind_height=heights,
        wind_north=blow[:, 0],
        wind_east=blow[:, 1],
    )


def fly_it() -> Flight:
    """The flight as it was, 20 records a second."""
    condition = Condition(
        find="trim", speed=SPEED, height=HEIGHT, heading=HEADING, path_angle=CLIMB
    )
    airplane = load_airplane("velmar-19").airplane
    setting = trimmed_setting(
        airplane, invented_air(), condition, pilot=Pilot(strength=STRENGTH, trims=0.0)
    )
    cause = find_cause(CAUSE)
    flown = jax.jit(partial(fly, cause=cause, duration=DURATION, record_every=1))(
        setting, parameters=PARAMETERS | {"start": START}
    )
    state = flown.state
    return Flight(
        time=np.asarray(flown.time),
        position=np.column_stack([state.north, state.east, state.down]),
        velocity=np.column_stack([state.velocity_north, state.velocity_east, state.velocity_down]),
    )


def track_rows(flight: Flight, rng: np.random.Generator) -> list[str]:
    """The rows of a 1 Hz receiver log: coarse steps, jitter, drops, an outlier, a stale repeat."""
    nominal = np.arange(0.0, DURATION - 1.0, 1.0)
    stamp = nominal + rng.uniform(-0.2, 0.2, nominal.size) + 0.3
    kept = rng.random(nominal.size) > 0.04
    kept &= ~((nominal >= 60) & (nominal < 67))  # the antenna hidden by a wing for 7 s
    kept &= ~((nominal >= START + 13) & (nominal < START + 16))
    seen = stamp - 0.1  # s between measuring and reception
    latitude, longitude = places(flight, seen, ORIGIN)
    latitude += rng.normal(0.0, 2.7e-5, seen.size)  # 3 m
    longitude += rng.normal(0.0, 3.9e-5, seen.size)
    altitude = pressure_altitude(-flight.position[:, 2]) / FOOT
    step = float(flight.time[1] - flight.time[0])
    rate = lagged(-flight.velocity[:, 2], 0.8, step) / FOOT * 60.0
    rate = rate + np.repeat(rng.normal(0.0, 60.0, rate.size // 20 + 1), 20)[: rate.size]
    ground = np.hypot(flight.velocity[:, 0], flight.velocity[:, 1]) / KNOT
    course = np.degrees(np.unwrap(np.arctan2(flight.velocity[:, 1], flight.velocity[:, 0])))
    values = [np.interp(seen, flight.time, x) for x in (altitude, ground, course, rate)]
    wrong = int(np.flatnonzero(kept & (nominal > 100.0))[0])
    rows = []
    for k in np.flatnonzero(kept):
        feet, knots, degrees, minute = (x[k] for x in values)
        if k == wrong:
            feet += 1000.0  # one wrong bit
        cells = [
            stamped(EPOCH, stamp[k]),
            f"{latitude[k]:.5f}",
            f"{longitude[k]:.5f}",
            f"{round(feet / 25) * 25:d}",
            f"{round(knots):d}",
            f"{round(degrees) % 360:d}",
            f"{round(minute / 64) * 64:d}",
        ]
        rows.append(cells)
    stale = next(i for i, cells in enumerate(rows) if cells[0] > "2031-04-14T18:53:31")
    rows[stale][1:] = rows[stale - 1][1:]  # an old state sent again with a new time
    return [",".join(cells) for cells in rows]


def metar() -> str:
    """The surface report of the invented field, 8 min before lift-off."""
    return "METAR QQCH 141844Z 23012G18KT 9999 SCT045 BKN090 14/06 Q1009=\n"


def main(folder: Path) -> None:
    """Write the three source files."""
    rng = np.random.default_rng(SEED)
    head = "time_utc,latitude,longitude,altitude_ft,ground_speed_kt,track_deg,vertical_rate_ftmin"
    rows = track_rows(fly_it(), rng)
    (folder / "track.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    (folder / "metar.txt").write_text(metar(), encoding="utf-8")
    (folder / "sounding.txt").write_text(sounding(rng), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "cedar-hollow")
