"""Run the stages of a study, one after the other, and save what each establishes."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import numpy as np

import neutralpoint
from neutralpoint.case import Case, load_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import (
    CAUTIONS,
    Findings,
    ResultFile,
    Section,
    key_times,
    write_findings,
)
from neutralpoint.motion import Estimate, Motion, estimate_motion
from neutralpoint.study import inventory, motion_findings
from neutralpoint.study.moments import Moments, work_out_moments
from neutralpoint.study.moments_file import MOMENTS_FILE, moments_dataset
from neutralpoint.study.moments_findings import moments_section
from neutralpoint.study.motion_file import MOTION_FILE, motion_dataset, write_dataset
from neutralpoint.study.track_file import TRACK_FILE, track_dataset

RESULTS = "results"
SAMPLES = 200
Progress = Callable[[str], None]


def run_motion(folder: Path, progress: Progress) -> Path:
    """Work out the motion of a case and save it as `results/motion.nc`.

    Args:
        folder: The case folder.
        progress: Told in words what is being done.

    Returns:
        Path of the file.

    Raises:
        NeutralPointError: Of the case and of the motion.
    """
    progress("Reading the case")
    case = load_case(folder)
    return _save_motion(case, _motion(case, progress), progress)


def run_study(folder: Path, progress: Progress) -> Path:
    """Run all stages of a case and save results and findings.

    Args:
        folder: The case folder.
        progress: Told in words what is being done.

    Returns:
        Path of the results folder.

    Raises:
        NeutralPointError: Of the case and of the stages.
    """
    progress("Reading the case")
    case = load_case(folder)
    motion = _motion(case, progress)
    path = _save_motion(case, motion, progress)
    saved, sections = [_save_track(case, path.parent), path], []
    if case.airplane is not None:
        moments = _moments(case, motion, progress)
        saved.append(_save_moments(case, moments, path.parent))
        sections.append(moments_section(moments))
    progress("Writing the findings")
    write_findings(path.parent, _findings(case, motion, saved, sections))
    return path.parent


def _moments(case: Case, motion: Motion, progress: Progress) -> Moments:
    progress("Working out the required moment")
    return work_out_moments(case, motion, np.random.default_rng([case.document.seed, 2]))


def _save_moments(case: Case, moments: Moments, results: Path) -> Path:
    dataset = moments_dataset(
        moments,
        epoch=case.track.epoch,
        title=case.document.title,
        version=neutralpoint.__version__,
    )
    return write_dataset(results, MOMENTS_FILE, dataset)


def _motion(case: Case, progress: Progress) -> Motion:
    progress("Estimating the motion")
    return estimate_motion(
        case.track,
        weather=case.weather,
        lift=case.lift,
        rng=np.random.default_rng([case.document.seed, 1]),
        altimeter_setting=case.altimeter_setting.value,
        position_age=Estimate(case.document.position_age.value, case.document.position_age.sigma),
        samples=SAMPLES,
    )


def _save_motion(case: Case, motion: Motion, progress: Progress) -> Path:
    progress(f"Writing {MOTION_FILE}")
    dataset = motion_dataset(
        motion,
        epoch=case.track.epoch,
        title=case.document.title,
        version=neutralpoint.__version__,
    )
    return write_dataset(_results(case.folder), MOTION_FILE, dataset)


def _save_track(case: Case, results: Path) -> Path:
    dataset = track_dataset(case.track, title=case.document.title, version=neutralpoint.__version__)
    return write_dataset(results, TRACK_FILE, dataset)


def _results(folder: Path) -> Path:
    """The results folder, made where it is not there."""
    results = folder / RESULTS
    try:
        results.mkdir(exist_ok=True)
    except OSError as broken:
        raise NeutralPointError(
            "results-missing",
            f"The results folder cannot be made: {broken.strerror}.",
            where=str(results),
            hint="Results go below the case folder: make it writable, or copy the case.",
        ) from broken
    return results


def _findings(case: Case, motion: Motion, paths: list[Path], sections: list[Section]) -> Findings:
    events = inventory.events(case)
    return Findings(
        program_version=neutralpoint.__version__,
        seed=case.document.seed,
        cut_off=case.document.cut_off.isoformat(),
        epoch=case.track.epoch,
        subject=inventory.subject(case),
        cautions=list(CAUTIONS),
        sources=inventory.inventory(case),
        assumptions=inventory.assumptions(case),
        resolution=motion_findings.resolution(motion),
        estimates=motion_findings.estimates(motion),
        flagged=inventory.flagged(case, motion),
        events=events,
        key_times=key_times(
            motion.time,
            motion.paths,
            motion.observable,
            units=motion_findings.KEY_UNITS,
            events=events,
        ),
        statements=motion_findings.statements(motion),
        undetermined=motion_findings.undetermined(motion),
        sections=sections,
        results=[_result_file(path) for path in paths],
        warnings=[inventory.warned(warning) for warning in case.warnings],
    )


def _result_file(path: Path) -> ResultFile:
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    return ResultFile(stage=path.stem, path=path.name, sha256=digest)
