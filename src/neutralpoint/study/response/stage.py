"""The stage `response`, saved and put into words."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict

import numpy as np
import xarray as xr

from neutralpoint.case import Case
from neutralpoint.case.ground import ground_along
from neutralpoint.findings import ResponseStart
from neutralpoint.study.flying.fly import setting_from_motion, start_time
from neutralpoint.study.moments.stage import without_airplane
from neutralpoint.study.record import BESIDE, Made, Record
from neutralpoint.study.response.direction import seen_sides
from neutralpoint.study.response.file import RESPONSE_FILE, response_tree
from neutralpoint.study.response.findings import response_findings
from neutralpoint.study.response.places import FlightStart
from neutralpoint.study.response.work_out import work_out_responses
from neutralpoint.study.settings import ResponseSettings
from neutralpoint.study.stages import Stage, Work
from neutralpoint.vocabulary import CauseName


def _begin(work: Work[ResponseSettings]) -> float:
    """When flights begin: as told, as the case says, or at the end of the last trimmed flight."""
    analysis, told = work.case.analysis, work.settings.begin
    if told is not None:
        return told
    if analysis.reference is not None or analysis.onset is not None:
        return start_time(work.case)
    required = work.moments.required
    return float(required.time[np.flatnonzero(required.trimmed)[-1]])


def _starts(work: Work[ResponseSettings]) -> list[ResponseStart]:
    """The references that flights could start from; none where the start was told."""
    analysis, motion = work.case.analysis, work.motion
    told = (work.settings.begin, analysis.reference, analysis.onset)
    if any(one is not None for one in told):
        return []

    def at(name: str, end: float) -> float:
        near = int(np.argmin(np.abs(motion.time - end)))
        return float(np.median(motion.paths[name][:, near]))

    return [
        ResponseStart(
            end=reading.reference.end,
            weight=min(reading.reference.weight, 1.0),
            speed=at("true_airspeed", reading.reference.end),
            altitude=at("altitude", reading.reference.end),
        )
        for reading in work.moments.readings
    ]


def _places(work: Work[ResponseSettings], starts: list[ResponseStart]) -> list[FlightStart]:
    """Trimmed flight at the end of each reference."""
    return [
        FlightStart(setting_from_motion(work.case, start.end)[0], start.end, start.weight)
        for start in starts
    ]


def _above_ground(case: Case, saved: xr.Dataset, begin: float) -> float | None:
    """Height of the track above the case's terrain, m; None where either is not known."""
    at = int(np.argmin(np.abs(saved["time"].values - begin)))
    place = [np.median(saved[n].values[:, at : at + 1], axis=0) for n in ("latitude", "longitude")]
    geoid = case.document.geoid_height
    ground = ground_along(case.folder, case.document.terrain, geoid, *place)
    above = float(np.median(saved["altitude"].values[:, at]) - ground[0])
    return above if np.isfinite(above) else None


def _ruled_out(held: Mapping[str, Record]) -> frozenset[CauseName]:
    """Causes that the track rules out; none where it has not been weighed, or rules out all.

    These hang on motion, moments and networks alone, not on what the odds say beside the track, so
    that other evidence or another prior does not fly everything again.
    """
    record = held.get("weighing")
    if record is None or record.made.weighing is None:
        return frozenset()
    odds = record.made.weighing
    told = {row.cause: row.p_value for row in odds.rows if row.p_value is not None}
    out = frozenset(cause for cause, p_value in told.items() if p_value < odds.p_limit)
    return out if len(out) < len(told) else frozenset()


def _taken(held: Mapping[str, Record]) -> str:
    """What is taken of a weighing: no more than hangs on the track alone."""
    if "weighing" not in held:
        return ""
    sides = {cause: asdict(seen) for cause, seen in seen_sides(held).items()}
    return json.dumps([sorted(_ruled_out(held)), sides], sort_keys=True)


def _run(work: Work[ResponseSettings]) -> Made:
    begin = _begin(work)
    setting, saved = setting_from_motion(work.case, begin)
    starts = _starts(work)
    found = work_out_responses(
        work.case,
        _places(work, starts) if len(starts) > 1 else [FlightStart(setting, begin)],
        work.moments.verdicts,
        ruled_out=_ruled_out(work.held),
        sides=seen_sides(work.held),
        causes=work.settings.causes,
        height=work.settings.height,
        measured=_above_ground(work.case, saved, begin),
        full=work.settings.full,
        tell=work.tell,
    )
    work.save_tree(RESPONSE_FILE, response_tree(found))
    return Made(response=response_findings(found, starts))


STAGE = Stage(
    name="response",
    title="Time to act",
    needs=("motion", "moments"),
    run=_run,
    settings=ResponseSettings(),
    cannot=without_airplane,
    ignores=BESIDE | frozenset({"prior", "something_failed", "evidence"}),
    seconds=30.0,
    taken=_taken,
)
