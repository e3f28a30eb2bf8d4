"""Make the invented case `drumoule`: a descent that its data cannot explain.

Everything in it is made up. A load slides forward in the catalogue's invented cargo twin, and the
pilot holds what can be held. Of this only a surveillance radar is left: one return in 4.8 s,
altitudes in steps of 100 ft, no velocity; and only for two minutes. The truth is known to whoever
reads this file, and to nobody who reads the report.

    python examples/make_drumoule.py [FOLDER]
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from surroundings import RADAR_HEAD, flown, radar_rows, sounding, write_lines

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import Pilot

SEED = 20311002
EPOCH = datetime(2031, 10, 2, 16, 40, 0, tzinfo=UTC)
ORIGIN = (44.9, -38.1)  # degrees: open ocean, so that no real place is meant; the land is invented
CONDITION = Condition(find="trim", speed=92.0, height=2300.0, heading=np.radians(120.0))
DURATION = 122.0  # s
PARAMETERS = {"start": 85.0, "moved": 0.2, "distance": 3.0, "slide": 1.5}
PILOT = Pilot(strength=300.0, trims=0.0)


def main(folder: Path) -> None:
    """Write the source files."""
    rng = np.random.default_rng(SEED)
    flight = flown(
        load_airplane("velmar-c7").airplane,
        CONDITION,
        "load-shift-forward",
        parameters=PARAMETERS,
        pilot=PILOT,
        duration=DURATION,
        latitude=ORIGIN[0],
        seed=SEED,
    )
    rows = radar_rows(flight, rng, epoch=EPOCH, origin=ORIGIN, turn=4.8)
    write_lines(folder / "radar.csv", RADAR_HEAD, rows)
    (folder / "sounding.txt").write_text(sounding(rng), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "drumoule")
