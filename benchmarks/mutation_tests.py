"""Which test files are asked of a change, and one run of them in a child process.

The child is a fork of a process that has loaded what is slow to load; it takes the package from a
folder of its own, its compiled programs from a cache of its own, and tells through a pipe what came
of it. Each file runs alone, as it did undisturbed: none can fail because of another.
"""

from __future__ import annotations

import ast
import contextlib
import json
import os
import resource
import select
import signal
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from mutation_lines import Ran, Watch, altered
from mutation_marks import FOUND, ROOT, SLOW, SOURCE, SURVIVED, Mutant

KEPT_NUMBERS, SOON = "test_known_", 6.0  # s
QUICK = ("tests/unit", "tests/against")
CONSTANTS = "tests/contracts/test_known_constants.py"  # of what runs on import
# Warnings are not errors here: another version of a library would have every test fail.
SETTINGS = """[pytest]
pythonpath = {root}/benchmarks {root}/tests/contracts
addopts = --import-mode=importlib -m "not slow"
markers =
    recorded: needs the recorded flights
    slow: minutes of flying
"""


def imported(path: Path) -> set[str]:
    """Modules of the package that a file imports, and the names it takes from them.

    What a test takes from `benchmarks` counts with what that imports.
    """
    named = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and node.module:
            named |= {node.module} | {f"{node.module}.{name.name}" for name in node.names}
        elif isinstance(node, ast.Import):
            named |= {name.name for name in node.names}
    found = {name for name in named if name.startswith("neutralpoint")}
    for name in named:
        if (beside := ROOT / "benchmarks" / f"{name}.py").is_file() and beside != path:
            found |= imported(beside)
    return found


def read_suites(folders: list[str]) -> dict[str, set[str]]:
    """Every test file of some suites with what it imports."""
    paths = [path for suite in folders for path in sorted((ROOT / suite).glob("test_*.py"))]
    return {str(path.relative_to(ROOT)): imported(path) for path in [*paths, ROOT / CONSTANTS]}


def of_package(package: str, tests: dict[str, set[str]]) -> list[str]:
    """Test files that import a package."""
    wanted = f"neutralpoint.{package}"
    return [
        name
        for name, found in tests.items()
        if any(one == wanted or one.startswith(f"{wanted}.") for one in found)
    ]


def chosen(
    mutant: Mutant,
    tests: dict[str, set[str]],
    times: dict[str, float],
    ran: dict[str, Ran],
    budget: float,
) -> list[str]:
    """Test files for a change, within the budget: those that run what it alters.

    Of what runs on import every file that imports the package is asked, those that import the
    module first. The quick come before the slow. Numbers that are merely kept have their time
    first, and come after the quick ones, so that a change is theirs only where none of these
    found it.

    Args:
        mutant: The change.
        tests: Test files with what they import.
        times: Time of each that passes undisturbed, s.
        ran: Lines that each runs, by module.
        budget: s of the processor, undisturbed and compiling all.
    """
    module, text = mutant.module, (SOURCE / mutant.module).read_text()
    name = "neutralpoint." + module.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    at = mutant.place(text)
    lines = altered(text, at + 1) if at is not None else set()
    files = [f for f in of_package(module.split("/")[0], tests) if f in times]
    if lines:
        files = [f for f in files if not lines.isdisjoint(ran.get(f, {}).get(module, ()))]

    def place(file: str) -> tuple[int, bool, float]:
        kept = KEPT_NUMBERS in file
        return 1 if kept else 2 * (times[file] > SOON), name not in tests[file], times[file]

    files.sort(key=place)
    numbers = [file for file in files if KEPT_NUMBERS in file]
    kept, spent = set(numbers), sum(times[file] for file in numbers)
    for file in files:
        if file not in kept and spent + times[file] <= budget:
            kept.add(file)
            spent += times[file]
    return [file for file in files if file in kept]


class Report:
    """Plugin of pytest: tells what fails first, and how many pass.

    Args:
        watch: Notes the lines that run; None where nobody asks.
    """

    def __init__(self, watch: Watch | None = None) -> None:
        self.watch, self.failed, self.passed = watch, "", 0

    def pytest_runtest_setup(self) -> None:
        """Called by pytest before each test; one that recurses without end stops the watching."""
        if self.watch:
            self.watch.start()

    def pytest_runtest_logreport(self, report) -> None:
        """Called by pytest for each phase of a test."""
        self.passed += report.passed and report.when == "call"
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_collectreport(self, report) -> None:
        """Called by pytest for each file."""
        if report.failed and not self.failed:
            self.failed = f"{report.nodeid} (import)"


