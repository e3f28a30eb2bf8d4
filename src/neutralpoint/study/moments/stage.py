"""The stage `moments`: what the motion took, saved and put into words."""

from __future__ import annotations

import numpy as np

import neutralpoint
from neutralpoint.case import Case
from neutralpoint.study.moments.file import MOMENTS_FILE, moments_dataset
from neutralpoint.study.moments.findings import moments_findings
from neutralpoint.study.moments.physics import physics_findings
from neutralpoint.study.motion.onset_findings import onset_warnings
from neutralpoint.study.record import BESIDE, Made
from neutralpoint.study.settings import Settings
from neutralpoint.study.stages import Stage, Work

# What the case states for the answer alone: neither the moment nor the limits read it.
IGNORED = BESIDE | frozenset(
    {
        "response",
        "terrain",
        "facts",
        "prior",
        "something_failed",
        "evidence",
    }
)


def without_airplane(case: Case) -> str:
    """Why a case cannot bear a stage that flies its airplane; empty where it can."""
    if case.airplane is None:
        return "The case names no airplane, so the required moment cannot be computed."
    return ""


def _run(work: Work[Settings]) -> Made:
    case = work.case
    work.tell("Computing the required moment", 0.0)
    moments = work.moments
    work.save_dataset(
        MOMENTS_FILE,
        moments_dataset(moments, epoch=case.track.epoch, version=neutralpoint.__version__),
    )
    stated = case.analysis.onset is not None or case.analysis.reference is not None
    warnings = () if stated else onset_warnings(moments.onsets, case.track.epoch)
    work.tell("Computing the physics boxes", 0.9)
    rng = np.random.default_rng([case.document.seed, 7])
    return Made(
        moments=moments_findings(moments, case.analysis.onset),
        physics=physics_findings(moments, work.motion, case, rng),
        warnings=warnings,
    )


STAGE = Stage(
    name="moments",
    title="The required moment",
    needs=("motion",),
    run=_run,
    settings=Settings(),
    cannot=without_airplane,
    ignores=IGNORED,
    seconds=3.0,
)
