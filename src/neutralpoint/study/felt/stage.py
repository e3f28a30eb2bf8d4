"""The stage `felt`: worked out, saved, and handed on."""

from __future__ import annotations

import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.case import Case
from neutralpoint.study.felt.findings import FELT_FILE, felt_findings
from neutralpoint.study.felt.work_out import FeltRide, felt_ride
from neutralpoint.study.motion.file import time_attributes
from neutralpoint.study.record import BESIDE, Made
from neutralpoint.study.settings import Settings
from neutralpoint.study.stages import Stage, Work
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.cautions import IN_BRIEF

EVERY = 0.5  # s between the times kept


def felt_dataset(found: FeltRide, case: Case) -> xr.Dataset:
    """What was flown and perceived, with names and units.

    Args:
        found: Of the stage.
        case: The case.

    Returns:
        Dataset with dimensions `sample` and `time`; what is perceived has both models one after
        the other. Without perception it holds the times alone.
    """
    step = 1.0 if found.time.size < 2 else float(found.time[1] - found.time[0])
    kept = slice(None, None, max(1, round(EVERY / step)))
    data: dict[str, tuple] = {}
    if found.ride is not None and found.perceived is not None:
        ride, seen = found.ride, found.perceived
        flown = (("seat_load", ride.load), ("seat_tilt", ride.tilt), ("pitch_angle", ride.pitch),
                 ("wings_bank", ride.bank), ("turn_rate", ride.turn))  # fmt: skip
        felt = (("perceived_pitch", seen.pitch), ("perceived_bank", seen.bank),
                ("perceived_turn", seen.turn))  # fmt: skip
        paired = [(name, np.concatenate([values, values])) for name, values in flown]
        joined = [(name, values.reshape(-1, found.time.size)) for name, values in felt]
        for name, values in (*paired, *joined):
            attributes = {"units": QUANTITIES[name].udunits,
                          "long_name": QUANTITIES[name].long_name}  # fmt: skip
            data[name] = (("sample", "time"), values[:, kept].astype(np.float32), attributes)
    return xr.Dataset(
        data,
        {"time": ("time", found.time[kept], time_attributes(case.track.epoch))},
        {
            "Conventions": "CF-1.11",
            "title": "What could be felt in the pilot's seat without outside view",
            "source": f"Neutral Point {neutralpoint.__version__}",
            "comment": "The first half of the samples has the observer, the second the filter. "
            + IN_BRIEF,
        },
    )


def _run(work: Work[Settings]) -> Made:
    work.tell("Computing what could be seen and felt", 0.0)
    rng = np.random.default_rng([work.case.document.seed, 21])
    found = felt_ride(work.case, work.motion, rng)
    work.save_dataset(FELT_FILE, felt_dataset(found, work.case))
    return Made(felt=felt_findings(found, work.case, work.motion))


STAGE = Stage(
    name="felt",
    title="Seen and felt",
    needs=("motion",),
    run=_run,
    settings=Settings(),
    ignores=BESIDE | frozenset({"response", "prior", "something_failed", "evidence"}),
    seconds=3.0,
)
