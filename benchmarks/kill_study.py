"""Kill -9 at random moments of `neutralpoint study`: is the case still whole, and can it go on?

    python benchmarks/kill_study.py [--kills 100] [--seed 1] [--rows 70] [--out FILE]

A case is copied, its track cut short, and studied once without harm. Then the study is started
again and again and killed at a random moment of that time. After each kill: the files of the case
are as they were, every result there can be read whole, and the results that the findings name have
the hashes that they name. At the end one study runs through; its results must have the same bits as
those of the first.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np
import xarray as xr

ROOT = Path(__file__).resolve().parents[1]
EXAMPLE = ROOT / "examples" / "cedar-hollow"
RESULTS = Path(__file__).parent / "results" / "kill_study.md"
MADE = ("findings.json", "motion.nc", "track.nc", "moments.nc")


def digest(path: Path) -> str:
    """SHA-256 of a file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def make_case(folder: Path, rows: int) -> Path:
    """The example with its track cut to the last rows."""
    case = folder / "case"
    shutil.copytree(EXAMPLE, case, ignore=shutil.ignore_patterns("results"))
    lines = (case / "track.csv").read_bytes().splitlines(keepends=True)
    (case / "track.csv").write_bytes(b"".join([lines[0], *lines[-rows:]]))
    return case


def started(case: Path) -> subprocess.Popen[bytes]:
    """A study of the case in a process of its own."""
    program = "import sys; from neutralpoint.cli.entry import run; sys.exit(run(sys.argv[1:]))"
    command = [sys.executable, "-c", program, "study", str(case)]
    return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def faults(case: Path, before: dict[str, str]) -> list[str]:
    """What is wrong with a case after a kill; results that are not there yet are not wrong."""
    found = [f"{n} changed" for n, sha in before.items() if digest(case / n) != sha]
    results = case / "results"
    for name in MADE:
        path = results / name
        if not path.exists():
            continue
        try:
            if path.suffix == ".nc":
                with xr.open_dataset(path, engine="h5netcdf", decode_times=False) as dataset:
                    dataset.load()
            else:
                for made in json.loads(path.read_text("utf-8"))["results"]:
                    if digest(results / made["path"]) != made["sha256"]:
                        found.append(f"{made['path']} is not the one that the findings name")
        except Exception as broken:
            found.append(f"{name}: {type(broken).__name__}")
    return found


def main() -> int:
    """Kill, look, and write the table; 1 where a case was corrupt or did not go on."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rows", type=int, default=70)
    parser.add_argument("--out", type=Path, default=RESULTS)
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    with tempfile.TemporaryDirectory() as folder:
        case = make_case(Path(folder), options.rows)
        before = {p.name: digest(p) for p in case.iterdir() if p.is_file()}
        begun = time.perf_counter()
        if started(case).wait() != 0:
            print("the study does not run")
            return 1
        length = time.perf_counter() - begun
        first = {p.name: digest(p) for p in (case / "results").iterdir() if p.name in MADE}
        shutil.rmtree(case / "results")
        wrong, left = [], Counter()
        for _ in range(options.kills):
            if rng.random() < 0.5:  # half of the kills meet a case without results
                shutil.rmtree(case / "results", ignore_errors=True)
            process = started(case)
            try:
                process.wait(timeout=length * rng.uniform(0.05, 1.0))
                left["the study had ended before"] += 1
            except subprocess.TimeoutExpired:
                process.send_signal(signal.SIGKILL)
                process.wait()
                left["killed"] += 1
            here = case / "results"
            names = [n for n in MADE if (here / n).exists()]
            left[f"{len(names)} of {len(first)} results there"] += 1
            left["a half-written file beside them"] += any(here.glob(".*.new"))
            wrong += faults(case, before)
        again = started(case).wait()
        last = {n: digest(case / "results" / n) for n in first}
    same = last == first
    rows = [
        "# Kill -9 at random moments of a study",
        "",
        f"{options.kills} starts, seed {options.seed}; one study took {length:.1f} s. Made by "
        "benchmarks/kill_study.py.",
        "",
        "| what | count |",
        "|---|---|",
        *(f"| {name} | {count} |" for name, count in sorted(left.items())),
        f"| corrupt cases | {len(wrong)} |",
        "",
        f"The study after the last kill {'ran through' if again == 0 else 'FAILED'}; its results "
        f"{'have the same bits as' if same else 'DIFFER from'} those of the first: "
        f"{', '.join(n for n in first if last[n] == first[n]) or 'none the same'}.",
    ]
    options.out.write_text("\n".join(rows) + "\n")
    print("\n".join([*rows, *wrong[:20]]))
    return int(bool(wrong) or again != 0 or not same)


if __name__ == "__main__":
    raise SystemExit(main())
