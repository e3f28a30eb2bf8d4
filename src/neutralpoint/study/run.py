"""Run the stages of a study in order, each from the saved results of those before it.

A stage is run again only where something that its results were made from has changed. After each
stage that ran, the findings are put together anew from the records of all stages whose results
still hold, so that a run that is stopped leaves a case that can be read and taken up again.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from neutralpoint.case import Case, load_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import own_folder
from neutralpoint.findings import Warned, write_findings
from neutralpoint.study.assembly import assemble
from neutralpoint.study.felt import stage as felt_stage
from neutralpoint.study.heard import stage as heard_stage
from neutralpoint.study.history import stage as history_stage
from neutralpoint.study.limits import stage as limits_stage
from neutralpoint.study.lock import locked
from neutralpoint.study.moments import stage as moments_stage
from neutralpoint.study.motion import stage as motion_stage
from neutralpoint.study.motion.file import MOTION_FILE
from neutralpoint.study.outside import stage as outside_stage
from neutralpoint.study.record import Record, basis_of, read_record, record_path
from neutralpoint.study.response import stage as response_stage
from neutralpoint.study.settings import ResponseSettings, Settings
from neutralpoint.study.stages import (
    Known,
    Progress,
    Stage,
    Step,
    Work,
    remove_leftovers,
    run_stage_now,
)
from neutralpoint.study.weighing import stage as weighing_stage
from neutralpoint.study.wreckage import stage as wreckage_stage

RESULTS = "results"
STAGES: tuple[Stage[Any], ...] = (
    motion_stage.STAGE,
    moments_stage.STAGE,
    limits_stage.STAGE,
    history_stage.STAGE,
    wreckage_stage.STAGE,
    heard_stage.STAGE,
    felt_stage.STAGE,
    weighing_stage.STAGE,
    response_stage.STAGE,
    outside_stage.STAGE,
)
BY_NAME = {stage.name: stage for stage in STAGES}
# Without these a study has failed; where another fails, the findings say so and the rest stands.
NEEDED = frozenset({"motion", "moments"})
STANDS = frozenset({"not-flying"})  # even then: the motion is all there is to say


@dataclass(frozen=True)
class StageState:
    """How a stage of a case stands.

    Attributes:
        ready: Its saved results hold.
        stale: It has saved results, made from something that has changed since.
        made: When they were made; None without any.
        cannot: Why the case cannot bear the stage; empty where it can.
    """

    ready: bool
    stale: bool
    made: datetime | None
    cannot: str


def run_motion(folder: Path, progress: Progress, *, fresh: bool = False) -> Path:
    """Work out the motion of a case and save it as `results/motion.nc`.

    Args:
        folder: The case folder.
        progress: Told what is being done.
        fresh: Work it out again even where the saved results hold.

    Returns:
        Path of the file.

    Raises:
        NeutralPointError: Of the case and of the motion; `case-busy`.
    """
    return run_stage(folder, "motion", progress, Settings(), fresh=fresh) / MOTION_FILE


def run_study(
    folder: Path,
    progress: Progress,
    *,
    until: str | None = None,
    full: bool = False,
    fresh: bool = False,
) -> Path:
    """Run all stages that a case can bear, and save results and findings.

    Args:
        folder: The case folder.
        progress: Told what is being done.
        until: Name of the last stage to run; None = all.
        full: Whether to answer with all pilots; else what is saved serves, or a quick look.
        fresh: Run every stage again even where its saved results hold.

    Returns:
        Path of the results folder.

    Raises:
        NeutralPointError: Of the case, the motion and the moments; `case-busy`;
            `argument-invalid` for a stage that is not known.
    """
    last = len(STAGES) - 1 if until is None else STAGES.index(_stage(until))
    run = _Run(folder, progress, fresh=fresh)
    wanted = [stage for stage in STAGES[: last + 1] if not stage.cannot(run.case)]
    chosen = {"response": ResponseSettings(full=True)} if full else {}
    return run.through(wanted, chosen, lenient=True)


def run_stage(
    folder: Path,
    name: str,
    progress: Progress,
    settings: Settings | None = None,
    *,
    fresh: bool = False,
) -> Path:
    """Run one stage, and before it those that it starts from; put the findings together.

    Args:
        folder: The case folder.
        name: Of the stage.
        progress: Told what is being done.
        settings: What is chosen; None to take saved results with any.
        fresh: Run the stage again even where its saved results hold.

    Returns:
        Path of the results folder.

    Raises:
        NeutralPointError: Of the case and of the stages; `case-busy`; `argument-invalid` where the
            case cannot bear the stage.
    """
    stage = _stage(name)
    run = _Run(folder, progress, fresh=fresh)
    if (reason := stage.cannot(run.case)) and not stage.told(settings or stage.settings):
        raise NeutralPointError(
            "argument-invalid",
            reason,
            where="case.toml",
            hint="Name an airplane file or one of the catalogue.",
        )
    beside = {name for name in stage.uses if not BY_NAME[name].cannot(run.case)}
    wanted = [s for s in STAGES if s.name in stage.needs or s.name in beside or s is stage]
    chosen = {} if settings is None else {name: settings}
    again = {name} if fresh else set()
    return run.through(wanted, chosen, lenient=False, again=again, beside=beside)


def stage_states(folder: Path) -> dict[str, StageState]:
    """How each stage of a case stands; nothing is run or written.

    Args:
        folder: The case folder.

    Returns:
        One entry a stage, in order.

    Raises:
        NeutralPointError: Of the case.
    """
    case = load_case(folder)
    held, found = held_records(case, folder / RESULTS), {}
    for stage in STAGES:
        path = record_path(folder / RESULTS, stage.name)
        there = path.is_file()
        found[stage.name] = StageState(
            ready=stage.name in held,
            stale=there and stage.name not in held,
            made=datetime.fromtimestamp(path.stat().st_mtime, UTC) if there else None,
            cannot=stage.cannot(case),
        )
    return found


def _stage(name: str) -> Stage[Any]:
    if name not in BY_NAME:
        raise NeutralPointError(
            "argument-invalid",
            f"There is no stage called {name!r}.",
            where="stage",
            hint=f"The stages are {', '.join(BY_NAME)}.",
        )
    return BY_NAME[name]


def held_records(case: Case, results: Path) -> dict[str, Record]:
    """Records of the stages whose saved results hold, in order."""
    held: dict[str, Record] = {}
    for stage in STAGES:
        if all(name in held for name in stage.needs) and not stage.cannot(case):
            record = read_record(results, stage.name)
            if record is not None and record.basis == _basis(stage, case, held, record.settings):
                held[stage.name] = record
    return held


def _basis(
    stage: Stage[Any], case: Case, held: Mapping[str, Record], settings: Mapping[str, Any]
) -> str:
    used = [name for name in stage.uses if name in held]
    upstream = {name: held[name] for name in (*stage.needs, *used)}
    beside = stage.beside(case, settings) + stage.taken(held)
    return basis_of(case, stage.ignores, upstream, beside)


class _Run:
    """One run over a case.

    Args:
        folder: The case folder.
        progress: Told what is being done.
        fresh: Whether every stage is run again.
    """

    def __init__(self, folder: Path, progress: Progress, *, fresh: bool) -> None:
        self.progress, self.fresh = progress, fresh
        progress(Step("", "Reading the case", 0.0))
        self.case = load_case(folder, lambda text: progress(Step("", text, 0.0)))
        self.results = _results(folder)
        self.failed: list[Warned] = []

    def through(
        self,
        wanted: list[Stage[Any]],
        chosen: Mapping[str, Settings],
        *,
        lenient: bool,
        again: set[str] | None = None,
        beside: Collection[str] = (),
    ) -> Path:
        """Run or reuse the stages wanted.

        Args:
            wanted: In order.
            chosen: Settings by stage, where they matter.
            lenient: Whether the findings stand where a later stage fails.
            again: Stages to run in any case; None = all where the run is a fresh one.
            beside: Stages that the rest can do without.

        Returns:
            The results folder.
        """
        again = {s.name for s in wanted if self.fresh} if again is None else again
        total = sum(stage.seconds for stage in wanted) or 1.0
        with locked(self.results):
            remove_leftovers(self.results)
            self.known = Known(self.case, self.results)
            done = 0.0
            for stage in wanted:
                span = (done / total, stage.seconds / total)
                try:
                    self._one(stage, chosen.get(stage.name), span, stage.name in again)
                except NeutralPointError as error:
                    grave = stage.name in NEEDED and error.code not in STANDS
                    if (not lenient and stage.name not in beside) or grave:
                        raise
                    self.failed.append(Warned(**error.as_dict()))
                done += stage.seconds
            self.progress(Step("", "Writing the findings", 1.0))
            self._write_findings()
        return self.results

    def _one(
        self, stage: Stage[Any], settings: Settings | None, span: tuple[float, float], again: bool
    ) -> None:
        """Run a stage, or take its saved results."""
        held = held_records(self.case, self.results)
        record = None if again else held.get(stage.name)
        chosen = settings or stage.settings
        as_saved = chosen.model_dump(mode="json")
        if record is not None and (settings is None or record.settings == as_saved):
            text = f"{stage.title} (from the saved results)"
            self.progress(Step(stage.name, text, span[0]))
            return
        missing = [name for name in stage.needs if name not in held]
        if missing:
            return  # one of these failed, and was said

        def tell(text: str, share: float = 0.0) -> None:
            self.progress(Step(stage.name, text, span[0] + share * span[1]))

        work = Work(self.known, chosen, tell, held=held)
        before = read_record(self.results, stage.name)
        run_stage_now(stage, work, _basis(stage, self.case, held, as_saved), before)
        self._write_findings()

    def _write_findings(self) -> None:
        """Put the findings together from all that holds; the motion does by now."""
        held = held_records(self.case, self.results)
        write_findings(self.results, assemble(self.known, held.values(), self.failed))


def _results(folder: Path) -> Path:
    """The results folder, made where it is not there."""
    return own_folder(folder / RESULTS, make=True)
