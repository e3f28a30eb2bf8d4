"""Windows of flights of three worlds as networks are asked of them, kept in files.

    PYTHONPATH=src:benchmarks:training python benchmarks/asked_windows.py FOLDER --of WHICH
        --seed N [--seconds S] [--world WORLD]

WHICH is upsets, rigid or own, as in `stated_onset.py`; flights on which nothing failed and what is
on no list come with the rigid ones. A file is written every `LOT` flights: `other_networks.py`
judges networks on them, and `training/learn.py --beside` learns from them.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from typing import Any

import numpy as np
from as_a_study import look
from stated_onset import earlier_ones, of_own, of_rigid, of_upsets

from neutralpoint.airplane.model import Airplane
from neutralpoint.study.weighing.networks import load_shipped
from neutralpoint.study.weighing.windows import course_within, usable
from neutralpoint.weighing.odds import UNLISTED
from neutralpoint.weighing.simulate import flyable

LOT = 25
MANY = 10**6


def asked(
    motion: Any, airplane: Airplane, onset: float, place: tuple[float, float], **what: Any
) -> list[dict[str, np.ndarray]]:
    """What networks are given of one flight, one entry a window.

    Args:
        motion: As a study has it.
        airplane: As documented.
        onset: Of the motion, s; not a number where nothing failed, and the program looks for it.
        place: Flap and gear.
        what: Kind of flight (`of`), its `strata`, causes that fit it (`fitting`).

    Returns:
        Arrays by name, as `training/beside.py` reads them; `part` adds up to 1.
    """
    seen, causes = look(motion), np.array(load_shipped().causes)
    names = (*(cause.name for cause in flyable(airplane)), UNLISTED)
    inquiry = seen.inquiry(names, *place)
    windows = earlier_ones(seen, onset) if np.isfinite(onset) else seen.windows()
    windows = usable(inquiry.motion, windows)
    total = sum(window.weight for window in windows)
    able = np.isin(causes, names)
    found = []
    for window in windows:
        course = course_within(inquiry.motion, window.begin, window.end)
        given = inquiry.given(airplane, window.begin, course)
        found.append(
            {
                "series": given.seen.series.astype(np.float16),
                "told": given.told.astype(np.float32),
                "context": given.seen.context.astype(np.float32),
                "fits": np.isin(causes, what["fitting"]) & able,
                "allowed": able,
                "part": np.float32(window.weight / total),
                "kind": np.str_(f"{what['of']}: {'+'.join(what['fitting'])}"),
                "strata": np.str_("|".join(what["strata"])),
            }
        )
    return found


def main() -> None:
    """Fly, see, keep."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--of", choices=("upsets", "rigid", "own"), required=True)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--seconds", type=float, default=600.0, help="after which it ends")
    parser.add_argument("--world", type=Path, help="of this project's own flights")
    options = parser.parse_args()
    options.folder.mkdir(parents=True, exist_ok=True)
    until, number, held = time.perf_counter() + options.seconds, 0, []
    if options.of == "own":
        drawn = of_own(options.world, options.seed, MANY, asked, every=True)
    elif options.of == "rigid":
        drawn = of_rigid(options.seed, asked, every=True)
    else:
        drawn = of_upsets(options.seed, asked)
    for flight, windows in enumerate(drawn):
        held += [window | {"flight": np.int64(flight)} for window in windows]
        late = time.perf_counter() > until
        if late or (flight + 1) % LOT == 0:
            path = options.folder / f"{options.of}-{options.seed}-{number:03d}.npz"
            whole = path.with_suffix(".part")
            with whole.open("wb") as file:
                np.savez(file, **{name: np.array([w[name] for w in held]) for name in held[0]})
            whole.replace(path)
            number, held = number + 1, []
        if late:
            break


if __name__ == "__main__":
    main()
