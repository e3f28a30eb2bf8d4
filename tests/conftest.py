"""Fixtures of all tests: the authorities, and where the repository stands."""

from __future__ import annotations

import dataclasses
import importlib
import importlib.metadata
import multiprocessing
import os
import pkgutil
import re
import runpy
import signal
import time
import tomllib
from collections.abc import Callable
from html import unescape
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import settings

from neutralpoint.cli.compiled import collect_rarely, keep_compiled

ROOT = Path(__file__).resolve().parents[1]

# Compiled programs are shared by the workers and the commands of a session, and by the sessions of
# this checkout: a program is found by what it does, so one that changed is compiled anew. Half the
# time of a first run goes to compiling. Never with the user; `make clean` removes them.
os.environ.setdefault("NEUTRALPOINT_CACHE", str(ROOT / "build" / "tests"))
keep_compiled()
collect_rarely()
# Most programs of the tests run once or on a handful of flights, where compiling costs seconds and
# running milliseconds. Without fusion emitters and without optimization they compile in a half to
# a fifth of the time and differ from the product's by rounding (`neutralpoint.dynamics.quickly`).
# One piece of machine code a program: there is one core a worker, and joining pieces costs a fifth.
# `make slow` flies as the product does.
os.environ.setdefault(
    "XLA_FLAGS",
    "--xla_cpu_use_fusion_emitters=false --xla_backend_optimization_level=0"
    " --xla_cpu_parallel_codegen_split_count=1",
)


# Files that take longest, by processor time: whole files go to a worker, so these come first and
# the short ones fill up the end. The first one makes the studied case (100 s on a shared core);
# what needs that case comes where the other worker has flown for longer.
LONGEST = (
    "end_to_end/test_signatures.py",
    "unit/test_airplane_catalogue.py",
    "recovery/test_motion_synthetic.py",
    "against/test_evidence.py",
    "recovery/test_moments.py",
    "unit/test_response.py",
    "end_to_end/test_weigh.py",
    "end_to_end/test_fly.py",
    "unit/test_dynamics_equilibrium.py",
    "end_to_end/test_examples.py",
    "end_to_end/test_airplane_command.py",
    "unit/test_dynamics_authority.py",
    "end_to_end/test_cli.py",
    "unit/test_history_files.py",
    "unit/test_weighing_effects.py",
    "unit/test_known_answers_dynamics.py",
    "against/test_dynamics_recorded.py",
    "unit/test_dynamics_friction.py",
    "against/test_dynamics_forces.py",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the longest files first, all else as it was collected."""
    tests = Path(__file__).parent
    place = {tests / name: number for number, name in enumerate(LONGEST)}
    items.sort(key=lambda item: place.get(item.path, len(LONGEST)))


# The same examples on every run, and no clock on a loaded machine.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def repository() -> Path:
    """Root folder of the repository."""
    return ROOT


def load_authority(name: str) -> dict[str, Any]:
    """A file of `authorities/`; its columns, where it has them, as arrays under `table`."""
    document = tomllib.loads((ROOT / "authorities" / f"{name}.toml").read_text("utf-8"))
    if "columns" in document:
        columns = zip(*document["rows"], strict=True)
        document["table"] = {
            key: np.array(values) for key, values in zip(document["columns"], columns, strict=True)
        }
    return document


@pytest.fixture(scope="session")
def authority() -> Callable[[str], dict[str, Any]]:
    """Reads an authority by the name of its file."""
    return load_authority


@pytest.fixture(scope="session")
def commuter():
    """The hand-built airplane of the benchmarks."""
    return runpy.run_path(str(ROOT / "benchmarks" / "commuter.py"))["make_commuter"]()


@pytest.fixture(scope="session")
def changeable() -> Callable[[ModuleType], list[str]]:
    """Names the dataclasses of a package whose values could be changed after they are made."""

    def look(package: ModuleType) -> list[str]:
        inner = pkgutil.iter_modules(package.__path__, f"{package.__name__}.")
        modules = [importlib.import_module(found.name) for found in inner]
        return [
            f"{module.__name__}.{name}"
            for module in modules
            for name, held in vars(module).items()
            if getattr(held, "__module__", "") == module.__name__
            and isinstance(held, type)
            and dataclasses.is_dataclass(held)
            and not held.__dataclass_params__.frozen  # type: ignore[attr-defined]
        ]

    return look


@pytest.fixture(scope="session")
def recorded_flights() -> Path:
    """Folder of recorded flights, which lies beside the repository and is never part of it."""
    folder = ROOT.parent / "shared" / "data" / "flights"
    if not folder.is_dir():
        pytest.skip("the recorded flights are not part of the project")
    return folder


@pytest.fixture(scope="session")
def sentences() -> Callable[[str], list[str]]:
    """Sentences of over eight words of a report, as read; rows of tables are entries."""

    def read(page: str) -> list[str]:
        body = page[page.index("<body") : page.index('<script type="application/json"')]
        body = re.sub(r"(?s)<tr>.*?</tr>", "<tr>", body)
        body = re.sub(r"</?(?:span|strong|em|small|code|a|sub|sup)\b[^>]*>", "", body)
        blocks = [re.sub(r"\s+", " ", unescape(b)).strip() for b in re.split("<[^>]+>", body)]
        parts = [part for block in blocks for part in re.split(r"(?<=[.!?])\s+", block)]
        return [part for part in parts if len(part.split()) > 8]

    return read


@pytest.fixture
def begun(monkeypatch) -> list[multiprocessing.Process]:
    """Processes that were begun; the first is killed while the second is being started."""
    context = multiprocessing.get_context("spawn")
    found, start = [], context.Process.start

    def late(process):
        found.append(process)
        if len(found) == 2:
            os.kill(found[0].pid, signal.SIGKILL)
            time.sleep(0.5)  # the pool finds it dead, and ends those that it has
        start(process)

    monkeypatch.setattr(context.Process, "start", late)
    return found


@pytest.fixture
def entry_points_of_example(monkeypatch, repository) -> list[importlib.metadata.EntryPoint]:
    """Those of `examples/plug-in`, by its own project file; its modules can be imported."""
    example = repository / "examples" / "plug-in"
    monkeypatch.syspath_prepend(example / "src")
    project = tomllib.loads((example / "pyproject.toml").read_text("utf-8"))["project"]
    return [
        importlib.metadata.EntryPoint(name, value, group)
        for group, names in project["entry-points"].items()
        for name, value in names.items()
    ]
