"""The stage `limits`: worked out, saved, and handed on."""

from __future__ import annotations

import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.case import Case
from neutralpoint.study.limits.findings import LIMITS_FILE, limits_findings
from neutralpoint.study.limits.work_out import LimitsPassed, work_out_limits
from neutralpoint.study.moments.stage import IGNORED, without_airplane
from neutralpoint.study.motion.file import time_attributes
from neutralpoint.study.record import Made
from neutralpoint.study.settings import Settings
from neutralpoint.study.stages import Stage, Work
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.cautions import IN_BRIEF

EVERY = 0.5  # s between the times kept; load factors are averaged over four times as long or more


def limits_dataset(found: LimitsPassed, case: Case) -> xr.Dataset:
    """What was compared with the limits, with names and units.

    Args:
        found: Of the stage.
        case: The case.

    Returns:
        Dataset with dimensions `sample` and `time`.
    """
    kept = slice(None, None, max(1, round(EVERY / found.step)))
    rates = {
        "excess_power": found.excess.flown,
        "excess_power_full": found.excess.full,
        "excess_power_idle": found.excess.idle,
    }
    paths = found.paths | rates
    samples = len(found.paths["mach"])
    return xr.Dataset(
        {
            name: (
                ("sample", "time"),
                values[:, kept].astype(np.float32),
                {"units": QUANTITIES[name].udunits, "long_name": QUANTITIES[name].long_name},
            )
            for name, values in paths.items()
            if np.isfinite(values).all()
        },
        {
            "time": ("time", found.time[kept], time_attributes(case.track.epoch)),
            "sample": ("sample", np.arange(samples, dtype=np.int32)),
        },
        {
            "Conventions": "CF-1.11",
            "title": "Quantities that were compared with limits",
            "source": f"Neutral Point {neutralpoint.__version__}",
            "comment": f"Load factors are averaged over {found.window:g} s. {IN_BRIEF}",
        },
    )


def _run(work: Work[Settings]) -> Made:
    work.tell("Comparing the flight with the limits", 0.0)
    found = work_out_limits(work.case, work.motion, work.moments)
    work.save_dataset(LIMITS_FILE, limits_dataset(found, work.case))
    return Made(limits=limits_findings(found, work.case))


STAGE = Stage(
    name="limits",
    title="The limits",
    needs=("motion", "moments"),
    run=_run,
    settings=Settings(),
    cannot=without_airplane,
    ignores=IGNORED,
    seconds=1.0,
)
