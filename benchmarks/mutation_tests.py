"""Which test files are asked of a change, and one run of them in a child process.

The child is a fork of a process that has loaded what is slow to load; it takes the package from a
folder of its own, its compiled programs from a cache of its own, and tells through a pipe what came
of it.
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

from mutation_marks import FOUND, ROOT, SLOW, SURVIVED

QUICK = ("tests/unit", "tests/against")
# Warnings are not errors here: another version of a library would have every test fail.
SETTINGS = """[pytest]
pythonpath = {root}/benchmarks {root}/tests/contracts
addopts = --import-mode=importlib -m "not slow"
markers =
    recorded: needs the recorded flights
    slow: minutes of flying
"""


def imported(path: Path) -> set[str]:
    """Modules of the package that a file imports, and the names it takes from them."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("neutralpoint"):
            found |= {str(node.module)} | {f"{node.module}.{name.name}" for name in node.names}
        elif isinstance(node, ast.Import):
            found |= {name.name for name in node.names if name.name.startswith("neutralpoint")}
    return found


def read_suites(folders: list[str]) -> dict[str, set[str]]:
    """Every test file of some suites with what it imports."""
    return {
        str(path.relative_to(ROOT)): imported(path)
        for suite in folders
        for path in sorted((ROOT / suite).glob("test_*.py"))
    }


def of_package(package: str, tests: dict[str, set[str]]) -> list[str]:
    """Test files that import a package."""
    wanted = f"neutralpoint.{package}"
    return [
        name
        for name, found in tests.items()
        if any(one == wanted or one.startswith(f"{wanted}.") for one in found)
    ]


def chosen(
    module: str, tests: dict[str, set[str]], times: dict[str, float], budget: float
) -> list[str]:
    """Test files for a change of a module, within the budget.

    Those that import the module come first, the quick before the slow.

    Args:
        module: Below the package, as `motion/rows.py`.
        tests: Test files with what they import.
        times: Time of each that passes undisturbed, s.
        budget: s of the processor, undisturbed and compiling all.
    """
    name = "neutralpoint." + module.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    files = [f for f in of_package(module.split("/")[0], tests) if f in times]
    files.sort(key=lambda f: (name not in tests[f], times[f]))
    kept, spent = [], 0.0
    for file in files:
        if spent + times[file] <= budget or not kept:
            kept.append(file)
            spent += times[file]
    return kept


class Report:
    """Plugin of pytest: keeps the order of the files, and tells what fails first."""

    def __init__(self, files: list[str]) -> None:
        self.place = {name: number for number, name in enumerate(files)}
        self.failed, self.passed = "", 0

    def pytest_collection_modifyitems(self, items: list) -> None:
        """Called by pytest after tests/conftest.py, which puts the slowest files first."""
        items.sort(key=lambda item: self.place.get(item.nodeid.split("::")[0], 0))

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
    """Tests that run in a child process."""

    files: list[str]
    folder: Path  # of the worker: `src` and `programs`
    limit: float  # s of the processor
    told: bytes = b""
    begun: float = field(default_factory=time.monotonic)
    child: int = 0
    reading: int = -1
    status: int = 0  # of the child, as the system tells it

    def start(self) -> Run:
        """Fork; the child never returns from here."""
        self.reading, writing = os.pipe()
        self.child = os.fork()
        if self.child == 0:
            os.close(self.reading)
            os.setsid()
            resource.setrlimit(resource.RLIMIT_CPU, (int(self.limit), int(self.limit) + 5))
            _child(self.files, self.folder, writing)
        os.close(writing)
        return self

    def ended(self) -> bool:
        """Read what the child has told; whether it is at its end."""
        if time.monotonic() - self.begun > 4.0 * self.limit:
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
        self.status = os.waitpid(self.child, 0)[1]
        os.close(self.reading)

    def verdict(self) -> tuple[str, str, float]:
        """Outcome, the test that failed, and the time, s; after `close`.

        Nothing told: the limit ended it, or it died of itself, which is found.
        """
        seconds = time.monotonic() - self.begun
        if not self.told:
            by = os.WTERMSIG(self.status) if os.WIFSIGNALED(self.status) else 0
            limit = by in (signal.SIGKILL, signal.SIGXCPU)
            return (SLOW, "", seconds) if limit else (FOUND, f"died, signal {by}", seconds)
        code, failed, passed, spent = json.loads(self.told)
        return (SURVIVED if code == 0 and passed else FOUND), failed or f"exit {code}", spent


def _child(files: list[str], folder: Path, writing: int) -> None:
    """Run pytest here and tell what came of it; never returns."""
    code, report = 3, Report(files)
    try:
        sys.path.insert(0, str(folder / "src"))
        sys.dont_write_bytecode = True  # what was compiled of a change must not stand for the next
        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
        os.environ["PYTHONPATH"] = os.pathsep.join([str(folder / "src"), str(ROOT)])
        os.environ["NEUTRALPOINT_CACHE"] = str(folder / "programs")
        os.environ["JAX_COMPILATION_CACHE_DIR"] = str(folder / "programs")
        os.chdir(ROOT)
        import jax
        import pytest

        jax.config.update("jax_compilation_cache_dir", str(folder / "programs"))
        silent = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silent, 1)
        os.dup2(silent, 2)
        options = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:randomly", "-p", "no:xdist"]
        place = ["-c", str(folder / "pytest.ini"), "--rootdir", str(ROOT)]
        code = int(pytest.main([*options, *place, *files], plugins=[report]))
    finally:
        used = time.process_time()
        os.write(writing, json.dumps([code, report.failed, report.passed, used]).encode())
        os._exit(0)
