"""Make the invented case `ambrith`: rough air over a ridge, and no failure.

Everything in it is made up. The catalogue's invented light single crosses a ridge in gusts, and
whoever flies holds the height by hand; the path looks alarming.

    python examples/make_ambrith.py [FOLDER]
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from surroundings import ADSB_HEAD, adsb_rows, flown, sounding, write_lines

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import Pilot

SEED = 20310520
EPOCH = datetime(2031, 5, 20, 11, 12, 0, tzinfo=UTC)
ORIGIN = (43.3, -35.2)  # degrees: open ocean, so that no real place is meant; the land is invented
CONDITION = Condition(find="trim", speed=56.0, height=2100.0, heading=np.radians(310.0))
DURATION = 180.0  # s
PARAMETERS = {"start": 60.0, "gust": 3.0}
PILOT = Pilot(trims=0.0)


def main(folder: Path) -> None:
    """Write the source files."""
    rng = np.random.default_rng(SEED)
    flight = flown(
        load_airplane("tarnley-180").airplane,
        CONDITION,
        "no-failure",
        parameters=PARAMETERS,
        pilot=PILOT,
        duration=DURATION,
        latitude=ORIGIN[0],
        seed=SEED,
    )
    rows = adsb_rows(flight, rng, epoch=EPOCH, origin=ORIGIN, hidden=(), wrong=50.0, stale=30.0)
    write_lines(folder / "track.csv", ADSB_HEAD, rows)
    (folder / "sounding.txt").write_text(sounding(rng), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "ambrith")
