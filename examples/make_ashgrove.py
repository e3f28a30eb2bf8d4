"""Make the invented case `ashgrove`: a descent that its data cannot explain.

Everything in it is made up. A load slides forward in the catalogue's invented commuter, and the
pilot holds what can be held. Of this only a surveillance radar is left: one return in 4.8 s,
altitudes in steps of 100 ft, no velocity; and only for two minutes. The truth is known to whoever
reads this file, and to nobody who reads the report.

    python examples/make_ashgrove.py [FOLDER]
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import jax
import numpy as np
from make_cedar_hollow import invented_air
from surroundings import FOOT, Flight, places, pressure_altitude, sounding, stamped

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import Pilot, find_cause, fly, trimmed_setting

SEED = 20311002
EPOCH = datetime(2031, 10, 2, 6, 40, 0, tzinfo=UTC)
ORIGIN = (44.9, -38.1)  # degrees: an invented island
HEIGHT, SPEED, HEADING = 2300.0, 92.0, np.radians(120.0)
CAUSE, START, DURATION = "load-shift-forward", 85.0, 122.0  # s
PARAMETERS = {"moved": 0.2, "distance": 3.0, "slide": 1.5}
TURN = 4.8  # s, of the antenna


def fly_it() -> Flight:
    """The flight as it was, 20 records a second."""
    condition = Condition(find="trim", speed=SPEED, height=HEIGHT, heading=HEADING)
    setting = trimmed_setting(
        load_airplane("velmar-19").airplane,
        invented_air(),
        condition,
        pilot=Pilot(strength=300.0, trims=0.0),
    )
    flown = jax.jit(partial(fly, cause=find_cause(CAUSE), duration=DURATION, record_every=1))(
        setting, parameters=PARAMETERS | {"start": START}
    )
    state = flown.state
    return Flight(
        time=np.asarray(flown.time),
        position=np.column_stack([state.north, state.east, state.down]),
        velocity=np.column_stack([state.velocity_north, state.velocity_east, state.velocity_down]),
    )


def track_rows(flight: Flight, rng: np.random.Generator) -> list[str]:
    """Radar returns: places with the noise of range and bearing, altitudes in hundreds of feet."""
    seen = np.arange(1.0, DURATION - 1.0, TURN) + rng.normal(0.0, 0.02, 25)
    latitude, longitude = places(flight, seen, ORIGIN)
    latitude += rng.normal(0.0, 4.0e-4, seen.size)  # 45 m
    longitude += rng.normal(0.0, 5.6e-4, seen.size)
    altitude = pressure_altitude(-flight.position[:, 2]) / FOOT
    feet = np.round(np.interp(seen, flight.time, altitude) / 100.0) * 100.0
    kept = rng.random(seen.size) > 0.05
    return [
        f"{stamped(EPOCH, seen[k])},{latitude[k]:.4f},{longitude[k]:.4f},{feet[k]:.0f}"
        for k in np.flatnonzero(kept)
    ]


def main(folder: Path) -> None:
    """Write the source files."""
    rng = np.random.default_rng(SEED)
    rows = track_rows(fly_it(), rng)
    head = "time_utc,latitude,longitude,altitude_ft"
    (folder / "radar.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    (folder / "sounding.txt").write_text(sounding(rng), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "ashgrove")
