"""Would a test notice? One formula at a time is changed at random, and the tests that use it run.

    python benchmarks/mutation.py draw moments motion --each 60 --seed 31
    python benchmarks/mutation.py kill --list benchmarks/results/mutation/*-31.json \\
        --out /tmp/verdicts.json --workers 14 --limit 540 [--again]
        [--suites tests/recovery tests/end_to_end --budget 150] [--seen /tmp/seen.json]
    python benchmarks/mutation.py take /tmp/verdicts.json

`draw` needs the operators of `cosmic-ray` (requirements/mutation.txt) and writes the changes as
lines before and after; `kill` needs only what the tests need, so that it can run on a machine with
many cores; `take` puts its verdicts beside the changes and makes the page. Each quick file of
tests/unit and tests/against that imports the changed package runs once undisturbed, and the lines
of the package that it runs are noted; of a change only those files run that run what is altered.
Recovery and end to end, which fly for minutes, run only where they are named, so that the score is
a lower bound. A change is found where a test fails that passes undisturbed, or where the tests
take much longer.
"""

from __future__ import annotations

import argparse
import json
import tempfile
import warnings
from pathlib import Path

from mutation_marks import KEPT, PAGE, page, read_sample
from mutation_tests import QUICK

PACKAGES = ("moments", "dynamics", "airplane", "motion", "weighing", "response")


def draw(options: argparse.Namespace) -> None:
    """Draw changes of packages and keep them."""
    from mutation_draw import drawn

    KEPT.mkdir(exist_ok=True)
    for package in options.packages or PACKAGES:
        sample = drawn(package, options.each, options.seed)
        sample.keep()
        print(f"{package}: {len(sample.mutants)} of {sample.possible}")


def kill(options: argparse.Namespace) -> None:
    """Run the tests on the changes of kept samples."""
    from mutation_kill import How
    from mutation_kill import kill as run

    warnings.simplefilter("ignore")
    samples = [read_sample(path) for path in options.list]
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        how = How(options.workers, options.limit, options.again, options.suites, options.budget)
        how.seen = options.seen and options.seen.absolute()
        run(samples, options.out.absolute(), Path(folder), how)


def counted(told: dict) -> list:
    """Verdicts of tests that pass undisturbed, of each sample up to the first that is missing.

    Those that run long, as all that survive do, are missing more often where time ran out.
    """
    failing = tuple(told["left_out"])
    rows = [row for row in told["verdicts"] if not (failing and row[3].startswith(failing))]
    reached = {name: 0 for name, *_ in rows}
    for name, number, *_ in sorted(rows):
        reached[name] += number == reached[name]
    return [row for row in rows if row[1] < reached[row[0]]] if told.get("whole") else rows


def take(options: argparse.Namespace) -> None:
    """Put verdicts beside the changes, and make the page."""
    samples = {path.stem: read_sample(path) for path in KEPT.glob("*.json")}
    for path in options.verdicts:
        for name, number, outcome, by, seconds in counted(json.loads(path.read_text())):
            mutant = samples[name].mutants[number]
            mutant.first = mutant.first or outcome
            mutant.outcome, mutant.by, mutant.seconds = outcome, by, seconds
    for sample in samples.values():
        sample.keep()
    PAGE.write_text(page())


def main() -> int:
    """Do one of the three."""
    parser = argparse.ArgumentParser()
    tasks = parser.add_subparsers(required=True)
    drawing, killing, taking = (tasks.add_parser(name) for name in ("draw", "kill", "take"))
    drawing.add_argument("packages", nargs="*")
    drawing.add_argument("--each", type=int, default=60)
    drawing.add_argument("--seed", type=int, required=True)
    drawing.set_defaults(do=draw)
    killing.add_argument("--list", nargs="+", type=Path, required=True)
    killing.add_argument("--out", type=Path, required=True)
    killing.add_argument("--workers", type=int, default=2)
    killing.add_argument("--limit", type=float, default=3600.0, help="s for all")
    killing.add_argument("--again", action="store_true", help="those that survived")
    killing.add_argument("--suites", nargs="+", default=list(QUICK))
    killing.add_argument("--budget", type=float, default=45.0, help="s for one change")
    killing.add_argument("--seen", type=Path, help="times and lines of test files, kept here")
    killing.set_defaults(do=kill)
    taking.add_argument("verdicts", nargs="*", type=Path)
    taking.set_defaults(do=take)
    options = parser.parse_args()
    options.do(options)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
