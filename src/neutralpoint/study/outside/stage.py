"""The stage `outside`: causes judged and examinations asked, saved, and handed on."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.case import Case
from neutralpoint.findings import OutsideFindings
from neutralpoint.plugins import CAUSES, EXAMINATIONS, package_of
from neutralpoint.study.outside.causes import judge_named
from neutralpoint.study.outside.examinations import examine_named, group_of
from neutralpoint.study.record import BESIDE, Made
from neutralpoint.study.settings import Settings
from neutralpoint.study.stages import Stage, Work
from neutralpoint.vocabulary.cautions import IN_BRIEF

OUTSIDE_FILE = "outside.nc"


def without_plugins(case: Case) -> str:
    """Why a case has nothing of other packages; empty where it has."""
    asked = case.document.outside
    if asked is None or not (asked.causes or asked.examinations):
        return "The case names no cause and no examination of another package."
    if asked.causes and case.airplane is None:
        return "The case names no airplane, so no cause can be judged."
    return ""


def versions(case: Case, settings: Mapping[str, Any]) -> str:
    """Digest of the packages asked: a new version is asked again.

    Args:
        case: The case.
        settings: Of the stage; it has none.

    Returns:
        SHA-256, hexadecimal.
    """
    asked = case.document.outside
    if asked is None:
        return ""
    named = [(CAUSES, name) for name in asked.causes]
    named += [(EXAMINATIONS, name) for name in asked.examinations]
    known = [[group, name, *package_of(group, name)] for group, name in named]
    return hashlib.sha256(json.dumps(known).encode()).hexdigest()


def _run(work: Work[Settings]) -> Made:
    asked = work.case.document.outside
    if asked is None:
        raise ValueError("a case that names no plug-in asks none")
    saved: dict[str, xr.Dataset] = {}
    causes, examined = [], []
    for number, name in enumerate(asked.causes):
        work.tell(f"Judging {name!r} of another package", 0.0)
        rng = np.random.default_rng([work.case.document.seed, 31, number])
        said, saved[f"cause_{group_of(name)}"] = judge_named(
            name, work.moments, work.case.track.epoch, rng
        )
        causes.append(said)
    for name in asked.examinations:
        work.tell(f"Asking {name!r} of another package", 0.5)
        said, saved[group_of(name)] = examine_named(name, work.results)
        examined.append(said)
    work.save_tree(OUTSIDE_FILE, _tree(saved))
    return Made(outside=OutsideFindings(file=OUTSIDE_FILE, causes=causes, examinations=examined))


def _tree(saved: dict[str, xr.Dataset]) -> xr.DataTree:
    about = {
        "Conventions": "CF-1.11",
        "title": "What causes and examinations of other packages came to",
        "source": f"Neutral Point {neutralpoint.__version__}",
        "comment": f"Numbers of examinations are theirs, not checked here. {IN_BRIEF}",
    }
    return xr.DataTree.from_dict({"/": xr.Dataset(attrs=about)} | saved)


STAGE = Stage(
    name="outside",
    title="Causes and examinations of other packages",
    needs=("motion",),
    run=_run,
    settings=Settings(),
    cannot=without_plugins,
    ignores=BESIDE - {"outside"},
    seconds=4.0,
    uses=(
        *("moments", "limits", "history", "wreckage", "heard", "felt"),
        *("weighing", "response"),
    ),
    beside=versions,
)
