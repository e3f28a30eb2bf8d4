"""What examinations beside the track cost, and what each adds to the odds.

    python benchmarks/beside.py [CASE ...]

Each case (a folder; `examples/orlembeck` by default) is copied and studied. Each examination is run
twice on its saved motion, so that the first call holds what is compiled; the time of the second
stands beside that of the motion in the same run. The odds are those of the saved weighing with
single items of evidence put in and left out. Nothing is flown for them.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
import time
from functools import partial
from pathlib import Path

import numpy as np

from neutralpoint.case import load_case
from neutralpoint.study.run import BY_NAME, run_motion, run_stage, run_study
from neutralpoint.study.stages import Known, Work
from neutralpoint.study.weighing.saved import SavedEvidence, SavedWeighing, read_weighing
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.weigh import reweigh

ORLEMBECK = Path(__file__).resolve().parents[1] / "examples" / "orlembeck"
EXAMINATIONS = ("heard", "felt", "limits", "wreckage")
ALLOWED = 5.0  # s of two cores that an examination may take for 200 paths and 3 minutes of flight
ILLUSIONS = (CauseName.SOMATOGRAVIC_INPUT, CauseName.SPIRAL_DIVE)


def silent(*_) -> None:
    """Progress is not shown."""


def spent(work) -> tuple[float, float]:
    """Seconds by the clock and of the processor."""
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - cpu


def examined(folder: Path, name: str) -> None:
    """Run an examination by itself, nothing of it saved before."""
    known = Known(load_case(folder), folder / "results")
    _ = known.motion
    if name == "limits":
        _ = known.moments  # of another stage
    work = Work(known, BY_NAME[name].settings, silent)
    BY_NAME[name].run(work)
    for path in work.fresh.values():
        path.unlink()


def timings(folder: Path) -> None:
    """Print a row an examination."""
    run_study(folder, silent, until="moments")
    _, motion = spent(lambda: run_motion(folder, silent, fresh=True))
    known = Known(load_case(folder), folder / "results")
    paths = known.motion.paths["latitude"].shape[0]
    length = float(np.ptp(known.motion.time))
    print(f"{paths} paths, {length:.0f} s of flight")
    for name in EXAMINATIONS:
        if BY_NAME[name].cannot(known.case):
            continue
        base, _ = spent(partial(_loaded, folder, limits=name == "limits"))
        first, second = (spent(partial(examined, folder, name)) for _ in range(2))
        print(f"{name}: first call {(first[0] - base) / ALLOWED:.2f}, then "
              f"{(second[0] - base) / ALLOWED:.2f} of what is allowed; "
              f"{second[1] / motion:.2f} of the motion")  # fmt: skip


def _loaded(folder: Path, *, limits: bool) -> None:
    """What an examination is handed, so that it can be taken off its time."""
    known = Known(load_case(folder), folder / "results")
    _ = known.motion
    if limits:
        _ = known.moments


def chance(saved: SavedWeighing, cause: str, items: list[SavedEvidence]) -> float:
    """Probability of a cause from the track and some items."""
    prior = np.array([row.prior for row in saved.causes])
    beside = sum((np.array(item.log_likelihood) for item in items), np.zeros(len(saved.names)))
    odds = reweigh(saved.names, prior, np.array(saved.runs), beside)
    return float(odds.probability[list(saved.names).index(cause)])


def added(saved: SavedWeighing) -> None:
    """Print what each item adds to the odds of the leader, and of the illusions."""
    every, leader = saved.evidence, saved.leader
    print(f"{leader}: track alone {chance(saved, leader, []):.3f}, "
          f"all {chance(saved, leader, every):.3f}")  # fmt: skip
    for item in every:
        rest = [other for other in every if other is not item]
        print(f"  {item.name}: alone {chance(saved, leader, [item]):.3f}, "
              f"left out {chance(saved, leader, rest):.3f}")  # fmt: skip
    felt = [item for item in every if item.name.startswith("perception")]
    for cause in ILLUSIONS:
        if felt and cause in saved.names:
            print(f"  {cause}: track alone {chance(saved, cause, []):.4f}, with the observers "
                  f"{chance(saved, cause, felt):.4f} ({felt[0].source})")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cases", nargs="*", type=Path, default=[ORLEMBECK])
    for case in parser.parse_args().cases:
        with tempfile.TemporaryDirectory() as made:
            folder = Path(made) / case.name
            shutil.copytree(case, folder, ignore=shutil.ignore_patterns("results"))
            print(case.name)
            timings(folder)
            run_stage(folder, "weighing", silent)
            added(read_weighing(folder / "results"))


if __name__ == "__main__":
    main()
