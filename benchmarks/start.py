"""How soon a command answers that has nothing to work out: help, and faults of the case.

    python benchmarks/start.py [--runs 5]

Each command runs in a process of its own. Measured is the time of the processor, median of several
runs, beside `python -c pass` and beside a process that imports JAX, in the same run, and as a share
of what the answer may take.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
RESULT = Path(__file__).parent / "results" / "start.md"
LIMIT = 1.5  # s of the processor: what an answer to a fault of the case may take
AT_ONCE = 0.3  # s of the processor: what help and version may take
SHORT = ("--help", "--version")
HELP = ("check --help", "study --help", "serve --help", "frob")
CASE = ("check", "motion", "study", "weigh", "fly --cause elevator-jam", "response", "calibrate")
AIRPLANE = ROOT / "src" / "neutralpoint" / "airplane" / "catalogue" / "ostrel-7.toml"
WRONG = 'span = "14.6 m"', 'span = "14.6 kg"'
RESULTS = ("next-evidence", "report", "claims", "film")


def spent(program: list[str], runs: int) -> float:
    """Time of the processor of a process with its children, s, median of several runs."""
    took = []
    for _ in range(runs):
        process = subprocess.Popen(
            [sys.executable, *program], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        _, _, usage = os.wait4(process.pid, 0)
        process.returncode = 0
        took.append(usage.ru_utime + usage.ru_stime)
    return statistics.median(took)


def commands(folder: Path) -> list[tuple[str, list[str]]]:
    """What is asked of the program, with the words for it."""
    broken, lacking, heavy = folder / "broken", folder / "lacking", folder / "heavy"
    shutil.copytree(ROOT / "examples" / "quorleigh", lacking)
    (lacking / "track.csv").unlink()
    shutil.rmtree(lacking / "results", ignore_errors=True)
    broken.mkdir()
    text = (lacking / "case.toml").read_text()
    shutil.copytree(
        ROOT / "examples" / "quorleigh", heavy, ignore=shutil.ignore_patterns("results")
    )
    (heavy / "case.toml").write_text(text.replace('"ostrel-7"', '"own.toml"'))
    (heavy / "own.toml").write_text(AIRPLANE.read_text().replace(*WRONG, 1))
    (broken / "case.toml").write_text(text.replace("schema = 1", "schema = 1\nnonsense = 1", 1))
    every = [(f"`{line}`", line.split()) for line in (*SHORT, *HELP)]
    for line in CASE:
        for what, case in (
            ("no case", folder / "none"),
            ("a key", broken),
            ("a file", lacking),
            ("a number of the airplane", heavy),
        ):
            first, *rest = line.split()
            every.append((f"`{first}`: {what}", [first, str(case), *rest]))
    every += [(f"`{line}`: no results", [line, str(lacking)]) for line in RESULTS]
    return every


def main() -> int:
    """Measure every command and write the table; 1 where one takes longer than it may."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=5)
    options = parser.parse_args()
    nothing = spent(["-c", "pass"], options.runs)
    jax = spent(["-c", "import jax"], options.runs)
    rows, worst = [], 0.0
    with tempfile.TemporaryDirectory() as folder:
        for words, arguments in commands(Path(folder)):
            took = spent(["-m", "neutralpoint", *arguments], options.runs)
            share = took / (AT_ONCE if arguments[0] in SHORT else LIMIT)
            worst = max(worst, share)
            rows.append(f"| {words} | {took / nothing:.0f} | {took / jax:.2f} | {share:.0%} |")
    lines = [
        "# Time to an answer where there is nothing to compute",
        "",
        f"Made by benchmarks/start.py: time of the processor, median of {options.runs} runs, as a "
        "multiple of `python -c pass` and of importing JAX, in the same run, and as a share of "
        f"what it may take: {AT_ONCE} s of the processor for `--help` and `--version`, {LIMIT} s "
        f"for all else. The slowest took {worst:.0%} of that.",
        "",
        "| asked | times `pass` | times `import jax` | of its limit |",
        "|---|---:|---:|---:|",
        f"| `python -c 'import jax'` | {jax / nothing:.0f} | 1.00 | |",
        *rows,
    ]
    RESULT.write_text("\n".join(lines) + "\n")
    print("\n".join(lines))
    return int(worst > 1.0)


if __name__ == "__main__":
    raise SystemExit(main())
