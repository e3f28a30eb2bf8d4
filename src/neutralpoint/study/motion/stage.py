"""The stage `motion`: what the airplane did, and the readings it was worked out from."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

import neutralpoint
from neutralpoint.case import Case
from neutralpoint.motion import (
    CARRIED_BY_WHEELS,
    GEOID_HEIGHT,
    Motion,
    ParameterEstimate,
    estimate_motion,
    on_ground,
    sample_count,
)
from neutralpoint.study import inventory
from neutralpoint.study.motion import findings as motion_findings
from neutralpoint.study.motion.file import MOTION_FILE, motion_dataset, onsets_of
from neutralpoint.study.motion.track_file import TRACK_FILE, track_dataset
from neutralpoint.study.record import BESIDE, Made
from neutralpoint.study.settings import Settings
from neutralpoint.study.stages import Stage, Work

# Keys of the case that say nothing of the motion.
IGNORED = BESIDE | frozenset(
    {
        *(
            "response",
            "terrain",
            "facts",
            "prior",
            "something_failed",
            "evidence",
        ),
        *("analysis.onset", "analysis.reference_start", "analysis.reference_end"),
        "analysis.gear",
    }
)


def _estimated(case: Case) -> Motion:
    geoid, static = case.document.geoid_height, case.document.static_source_error
    return estimate_motion(
        case.track,
        weather=case.weather,
        lift=case.lift,
        rng=np.random.default_rng([case.document.seed, 1]),
        altimeter_setting=case.altimeter_setting.value,
        altimeter_sigma=case.altimeter_setting.sigma,
        static_error=ParameterEstimate(static.value, static.sigma),
        position_age=ParameterEstimate(
            case.document.position_age.value, case.document.position_age.sigma
        ),
        geoid_height=GEOID_HEIGHT if geoid is None else ParameterEstimate(geoid.value, geoid.sigma),
        turbulence=case.document.turbulence,
        samples=sample_count(case.track.fixes.time),
    )


def _run(work: Work[Settings]) -> Made:
    case = work.case
    work.tell("Estimating the motion", 0.0)
    motion = _estimated(case)
    ground = on_ground(motion.time, motion.paths, case.lift)
    flags = {name: motion.observable[name] & ~ground for name in CARRIED_BY_WHEELS}
    motion = replace(motion, observable=motion.observable | flags)
    found = onsets_of(motion, ground)
    version = neutralpoint.__version__
    work.tell(f"Writing {MOTION_FILE}", 0.7)
    work.save_dataset(
        MOTION_FILE,
        motion_dataset(
            motion, ground=ground, onsets=found, epoch=case.track.epoch, version=version
        ),
    )
    work.save_dataset(TRACK_FILE, track_dataset(case.track, version=version))
    return Made(
        resolution=tuple(motion_findings.resolution(motion)),
        estimates=tuple(motion_findings.estimates(motion)),
        flagged=tuple(inventory.flagged(case, motion)),
        motion=motion_findings.motion_findings(motion, ground, case.lift, found),
    )


STAGE = Stage(
    name="motion",
    title="The motion",
    needs=(),
    run=_run,
    settings=Settings(),
    ignores=IGNORED,
    seconds=2.0,
)
