"""Make the invented case `quorleigh`: a stabilizer that ran away nose up in a descent.

Everything in it is made up: the airplane (the catalogue's invented light jet), the place, the
weather and the words. A steady descent, a stabilizer that begins to move by itself, a pilot who
pushes, a climb that no one asked for; then the disconnect, and the flight goes on.

    python examples/make_quorleigh.py [FOLDER]
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from surroundings import ADSB_HEAD, adsb_rows, flown, sounding, write_lines

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.explanations import Action, Pilot

SEED = 20310414
EPOCH = datetime(2031, 4, 14, 18, 52, 0, tzinfo=UTC)
ORIGIN = (46.2, -36.4)  # degrees: open ocean, so that no real place is meant; the land is invented
CONDITION = Condition(
    find="trim", speed=125.0, height=4500.0, heading=np.radians(70.0), path_angle=np.radians(-3.0)
)
START, DURATION = 150.0, 200.0  # s
PARAMETERS = {"start": START, "direction": -1.0, "rate_share": 0.95, "run": 26.0}
PILOT = Pilot(strength=260.0, trims=0.0)
PROCEDURE = (Action(kind="press", device="trim disconnect", wait=20.0),)  # s after the start


def main(folder: Path) -> None:
    """Write the source files."""
    rng = np.random.default_rng(SEED)
    flight = flown(
        load_airplane("ostrel-7").airplane,
        CONDITION,
        "stabilizer-runaway",
        parameters=PARAMETERS,
        pilot=PILOT,
        duration=DURATION,
        latitude=ORIGIN[0],
        seed=SEED,
        procedure=PROCEDURE,
    )
    rows = adsb_rows(
        flight,
        rng,
        epoch=EPOCH,
        origin=ORIGIN,
        hidden=((60.0, 67.0), (START + 13.0, START + 16.0)),
        wrong=100.0,
        stale=91.0,
    )
    write_lines(folder / "track.csv", ADSB_HEAD, rows)
    report = "METAR QQCH 141844Z 23012G18KT 9999 SCT045 BKN090 14/06 Q1009=\n"
    (folder / "metar.txt").write_text(report, encoding="utf-8")
    (folder / "sounding.txt").write_text(sounding(rng), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "quorleigh")
