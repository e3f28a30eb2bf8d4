"""How often an onset is found in recorded flights without a failure.

    python benchmarks/onset_recorded.py [--data FOLDER] [--processes N] [--out FILE]

Recorded flights are degraded to a track of 1 s and worked out; windows of them are looked at for an
onset. What was measured on board says whether a window is ordinary flying, vigorous (steep turns,
push-overs, sweeps of speed), or holds a test of the airplane (near-stalls, parabolas, rolls), in
which a departure from ordinary flight is right.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
from motion_on_recorded_flights import reconstruct
from recorded import DATA, SURVEILLANCE, Recording, lift_line, recordings

from neutralpoint.motion import ONSET_SIGNALS, upset_onsets
from neutralpoint.quantities import DEGREE
from neutralpoint.spawned import spawned_pool, submit_part

RESULTS = Path(__file__).parent / "results" / "onset_recorded.md"
WINDOW, STEP = 150.0, 100.0  # s of recorded flight, and between windows


# Load factor, bank and pitch that windows of each name stay within. Analyst's.
KINDS = (
    ("ordinary", (0.75, 1.3), 35.0 * DEGREE, 15.0 * DEGREE),
    ("vigorous", (0.5, 1.7), 60.0 * DEGREE, 20.0 * DEGREE),
)


def flown(flight: Recording, first: float) -> str:
    """What was flown in a window, by what was measured on board over a second."""
    inside = (flight.time >= first) & (flight.time <= first + WINDOW)
    width = max(1, round(1.0 / float(np.median(np.diff(flight.time)))))

    def extremes(values):
        kept = values[inside][np.isfinite(values[inside])]
        if kept.size < width:
            return 1.0, 1.0
        mean = np.convolve(kept, np.ones(width) / width, "valid")
        return mean.min(), mean.max()

    load = extremes(flight.load_factor)
    bank, pitch = (max(np.abs(extremes(v))) for v in (flight.bank, flight.pitch))
    for name, (low, high), most_bank, most_pitch in KINDS:
        if load[0] > low and load[1] < high and bank < most_bank and pitch < most_pitch:
            return name
    return "test maneuvers"


def alarms(flight: Recording, number: int) -> dict[str, list[bool]]:
    """Whether an onset is found in windows of a recorded flight, by what was flown in them."""
    said: dict[str, list[bool]] = {}
    motion = reconstruct(flight, SURVEILLANCE[0], lift_line(flight), number)
    grid = ~motion.is_fix
    time = motion.time[grid]
    for first in np.arange(time[0], time[-1] - WINDOW, STEP):
        part = (time >= first) & (time <= first + WINDOW)
        paths = {name: motion.paths[name][:, grid][:, part] for name in ONSET_SIGNALS}
        found = upset_onsets(time[part], paths).found
        said.setdefault(flown(flight, first), []).append(found)
    return said


def report(said: dict[str, list[bool]]) -> str:
    """The page of results."""
    lines = [
        "# Onsets in recorded flights without a failure",
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
    return "\n".join(lines) + "\n"


def main() -> None:
    """Work out, look, write; the page grows as flights come in."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, default=DATA)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    said: dict[str, list[bool]] = {}
    with spawned_pool(options.processes) as pool:
        parts = [
            submit_part(pool, alarms, flight, number)
            for number, flight in enumerate(recordings(options.data))
        ]
        for part in parts:
            for label, each in part.result().items():
                said.setdefault(label, []).extend(each)
            options.out.write_text(report(said))


if __name__ == "__main__":
    main()
