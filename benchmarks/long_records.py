"""What the motion of a record costs with its length: time as ratios, memory, and size of the file.

    python benchmarks/long_records.py [--out FILE]

Ordinary flight seen once a second for 3 minutes to 6 hours. Each record gets a process of its own;
it is worked out and written as `motion.nc`. Times are CPU times over that of the 3 minute record,
and over that for each hour of it; memory is the highest of the process.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from motion_synthetic import LIFT, WEATHER, fly, observe

from neutralpoint.motion import estimate_motion, sample_count
from neutralpoint.study.motion.file import motion_dataset, onsets_of, store_dataset

RESULTS = Path(__file__).parent / "results" / "long_records.md"
HOURS = (0.05, 0.5, 1.0, 2.0, 6.0)


def climb(at: np.ndarray) -> np.ndarray:
    """Slow climbs and descents."""
    return 0.03 * np.sin(2.0 * np.pi * at / 900.0)


def heading(at: np.ndarray) -> np.ndarray:
    """Slow turns."""
    return 0.4 + 0.5 * np.sin(2.0 * np.pi * at / 600.0)


def worked(hours: float) -> dict[str, float]:
    """Cost of one record, in this process."""
    rng = np.random.default_rng(1)
    truth = fly(3600.0 * hours, climb=climb, heading=heading, rng=rng, gusts=0.02)
    track = observe(truth, rng)
    del truth
    count = sample_count(track.position.time)
    started = time.process_time()
    motion = estimate_motion(
        track, weather=WEATHER, lift=LIFT, rng=np.random.default_rng(1), samples=count
    )
    spent = time.process_time() - started
    ground = np.zeros(motion.time.size, dtype=bool)
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "motion.nc"
        dataset = motion_dataset(
            motion,
            onsets=onsets_of(motion, ground),
            ground=ground,
            epoch=datetime(2030, 6, 1, tzinfo=UTC),
            version="0",
        )
        store_dataset(target, dataset)
        size = target.stat().st_size
    return {
        "hours": hours,
        "seconds": spent,
        "paths": count,
        "times": motion.time.size,
        "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6,
        "file": size / 1e6,
    }


def main() -> None:
    """Work out records of every length and write the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=RESULTS)
    parser.add_argument("--hours", type=float)
    options = parser.parse_args()
    if options.hours is not None:
        sys.stdout.write(json.dumps(worked(options.hours)) + "\n")
        return
    found = []
    for hours in HOURS:
        command = [sys.executable, __file__, "--hours", str(hours)]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        found.append(json.loads(done.stdout))
    first = found[0]
    rows = [
        "# Cost of long records",
        "",
        "One fix a second; CPU time of the whole motion over that of the 3 minute record, and the "
        "same for each hour of record; memory of the process. Made by benchmarks/long_records.py.",
        "",
        "| hours | times | paths | time over that of 3 min | the same, an hour | GB | "
        "motion.nc, MB |",
        "|---|---|---|---|---|---|---|",
    ]
    for one in found:
        ratio = one["seconds"] / first["seconds"]
        share = ratio / (one["hours"] / first["hours"])
        rows.append(
            f"| {one['hours']:g} | {one['times']} | {one['paths']} | {ratio:.1f} | {share:.2f} | "
            f"{one['memory']:.2f} | {one['file']:.0f} |"
        )
    options.out.write_text("\n".join(rows) + "\n")


if __name__ == "__main__":
    main()
