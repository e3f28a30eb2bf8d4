"""What was heard, as the findings document holds it."""

from __future__ import annotations

import numpy as np

from neutralpoint.findings import Banded90, HeardFindings, HeardPass, HeardRecording
from neutralpoint.hearing import Pass
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.heard.work_out import (
    STEP,
    TURN,
    HeardAll,
    HeardLine,
    about_onset,
)
from neutralpoint.study.limits.findings import band90
from neutralpoint.study.motion.file import KeptMotion

HEARD_FILE = "heard.nc"
NORMAL = 1.645  # standard deviations of a 90% band


def heard_findings(found: HeardAll, motion: KeptMotion) -> HeardFindings:
    """What the stage hands on.

    Args:
        found: Of the stage.
        motion: The motion, for the speed of a pass.

    Returns:
        Its findings.
    """
    rows = [_row(line, found.onset, motion) for line in found.lines]
    rows += [
        HeardRecording(
            name=entry.file, microphone=entry.kind, begin=0.0, end=0.0, source=entry.source,
            silent="unreadable", reason=error.message, present=0.0,
        )
        for entry, error in found.refused
    ]  # fmt: skip
    return HeardFindings(file=HEARD_FILE, recordings=rows, onset=found.onset, step=STEP)


def _row(line: HeardLine, onset: float | None, motion: KeptMotion) -> HeardRecording:
    said = about_onset(line, onset)
    base = HeardRecording(
        name=line.entry.file,
        microphone=line.entry.kind,
        begin=float(line.time[0]),
        end=float(line.time[-1]),
        source=line.entry.source,
        silent="",
        present=float(line.ridge.present.mean().clip(0.0, 1.0)),
        passed=None if line.passed is None else _passed(line.passed, motion),
    )
    if isinstance(said, str):
        return base.model_copy(update={"silent": said})

    def rotation(rates: Array) -> Banded90:
        return band90(rates * TURN / line.entry.blades)

    return base.model_copy(
        update={
            "before": rotation(said.before),
            "after": rotation(said.after),
            "changed": said.changed,
            "steady": 1.0 - said.changed,
        }
    )


def _spread(value: tuple[float, float]) -> Banded90:
    middle, sigma = value
    return Banded90(low90=middle - NORMAL * sigma, median=middle, high90=middle + NORMAL * sigma)


def _passed(found: Pass, motion: KeptMotion) -> HeardPass:
    at = int(np.argmin(np.abs(motion.time - found.closest[0])))
    near = abs(float(motion.time[at]) - found.closest[0]) < 1.0
    return HeardPass(
        speed=_spread(found.speed),
        path_speed=band90(motion.paths["ground_speed"][:, at].astype(float)) if near else None,
        closest=found.closest[0],
        distance=_spread(found.distance),
    )
