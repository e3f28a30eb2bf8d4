"""How often an onset is found in recorded flights on which nothing failed.

    python benchmarks/onset_recorded.py [--data FOLDER] [--out FILE]

Recorded flights are degraded to a track of 1 s and worked out; windows of them are looked at for an
onset. What was measured on board says whether a window is ordinary flying or holds a test of the
airplane (near-stalls, parabolas, rolls), in which a departure from ordinary flight is right.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from calibration_prepare import kind_of
from motion_on_recorded_flights import reconstruct
from recorded import DATA, SURVEILLANCE, lift_line, recordings

from neutralpoint.motion import ONSET_SIGNALS, upset_onsets

RESULTS = Path(__file__).parent / "results" / "onset_recorded.md"
WINDOW, STEP = 150.0, 100.0  # s of recorded flight, and between windows


def alarms(data: Path) -> dict[str, list[bool]]:
    """Whether an onset is found in windows of recorded flights, by what was flown in them."""
    said: dict[str, list[bool]] = {}
    for number, flight in enumerate(recordings(data)):
        motion = reconstruct(flight, SURVEILLANCE[0], lift_line(flight), number)
        grid = ~motion.is_fix
        time = motion.time[grid]
        for first in np.arange(time[0], time[-1] - WINDOW, STEP):
            part = (time >= first) & (time <= first + WINDOW)
            paths = {name: motion.paths[name][:, grid][:, part] for name in ONSET_SIGNALS}
            kind = {kind_of(flight, first + ahead) for ahead in (0.0, 40.0, 75.0, 110.0)}
            label = "ordinary" if kind == {"ordinary"} else "test manoeuvres"
            said.setdefault(label, []).append(upset_onsets(time[part], paths).found)
    return said


def main() -> None:
    """Work out, look, write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, default=DATA)
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    said = alarms(options.data)
    lines = [
        "# Onsets in recorded flights on which nothing failed",
        "",
        f"Windows of {WINDOW:.0f} s, begun every {STEP:.0f} s. "
        "Made by benchmarks/onset_recorded.py.",
        "",
        "| flown | windows | an onset is found |",
        "|---|---|---|",
        *(
            f"| {label} | {len(each)} | {np.mean(each):.2f} |"
            for label, each in sorted(said.items())
        ),
    ]
    options.out.write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
