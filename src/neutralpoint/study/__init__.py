"""The only place that joins stages: from a case folder to its results folder.

What comes in: a case folder. What goes out: NetCDF files and one findings document in
`CASE/results/`, each replaced whole or not at all. It is assumed that nobody else writes there;
the case's own files are never touched.
"""

from neutralpoint.study.check import Check, check_case
from neutralpoint.study.motion.file import MOTION_FILE
from neutralpoint.study.retelling import retell
from neutralpoint.study.run import (
    StageState,
    run_motion,
    run_stage,
    run_study,
    stage_states,
)
from neutralpoint.study.stages import Progress, Step

__all__ = [
    "MOTION_FILE",
    "Check",
    "Progress",
    "StageState",
    "Step",
    "check_case",
    "retell",
    "run_motion",
    "run_stage",
    "run_study",
    "stage_states",
]
