"""What a stage of a study is: a name, what it starts from, and a function that does the work.

A stage saves its files by way of its `Work` and returns what it says of them. Nothing of it is
seen by a reader before it is whole; then files and record appear together, and the stage is not
run again while everything it was made from stays the same.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Generic, TypeVar

import numpy as np
import xarray as xr

from neutralpoint.case import Case
from neutralpoint.files import FRESH, fresh_file, keep, store, told_of_system, written
from neutralpoint.findings.worded import Stage as StageName
from neutralpoint.study.heard.work_out import HeardAll, hear, without_recordings
from neutralpoint.study.moments.looked_at import LookedAt, look_at
from neutralpoint.study.moments.work_out import Moments, work_out_moments
from neutralpoint.study.motion.file import (
    MOTION_FILE,
    KeptMotion,
    read_motion,
    store_dataset,
    store_tree,
)
from neutralpoint.study.record import Made, Record, file_digest, record_path
from neutralpoint.study.settings import Settings
from neutralpoint.study.wreckage.work_out import TracedBack, trace_back, without_ground

Chosen = TypeVar("Chosen", bound=Settings)
FINDINGS = "findings.json"
WRITTEN = frozenset({".nc", ".json", ".geojson", ".kml"})
# Files that commands without a lock write there.
COMMANDS = (".fly-", ".calibration")


@dataclass(frozen=True)
class Step:
    """One step of a run, as it begins.

    Attributes:
        stage: Name of the stage; empty before the first and after the last.
        text: What is being done, in words.
        fraction: Share of the run that is done, by typical times.
    """

    stage: str
    text: str
    fraction: float

    def __str__(self) -> str:
        """What is being done."""
        return self.text


Progress = Callable[[Step], None]


class Known:
    """What the stages of one run share.

    Args:
        case: The case.
        results: Its results folder.
    """

    def __init__(self, case: Case, results: Path) -> None:
        self.case = case
        self.results = results

    @cached_property
    def motion(self) -> KeptMotion:
        """The motion, as its stage saved it."""
        return read_motion(self.results / MOTION_FILE)

    @cached_property
    def moments(self) -> Moments:
        """The required moment, worked out from the saved motion."""
        rng = np.random.default_rng([self.case.document.seed, 2])
        return work_out_moments(self.case, self.motion, rng)

    @cached_property
    def looked_at(self) -> LookedAt:
        """What is compared with flights: of the required moment, which is not computed for it."""
        if "moments" in self.__dict__:
            return self.moments
        rng = np.random.default_rng([self.case.document.seed, 2])  # as above: the same gusts
        return look_at(self.case, self.motion, rng)

    @cached_property
    def heard(self) -> HeardAll | None:
        """The recordings, their lines followed; None where the case has none."""
        return None if without_recordings(self.case) else hear(self.case, self.motion)

    @cached_property
    def wreckage(self) -> TracedBack | None:
        """Parts and paths traced to the ground; None where the case has neither
        parts nor marks."""
        if without_ground(self.case):
            return None
        rng = np.random.default_rng([self.case.document.seed, 11])
        return trace_back(self.case, self.motion, rng)


@dataclass
class Work(Generic[Chosen]):
    """What the function of a stage is given.

    Attributes:
        known: What the stages of this run share.
        settings: Of this stage.
        tell: Told in words what is being done, and the share of this stage that is done.
        fresh: Files that were saved and are not shown yet, by name.
        held: Records of the stages whose results hold.
    """

    known: Known
    settings: Chosen
    tell: Callable[[str, float], None]
    fresh: dict[str, Path] = field(default_factory=dict)
    held: Mapping[str, Record] = field(default_factory=dict)

    @property
    def case(self) -> Case:
        """The case."""
        return self.known.case

    @property
    def motion(self) -> KeptMotion:
        """The motion, as its stage saved it."""
        return self.known.motion

    @property
    def moments(self) -> Moments:
        """The required moment."""
        return self.known.moments

    @property
    def results(self) -> Path:
        """The results folder, to read from."""
        return self.known.results

    def save_dataset(self, name: str, dataset: xr.Dataset) -> None:
        """Save a NetCDF file; it appears when the stage has ended.

        Args:
            name: File name.
            dataset: What to save.
        """
        store_dataset(self._place(name), dataset)

    def save_tree(self, name: str, tree: xr.DataTree) -> None:
        """Save a NetCDF file with groups; it appears when the stage has ended.

        Args:
            name: File name.
            tree: What to save.
        """
        store_tree(self._place(name), tree)

    def save_json(self, name: str, document: object) -> None:
        """Save a JSON document; it appears when the stage has ended.

        Args:
            name: File name.
            document: What to save; finite numbers only.
        """
        text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
        store(self._place(name), f"{text}\n".encode())

    def save_text(self, name: str, text: str) -> None:
        """Save a text; it appears when the stage has ended.

        Args:
            name: File name.
            text: What to save.
        """
        store(self._place(name), text.encode())

    def _place(self, name: str) -> Path:
        if name not in self.fresh:
            self.fresh[name] = fresh_file(self.results / name)
        return self.fresh[name]


def _no_hindrance(case: Case) -> str:
    return ""


def _nothing_beside(case: Case, settings: Mapping[str, Any]) -> str:
    return ""


def _takes_nothing(held: Mapping[str, Record]) -> str:
    return ""


def _tells_nothing(settings: Any) -> bool:
    return False


@dataclass(frozen=True)
class Stage(Generic[Chosen]):
    """A stage of a study.

    Attributes:
        name: As the findings call it.
        title: In words, for the progress.
        needs: Names of the stages that it starts from.
        run: Does the work.
        settings: What a command may choose, as it is where none does.
        cannot: Why a case cannot bear the stage, in a sentence; empty where it can.
        ignores: Keys of the case file that change no number here, beside those that never do.
        seconds: Typical cost, for the progress.
        uses: Names of stages whose results it takes where the case bears them.
        beside: Digest of files that it reads and the case does not hold, by its settings.
        taken: What it takes of the results of stages that it can do without, as a text.
        told: Whether settings name what it needs, whatever the case says.
    """

    name: StageName
    title: str
    needs: tuple[str, ...]
    run: Callable[[Work[Chosen]], Made]
    settings: Chosen
    cannot: Callable[[Case], str] = _no_hindrance
    ignores: frozenset[str] = frozenset()
    seconds: float = 2.0
    uses: tuple[str, ...] = ()
    beside: Callable[[Case, Mapping[str, Any]], str] = _nothing_beside
    taken: Callable[[Mapping[str, Record]], str] = _takes_nothing
    told: Callable[[Chosen], bool] = _tells_nothing


@contextmanager
def _tidy(work: Work[Chosen]):
    try:
        yield
    finally:
        for path in work.fresh.values():
            path.unlink(missing_ok=True)


def run_stage_now(
    stage: Stage[Chosen], work: Work[Chosen], basis: str, before: Record | None
) -> Record:
    """Run a stage and show its results.

    Args:
        stage: The stage.
        work: What it is given.
        basis: Digest of what it starts from.
        before: Record of the run whose files these replace; None without one.

    Returns:
        Its record.

    Raises:
        NeutralPointError: Of the stage; `disk-full` or `no-access`, and what was there stands.
    """
    with _tidy(work), told_of_system(work.results):
        made = stage.run(work)
        record = Record(
            stage=stage.name,
            basis=basis,
            settings=work.settings.model_dump(mode="json"),
            files={name: file_digest(path) for name, path in sorted(work.fresh.items())},
            made=made,
        )
        target = record_path(work.results, stage.name)
        with written(target) as fresh:
            store(fresh, f"{record.model_dump_json(indent=1)}\n".encode())
            # Findings speak of the files that now go; those that follow are put together anew.
            (work.results / FINDINGS).unlink(missing_ok=True)
            for name, path in work.fresh.items():
                keep(path, work.results / name)
    for name in set(before.files) - set(record.files) if before else ():
        (work.results / name).unlink(missing_ok=True)
    return record


def remove_leftovers(results: Path) -> None:
    """Remove what a run that was killed had begun to write.

    Args:
        results: The results folder; nobody else writes there.
    """
    for path in results.iterdir():
        named = path.name.startswith(".") and path.name.endswith(FRESH)
        stage = WRITTEN & set(path.suffixes) and not path.name.startswith(COMMANDS)
        if named and stage and (path.is_symlink() or path.is_file()):
            path.unlink(missing_ok=True)