@dataclass
class Run:
    """Test files that run in a child process, each in a process of its own, until one fails."""

    files: list[str]
    folder: Path  # of the worker: `src` and `programs`
    limits: list[float]  # s of the processor, of each file
    watched: bool = False  # whether the lines that run are noted
    told: bytes = b""
    begun: float = field(default_factory=time.monotonic)
    child: int = 0
    reading: int = -1

    def start(self) -> Run:
        """Fork; the child never returns from here."""
        self.reading, writing = os.pipe()
        self.child = os.fork()
        if self.child == 0:
            os.close(self.reading)
            os.setsid()
            _child(self, writing)
        os.close(writing)
        return self

    def ended(self) -> bool:
        """Read what the child has told; whether it is at its end."""
        if time.monotonic() - self.begun > 4.0 * sum(self.limits):
            return True
        while select.select([self.reading], [], [], 0.0)[0]:
            piece = os.read(self.reading, 1 << 16)
            if not piece:
                return True
            self.told += piece
        return False

    def close(self) -> None:
        """End the child and all that it started."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.child, signal.SIGKILL)
        os.waitpid(self.child, 0)
        os.close(self.reading)

    def verdict(self) -> tuple[str, str, float]:
        """Outcome, the test that failed, and the time of the processor, s; after `close`.

        A file that died of itself is found; one that the limit ended is slow.
        """
        if not self.told:
            return SLOW, "", time.monotonic() - self.begun
        failed, passed, spent, ended_by = json.loads(self.told)
        if ended_by in (signal.SIGKILL, signal.SIGXCPU):
            return SLOW, failed, spent
        if failed or ended_by:
            return FOUND, failed, spent
        return (SURVIVED if passed else FOUND), "" if passed else "nothing ran", spent


def _child(run: Run, writing: int) -> None:
    """Run pytest on each file and tell what came of it; never returns."""
    failed, passed, spent, ended_by = "failed to begin", 0, 0.0, 0
    try:
        _prepare(run.folder)
        failed = ""
        for file, limit in zip(run.files, run.limits, strict=True):
            failed, more, used, ended_by = _alone(file, limit, run)
            passed, spent = passed + more, spent + used
            if failed or ended_by:
                break
    finally:
        os.write(writing, json.dumps([failed, passed, spent, ended_by]).encode())
        os._exit(0)


def _prepare(folder: Path) -> None:
    """Let this process take the package and compiled programs from a folder, and be silent."""
    sys.path.insert(0, str(folder / "src"))
    sys.dont_write_bytecode = True  # what was compiled of a change must not stand for the next
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    os.environ["PYTHONPATH"] = os.pathsep.join([str(folder / "src"), str(ROOT)])
    os.environ["NEUTRALPOINT_CACHE"] = str(folder / "programs")
    os.environ["JAX_COMPILATION_CACHE_DIR"] = str(folder / "programs")
    os.chdir(ROOT)
    import jax

    jax.config.update("jax_compilation_cache_dir", str(folder / "programs"))
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, 1)
    os.dup2(silent, 2)


def _alone(file: str, limit: float, run: Run) -> tuple[str, int, float, int]:
    """Run one file in a process of its own.

    Returns:
        The test that failed, how many passed, s of the processor, and the signal that ended it.
    """
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (int(limit), int(limit) + 5))
        _one_file(file, run, writing)
    os.close(writing)
    _, status, used = os.wait4(child, 0)
    with os.fdopen(reading, "rb") as pipe:
        told = pipe.read()
    spent = used.ru_utime + used.ru_stime
    if not told:
        by = os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0
        return f"{file} died, signal {by}", 0, spent, by
    failed, passed = json.loads(told)
    return failed, passed, spent, 0


def _one_file(file: str, run: Run, writing: int) -> None:
    """Run pytest here; never returns."""
    import pytest

    watch = Watch(run.folder) if run.watched else None
    code, report = 3, Report(watch)
    try:
        options = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:randomly", "-p", "no:xdist"]
        place = ["-c", str(run.folder / "pytest.ini"), "--rootdir", str(ROOT)]
        code = int(pytest.main([*options, *place, file], plugins=[report]))
        if watch:
            watch.keep()
    finally:
        # 5: none of its tests is quick or has its data
        failed = report.failed or ("" if code in (0, 5) else f"{file} exit {code}")
        os.write(writing, json.dumps([failed, report.passed]).encode())
        os._exit(0)
