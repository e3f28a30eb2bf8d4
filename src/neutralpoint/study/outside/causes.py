"""Causes of other packages: asked for what they can make, and judged by the required moment."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import xarray as xr

from neutralpoint.findings import (
    ClosestMiss,
    HandsRow,
    OutsideCause,
    OutsideEstimate,
)
from neutralpoint.moments.judgement import Ability, Judgement, Word
from neutralpoint.moments.outside import OutsideJudged, judge_outside
from neutralpoint.moments.question import Question
from neutralpoint.moments.shapes import Histories
from neutralpoint.numerics.arrays import Array
from neutralpoint.plugins import CAUSES, called, faulty, load_plugin
from neutralpoint.study.moments.work_out import Moments
from neutralpoint.study.outside.origin import dataset_of, origin_of, text_of
from neutralpoint.vocabulary import QUANTITIES

WHERE = "case.toml: outside.causes"
MOST = 20_000  # histories of a cause: each is compared at every time
SHOWN = ("true_airspeed", "dynamic_pressure", "mach", "normal_load_factor")
BAND = 1.645  # standard deviations of a 90% band of a normal law


def judge_named(
    name: str, moments: Moments, epoch: datetime, rng: np.random.Generator
) -> tuple[OutsideCause, xr.Dataset]:
    """Ask a cause of another package, and judge it.

    Args:
        name: Of the plug-in.
        moments: Of the case.
        epoch: That its times count from.
        rng: Source of random numbers.

    Returns:
        What is said of it, and what was compared.

    Raises:
        NeutralPointError: `plugin-missing`; `plugin-fault`; of the plug-in.
    """
    work = load_plugin(CAUSES, name, WHERE)
    told: list[xr.Dataset] = []

    def make(time: Array) -> Histories:
        shown = flight_at(time, moments, epoch)
        told.append(dataset_of(called(lambda: work(shown), name, WHERE), name, WHERE))
        return _histories(told[-1], time.size, name)

    question = Question(moments.airplane.airplane, moments.judged, rng)
    judged = judge_outside(question, make)
    return _said(judged, told[-1], name), _compared(judged)


def flight_at(time: Array, moments: Moments, epoch: datetime) -> xr.Dataset:
    """The flight as a cause of another package sees it: medians over the sample paths.

    Args:
        time: Asked for, s after the epoch, shape (n,).
        moments: Of the case.
        epoch: That times count from.

    Returns:
        Variables over time, SI.
    """
    flight = moments.flight
    middle = {name: np.median(getattr(flight, name), axis=0) for name in SHOWN}
    return xr.Dataset(
        {
            name: (
                "time",
                np.interp(time, flight.time, values),
                {"units": QUANTITIES[name].udunits},
            )
            for name, values in middle.items()
        },
        {"time": ("time", np.array(time), {"units": "s"})},
        {"epoch": epoch.isoformat(), "airplane": moments.airplane.document.name},
    )


def _histories(found: xr.Dataset, times: int, name: str) -> Histories:
    """The histories of a plug-in, where it keeps to the protocol."""
    if "moment_coefficient" not in found or "start" not in found:
        raise faulty(name, "it gives no `moment_coefficient` or no `start`", WHERE)
    made = found["moment_coefficient"]
    if made.dims != ("history", "time") or not 0 < made.shape[0] <= MOST or made.shape[1] != times:
        raise faulty(
            name,
            f"`moment_coefficient` has shape {made.shape} over {made.dims}, not up to {MOST:,} "
            f"histories by {times} times",
            WHERE,
        )
    others = [
        str(key)
        for key, each in found.data_vars.items()
        if each.dims == ("history",) and key != "start"
    ]
    names = ("start", *others)
    parameters = np.stack([np.asarray(found[key], float) for key in names], axis=-1)
    values = np.asarray(made, float)
    if not (np.isfinite(values).all() and np.isfinite(parameters).all()):
        raise faulty(name, "it gives numbers that are not finite", WHERE)
    return Histories(values, names, parameters)


def _said(judged: OutsideJudged, found: xr.Dataset, name: str) -> OutsideCause:
    said, miss = judged.judgement, judged.judgement.miss
    return OutsideCause(
        origin=origin_of(found, CAUSES, name, WHERE),
        mechanism=text_of(found, "mechanism", name, WHERE, needed=True),
        settles=text_of(found, "settles", name, WHERE, needed=False),
        histories=len(judged.made),
        word=said.word.value,
        reason="too-few-times" if said.word is Word.NOT_JUDGED else None,
        probability=_number(said.probability),
        judged_from=said.judged[0],
        judged_to=said.judged[1],
        granted_force=None if said.condition is None else _number(said.condition.value),
        hands=[_hands(row) for row in said.abilities],
        estimates=_estimates(said, found),
        miss=None
        if miss is None
        else ClosestMiss(time=miss.time, deviations=miss.deviations, moment=_number(miss.moment)),
    )


def _estimates(said: Judgement, found: xr.Dataset) -> list[OutsideEstimate]:
    return [
        OutsideEstimate(
            name=key,
            unit=str(found[key].attrs["units"]),
            low90=band.low,
            best=band.median,
            high90=band.high,
        )
        for key, band in said.estimates
    ]


def _hands(row: Ability) -> HandsRow:
    end = "none" if np.isnan(row.price) else "beyond-measured" if np.isinf(row.price) else "known"
    return HandsRow(
        hands=row.hands.value, probability=row.probability, price=_number(row.price), end=end
    )


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _compared(judged: OutsideJudged) -> xr.Dataset:
    """What was needed, with its 90% band, beside the least and most that can be made."""
    needed = judged.needed
    wide = BAND * np.sqrt(np.diag(needed.total))
    rows = {
        "needed": (needed.mean, "Moment coefficient that something beside the hands supplied"),
        "needed_low90": (needed.mean - wide, "Lower end of its 90% band"),
        "needed_high90": (needed.mean + wide, "Upper end of its 90% band"),
        "made_least": (judged.made.min(axis=0), "Least that the cause says it can make"),
        "made_most": (judged.made.max(axis=0), "Most that the cause says it can make"),
    }
    return xr.Dataset(
        {key: ("time", values, {"units": "1", "long_name": long})
         for key, (values, long) in rows.items()},
        {"time": ("time", needed.time, {"units": "s", "long_name": "s after the epoch"})},
    )  # fmt: skip
