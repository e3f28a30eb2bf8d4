"""Runs the tests on each change of kept samples, many at once, and keeps each verdict at once.

First every test file that could be asked runs undisturbed, alone; one that fails or takes longer
than the budget of a change is left out and named. Only then does a failure count as a change that
was found.
"""

from __future__ import annotations

import compileall
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path

from mutation_lines import LINES, Ran, read_lines
from mutation_marks import FOUND, ROOT, SURVIVED, Mutant, Sample
from mutation_tests import SETTINGS, Run, chosen, of_package, read_suites

SLOWER = 2.5  # times as long as undisturbed, beside `START`, until the system ends the tests
START = 20.0  # s
AFTER = 60.0  # s kept for an undisturbed run of the files that found something
QUICKLY = (  # as tests/conftest.py sets them; JAX is loaded before it here
    "--xla_cpu_use_fusion_emitters=false --xla_backend_optimization_level=0"
    " --xla_cpu_parallel_codegen_split_count=1 --xla_cpu_multi_thread_eigen=false"
)


@dataclass
class How:
    """How the tests are run."""

    workers: int
    limit: float  # s for all
    again: bool  # on those that survived or were too slow instead of those not tried yet
    suites: list[str]
    budget: float  # s of the processor for the tests of one change
    seen: Path | None = None  # times and lines of test files; made where it is not there


def known_flags() -> str:
    """Those of `QUICKLY` that the compiler of this machine takes: one it does not know ends it."""
    known = []
    for flag in QUICKLY.split():
        own = os.environ | {"JAX_PLATFORMS": "cpu", "XLA_FLAGS": flag}
        ended = subprocess.run(
            [sys.executable, "-c", "import jax; jax.devices()"], env=own, capture_output=True
        )
        known += [flag] if ended.returncode == 0 else []
    return " ".join(known)


def load() -> None:
    """Load what is slow to load, once, so that every child has it."""
    os.environ |= {"JAX_PLATFORMS": "cpu", "XLA_FLAGS": known_flags(), "OMP_NUM_THREADS": "1"}
    os.environ |= {"JAX_PERSISTENT_CACHE_MIN_COMPILE_TIME_SECS": "0"}
    os.environ |= {"JAX_PERSISTENT_CACHE_MIN_ENTRY_SIZE_BYTES": "0", "OPENBLAS_NUM_THREADS": "1"}
    import hypothesis  # noqa: F401
    import jax  # noqa: F401
    import scipy.optimize  # noqa: F401
    import xarray  # noqa: F401


class Workers:
    """So many copies of the package, on each of which one run of tests goes on at a time."""

    def __init__(self, folder: Path, count: int, end: float) -> None:
        self.end = end
        self.folders = [folder / str(number) for number in range(count)]
        for own in self.folders:
            shutil.copytree(ROOT / "src", own / "src", ignore=shutil.ignore_patterns("__pycache__"))
            (own / "programs").mkdir()
            (own / "pytest.ini").write_text(SETTINGS.format(root=ROOT))
            compileall.compile_dir(own / "src", quiet=1)

    def each(
        self, jobs: list, begin: Callable[[object, Path], Run | None]
    ) -> Iterator[tuple[object, Path, Run]]:
        """Run jobs as workers fall free; those that have ended, until the time is over.

        Args:
            jobs: What is to be done.
            begin: Prepares the folder of a worker and starts the run; None where there is none.
        """
        waiting, free, going = list(jobs), list(self.folders), []
        try:
            while (waiting or going) and time.monotonic() < self.end:
                while waiting and free:
                    job = waiting.pop(0)
                    run = begin(job, free[-1])
                    if run is not None:
                        going.append((job, free.pop(), run))
                for one in [g for g in going if g[2].ended()]:
                    going.remove(one)
                    one[2].close()
                    free.append(one[1])
                    yield one
                time.sleep(0.02)
        finally:
            for _, _, run in going:
                run.close()

    def share_programs(self) -> None:
        """Give each worker the compiled programs of all."""
        for own in self.folders[1:]:
            for path in (own / "programs").glob("*-cache"):
                shutil.copy2(path, self.folders[0] / "programs" / path.name)
        for own in self.folders[1:]:
            shutil.copytree(self.folders[0] / "programs", own / "programs", dirs_exist_ok=True)


