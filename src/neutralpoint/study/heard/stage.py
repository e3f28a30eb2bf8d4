"""The stage `heard`: worked out, saved, and handed on."""

from __future__ import annotations

import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.findings import Warned
from neutralpoint.study.heard.findings import HEARD_FILE, heard_findings
from neutralpoint.study.heard.propellers import HeardLine
from neutralpoint.study.heard.work_out import HeardAll, without_recordings
from neutralpoint.study.record import BESIDE, Made
from neutralpoint.study.settings import Settings
from neutralpoint.study.stages import Stage, Work
from neutralpoint.vocabulary.cautions import IN_BRIEF

FRAMES, BINS = 600, 240  # of the picture that is kept of a recording
LOUDEST = 30.0  # times the noise, beyond which the picture shows no more


def heard_dataset(found: HeardAll) -> xr.Dataset:
    """What is drawn of each recording, numbered from 0.

    Args:
        found: Of the stage.

    Returns:
        Dataset with a time axis and a picture for each recording.
    """
    data: dict[str, tuple] = {}
    lines = [record.line for record in found.records if record.line is not None]
    for number, line in enumerate(lines):
        data |= _picture(line, number)
    return xr.Dataset(
        data,
        attrs={
            "title": "Spectra of recordings, and the blade rate followed in them",
            "source": f"Neutral Point {neutralpoint.__version__}",
            "comment": IN_BRIEF,
        },
    )


def _picture(line: HeardLine, number: int) -> dict[str, tuple]:
    frames = slice(None, None, max(1, -(-len(line.time) // FRAMES)))
    every = max(1, -(-line.spectra.frequency.size // BINS))
    kept = line.spectra.frequency.size // every * every
    power = line.spectra.power[frames, :kept].reshape(-1, kept // every, every).max(axis=2)
    shown = 10.0 * np.log10(np.clip(power, 0.1, LOUDEST))
    at, bins = f"frame_{number}", f"bin_{number}"
    second = {} if line.second is None else {
        f"second_{number}": (("level", at), line.second.frequency[:, frames].astype(np.float32),
                             {"units": "Hz"}),
        f"second_present_{number}": (at, line.second.present[frames].astype(np.float32)),
    }  # fmt: skip
    return second | {
        f"time_{number}": (at, line.time[frames], {"long_name": "s after the epoch"}),
        f"frequency_{number}": (bins, line.spectra.frequency[:kept:every], {"units": "Hz"}),
        f"power_{number}": ((at, bins), np.rint(shown).astype(np.int8), {"units": "dB"}),
        f"line_{number}": (("level", at), line.ridge.frequency[:, frames].astype(np.float32),
                           {"units": "Hz"}),
        f"present_{number}": (at, line.ridge.present[frames].astype(np.float32)),
    }  # fmt: skip


def _run(work: Work[Settings]) -> Made:
    work.tell("Listening to the recordings", 0.0)
    found = work.known.heard
    if found is None:
        raise ValueError("a case without recordings is not heard")
    work.save_dataset(HEARD_FILE, heard_dataset(found))
    return Made(
        heard=heard_findings(found, work.motion),
        warnings=tuple(Warned(**error.as_dict()) for _, error in found.refused),
    )


STAGE = Stage(
    name="heard",
    title="What was heard",
    needs=("motion",),
    run=_run,
    settings=Settings(),
    cannot=without_recordings,
    ignores=(BESIDE - {"recordings", "recording"})
    | frozenset({"response", "terrain", "facts", "prior", "something_failed", "evidence"}),
    seconds=3.0,
)
