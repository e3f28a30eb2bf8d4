"""Make the invented case `tessavale`: a load that slid aft in level flight.

Everything in it is made up. A pallet comes loose in the catalogue's invented cargo twin and slides
aft; whoever flies pushes, and does not get the nose to stay.

    python examples/make_tessavale.py [FOLDER]
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

SEED = 20310709
EPOCH = datetime(2031, 7, 9, 14, 5, 0, tzinfo=UTC)
ORIGIN = (44.1, -39.0)  # degrees: open ocean, so that no real place is meant; the land is invented
CONDITION = Condition(find="trim", speed=92.0, height=2800.0, heading=np.radians(200.0))
START, DURATION = 120.0, 172.0  # s
# A share of 900 kg in 6,800 kg; it stops at the aft bulkhead of the hold.
PARAMETERS = {"start": START, "moved": 0.132, "distance": 2.9, "slide": 2.0}
PILOT = Pilot(strength=330.0, trims=0.0)


def main(folder: Path) -> None:
    """Write the source files."""
    rng = np.random.default_rng(SEED)
    flight = flown(
        load_airplane(folder / "airplane.toml").airplane,
        CONDITION,
        "load-shift-aft",
        parameters=PARAMETERS,
        pilot=PILOT,
        duration=DURATION,
        latitude=ORIGIN[0],
        seed=SEED,
    )
    rows = adsb_rows(
        flight,
        rng,
        epoch=EPOCH,
        origin=ORIGIN,
        hidden=((40.0, 45.0),),
        wrong=80.0,
        stale=70.0,
    )
    write_lines(folder / "track.csv", ADSB_HEAD, rows)
    (folder / "sounding.txt").write_text(sounding(rng), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent / "tessavale")