@dataclass
class Seen:
    """Test files as they run undisturbed on this machine.

    Attributes:
        times: s of the processor of each that passes alone.
        ran: Lines of the package that each runs, by module.
        left_out: Why the others are not asked.
    """

    times: dict[str, float] = field(default_factory=dict)
    ran: dict[str, Ran] = field(default_factory=dict)
    left_out: dict[str, str] = field(default_factory=dict)


def undisturbed(workers: Workers, files: list[str], budget: float, seen: Seen) -> None:
    """Run each test file alone and note what came of it.

    Args:
        workers: To run them.
        files: Test files.
        budget: s of the processor for one.
        seen: Is added to.
    """

    def begin(file: object, folder: Path) -> Run:
        (folder / LINES).unlink(missing_ok=True)
        return Run([str(file)], folder, [budget], watched=True).start()

    # The largest first: a slow one at the end would leave the other workers idle.
    order = sorted(files, key=lambda f: -(ROOT / f).stat().st_size)
    for file, folder, run in workers.each(order, begin):
        outcome, failed, seconds = run.verdict()
        print(f"{outcome:8} {seconds:5.1f} s undisturbed {file} {failed}", flush=True)
        if outcome == SURVIVED:
            seen.times[str(file)] = round(seconds, 1)
            seen.ran[str(file)] = read_lines(folder)
        else:
            seen.left_out[str(file)] = failed or "too slow"


def kill(samples: list[Sample], out: Path, folder: Path, how: How) -> None:
    """Run the tests on every change that has no verdict, or again on those not found.

    Args:
        samples: Drawn changes.
        out: File that is written anew after each verdict.
        folder: Temporary.
        how: With how many workers, how long, and with which tests.
    """
    load()
    workers = Workers(folder, how.workers, time.monotonic() + how.limit)
    tests = read_suites(how.suites)
    told = {"left_out": {}, "times": {}, "verdicts": [], "whole": not how.again}
    packages = [sample.package for sample in samples]
    files = sorted({f for package in packages for f in of_package(package, tests)})
    known = bool(how.seen and how.seen.is_file())
    seen = Seen(**json.loads(how.seen.read_text())) if how.seen and known else Seen()
    workers.end -= AFTER if known else 0.0
    new = [f for f in files if f not in seen.times and f not in seen.left_out]
    undisturbed(workers, new, how.budget, seen)
    if how.seen:
        how.seen.write_text(json.dumps(asdict(seen)) + "\n")
    told["times"], told["left_out"] = seen.times, seen.left_out
    workers.share_programs()
    jobs = [
        (f"{s.package}-{s.seed}", number, m)
        for s in samples
        for number, m in enumerate(s.mutants)
        if (m.outcome not in ("", FOUND) if how.again else not m.outcome)
    ]
    jobs.sort(key=lambda job: job[1])  # a run that is cut short has some of each package
    befores: dict[Path, tuple[Path, str]] = {}

    def begin(job: object, own: Path) -> Run | None:
        mutant: Mutant = job[2]  # type: ignore[index]
        path = own / "src" / "neutralpoint" / mutant.module
        before = path.read_text()
        text = mutant.applied(before)
        if text is None:
            return None
        if not (asked := chosen(mutant, tests, seen.times, seen.ran, how.budget)):
            verdict(job, SURVIVED, "nothing runs it", 0.0)
            return None
        befores[own] = path, before
        path.write_text(text)
        Path(importlib.util.cache_from_source(str(path))).unlink(missing_ok=True)
        return Run(asked, own, [START + SLOWER * seen.times[f] for f in asked]).start()

    def verdict(job: object, outcome: str, by: str, seconds: float) -> None:
        name, number, mutant = job  # type: ignore[misc]
        told["verdicts"].append([name, number, outcome, by, round(seconds, 1)])
        new = out.with_suffix(".new")
        new.write_text(json.dumps(told, indent=1) + "\n")
        new.replace(out)
        place = f"{mutant.module}:{mutant.line}"
        print(f"{outcome:8} {seconds:5.1f} s {place} {mutant.new.strip()[:70]} [{by}]", flush=True)

    for job, own, run in workers.each(jobs, begin):
        path, before = befores.pop(own)
        path.write_text(before)
        verdict(job, *run.verdict())
    if known:
        workers.end += AFTER
        found_by = {row[3].split("::")[0].split(" ")[0] for row in told["verdicts"]}
        again = Seen()
        undisturbed(workers, sorted(found_by & set(files)), how.budget, again)
        told["left_out"] |= again.left_out
        out.write_text(json.dumps(told, indent=1) + "\n")
    print(f"{len(told['verdicts'])} of {len(jobs)}")
