"""`response.nc`: time and strength as it is kept, one group for each cause."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import xarray as xr
from pydantic import BaseModel

import neutralpoint
from neutralpoint.explanations import Setting
from neutralpoint.files import check_netcdf
from neutralpoint.findings import LatestAction
from neutralpoint.numerics.arrays import Flags, Floats
from neutralpoint.quantities import SEA_LEVEL_DENSITY
from neutralpoint.response import (
    LESSONS,
    REGULATORY_DELAYS,
    Outcome,
    saved,
    saved_over_height,
    share_interval,
)
from neutralpoint.study.response.answered import Answered
from neutralpoint.study.response.direction import FaultWay
from neutralpoint.study.response.work_out import DELAY, LONGEST, RATE, RATE_DELAY, Responses
from neutralpoint.vocabulary.cautions import IN_BRIEF

RESPONSE_FILE = "response.nc"
QUANTILES = (0.05, 0.5, 0.95)
COMMENT = (
    "Shares are of pilots drawn from the stated population, each with a fault drawn from the prior "
    "and turned to the side that `direction` of its cause says; they describe no actual "
    "person. Lessons are for design "
    "and training, never blame. Delays of the rules are settings of a test, never what a pilot "
    "did. " + IN_BRIEF
)


_SETTLED = (
    "for 4 s with wings near level and the trim at rest, once the fault has done what it does by "
    "itself and the procedure is done, above the ground."
)
_DOWN = f"Level, climbing, or back in the descent it was in, {_SETTLED}"
RECOVERED = {
    "nose-down": _DOWN,
    "none": _DOWN,
    "nose-up": "Level, or back in the climb or descent it was in, and not stalled, " + _SETTLED,
}


def equivalent_speed(pressure: Floats) -> Floats:
    """Equivalent airspeed of a dynamic pressure.

    Source: definition, q = rho_0 EAS^2 / 2.

    Args:
        pressure: Pa.

    Returns:
        m/s.
    """
    return np.sqrt(2.0 * np.maximum(pressure, 0.0) / SEA_LEVEL_DENSITY)


def within_limits(
    outcome: Outcome[Floats], setting: Setting, height: float, *, flown: FaultWay
) -> Flags:
    """Saved without passing the limits of load factor and speed; nose up, without a stall too.

    The limit is calibrated airspeed, the flight's is equivalent: alike at low Mach numbers.

    Args:
        outcome: Of the flights.
        setting: Its airplane has the limits.
        height: Above the ground at the start, m.
        flown: Which way the faults were flown.

    Returns:
        True where it is.
    """
    limits = setting.airplane.limits
    held = (outcome.load_factor_high <= float(limits.load_factor_max)) & (
        outcome.load_factor_low >= float(limits.load_factor_min)
    )
    slow = equivalent_speed(outcome.pressure_high) <= float(limits.never_exceed_speed)
    not_stalled = ~stalled(outcome) if flown.direction == "nose-up" else True
    return np.asarray(saved(outcome, height)) & held & slow & not_stalled


def stalled(outcome: Outcome[Floats]) -> Flags:
    """Flights on which the wing passed its angle of attack of the stall on the way.

    Args:
        outcome: Of the flights.

    Returns:
        True where it did.
    """
    return np.asarray(outcome.spare_low) < 0.0


def over_pilots(values: Floats, kept: Flags) -> Floats:
    """Quantiles over the pilots that are kept; NaN where fewer than three are.

    Args:
        values: (p, n).
        kept: (p, n).

    Returns:
        (p, 3).
    """
    rows = [
        np.quantile(row[keep], QUANTILES) if keep.sum() >= 3 else np.full(3, np.nan)
        for row, keep in zip(values, kept, strict=True)
    ]
    return np.array(rows)


def latest_quantiles(latest: Floats) -> Floats:
    """Quantiles of the latest safe action with its open ends kept.

    Args:
        latest: (p, n) s; -1 never, infinite always, NaN where nothing is begun.

    Returns:
        (p, 3) s; a quantile that falls among the open ends is -1 or infinite.
    """
    return np.quantile(latest, QUANTILES, axis=1, method="inverted_cdf").T


def _about(unit: str, text: str, **more) -> dict:
    return {"units": unit, "long_name": text, **more}


def _shares(name: str, dims: tuple[str, ...], share: Floats, count: int, text: str) -> dict:
    low, high = share_interval(share, count)
    more = {"pilots": count, "interval": "95%, Wilson (1927)"}
    return {
        name: (dims, share, _about("1", text, ancillary_variables=f"{name}_low {name}_high")),
        f"{name}_low": (dims, low, _about("1", f"{text}: lower end", **more)),
        f"{name}_high": (dims, high, _about("1", f"{text}: upper end", **more)),
    }


def _at_recovery(found: Answered, setting: Setting, height: float) -> dict:
    outcome = found.stated
    kept = np.asarray(saved(outcome, height))
    dims = ("procedure", "share_of_pilots")
    values = {
        "height_lost": (outcome.height_lost, "m", "Height lost to the lowest point"),
        "speed_at_lowest": (
            equivalent_speed(outcome.lowest_pressure),
            "m s-1",
            "Equivalent airspeed at the lowest point",
        ),
        "load_factor_at_lowest": (outcome.lowest_load, "1", "Load factor at the lowest point"),
        "load_factor_highest": (outcome.load_factor_high, "1", "Largest load factor"),
        "pull_highest": (outcome.pull, "N", "Largest column force applied"),
        "speed_lowest": (
            equivalent_speed(outcome.pressure_low),
            "m s-1",
            "Smallest equivalent airspeed",
        ),
        "pitch_highest": (outcome.pitch_high, "rad", "Largest pitch angle"),
        "height_gained": (outcome.height_gained, "m", "Height gained to the highest point"),
        "dropped": (outcome.dropped, "m", "Height lost from the highest point"),
    }
    found_values = {
        name: (dims, over_pilots(np.asarray(each), kept), _about(unit, f"{text}, of those saved"))
        for name, (each, unit, text) in values.items()
    }
    within = within_limits(outcome, setting, height, flown=found.flown).mean(axis=-1)
    return (
        found_values
        | _shares(
            "saved_within_limits",
            ("procedure",),
            within,
            kept.shape[-1],
            "Share saved without passing the airplane's limits of load factor and speed, and "
            "after a nose-up fault without a stall",
        )
        | _shares(
            "stalled",
            ("procedure",),
            stalled(outcome).mean(axis=-1),
            kept.shape[-1],
            "Share of all that stalls on the way",
        )
    )


def _force(found: Answered) -> dict:
    if found.force is None:
        return {}
    f, dims = found.force, ("force_time",)
    return {
        "pull_to_hold": (
            dims,
            f.pull,
            _about("N", "Column force to hold level flight, pull +"),
        ),
        "share_one_hand": (dims, f.one_hand, _about("1", "Share of the population, one hand")),
        "share_two_hands": (dims, f.two_hands, _about("1", "Share of the population, two hands")),
    }


def cause_dataset(found: Answered, of: Responses) -> xr.Dataset:
    """The group of one cause.

    Args:
        found: What was found of it.
        of: All of the case.

    Returns:
        Data, coordinates and what they are.
    """
    pilots = found.stated.height_lost.shape[-1]
    data = _shares(
        "saved_over_height",
        ("procedure", "delay", "level"),
        saved_over_height(found.over_height, of.level),
        pilots,
        "Share saved, over reaction delay and height above the ground at the start",
    )
    data |= _shares(
        "saved_stated",
        ("procedure", "level"),
        saved_over_height(found.stated, of.level),
        pilots,
        "Share saved with the stated reaction time, over height above the ground at the start",
    )
    data |= _shares(
        "saved_regulatory",
        ("procedure", "regulatory_delay", "level"),
        saved_over_height(found.regulatory, of.level),
        pilots,
        "Share saved with the delays of rules, which are settings of a test",
    )
    coordinates = {
        "procedure": ("procedure", list(found.procedures), {"long_name": "What is done"}),
        "is_lesson": ("procedure", np.isin(found.procedures, found.lessons).astype(np.int8)),
        "delay": ("delay", DELAY, _about("s", "From recognition to the first action")),
        "level": ("level", of.level, _about("m", "Height above the ground at the start")),
        "regulatory_delay": (
            "regulatory_delay",
            np.array(REGULATORY_DELAYS),
            _about("s", "Delays that rules and test practice use; settings only"),
        ),
        "share_of_pilots": (
            "share_of_pilots",
            np.array(QUANTILES),
            _about("1", "Share of the pilots below"),
        ),
    }
    if found.over_rate is not None:
        share = np.asarray(saved(found.over_rate, of.height)).mean(axis=-1)
        data |= _shares(
            "saved_over_rate",
            ("procedure", "rate_delay", "rate"),
            np.swapaxes(share, 1, 2),
            found.over_rate.height_lost.shape[-1],
            "Share saved, over reaction delay and trim rate, from the stated height",
        )
        about = _about("1", "Trim rate over the motor's rate without load", parameter="rate_share")
        coordinates["rate"] = ("rate", RATE, about)
        about = _about("s", "From recognition to the first action, of the map over rates")
        coordinates["rate_delay"] = ("rate_delay", RATE_DELAY, about)
    latest = latest_quantiles(found.latest)
    data["latest_safe_action"] = (
        ("procedure", "share_of_pilots"),
        latest,
        _about(
            "s",
            "Latest moment after the fault began at which the procedure could still begin",
            comment=f"-1: not recoverable even with immediate action. "
            f"Infinite: {LONGEST:g} s is soon enough. NaN: "
            "nothing is begun.",
        ),
    )
    data |= _at_recovery(found, of.setting, of.height) | _force(found)
    if found.force is not None:
        about = _about("s", "Time since the fault began")
        coordinates["force_time"] = ("force_time", found.force.time, about)
    attributes: dict[str, str | float] = {
        "title": found.cause.title,
        "cause": str(found.cause.name),
        "mechanism": found.cause.mechanism,
        "reference": found.reference,
        "direction": found.flown.direction,
        "direction_from": found.flown.reason,
        "recovered": RECOVERED[found.flown.direction],
    }
    if found.flown.nose_up is not None:
        attributes["nose_up"] = found.flown.nose_up
    return xr.Dataset(data, coordinates, attributes)


def response_tree(of: Responses) -> xr.DataTree:
    """Everything as one file with a group for each cause.

    Args:
        of: What was found.

    Returns:
        The tree.
    """
    prior = of.reaction.prior
    root = xr.Dataset(
        attrs={
            "Conventions": "CF-1.11",
            "title": "Time to act in one flight",
            "source": f"Neutral Point {neutralpoint.__version__}",
            "height_above_ground_m": of.height,
            "height_stated": of.height_source,
            "start_after_epoch_s": of.begin,
            "reaction_median_s": prior.low,
            "reaction_spread": prior.high,
            "reaction_source": of.reaction.source,
            "regulatory_delays_s": REGULATORY_DELAYS,
            "lessons": json.dumps([lesson.name for lesson in LESSONS]),
            "left_out": json.dumps([f"{title}: {reason}" for title, reason in of.left_out]),
            "comment": COMMENT,
        }
    )
    groups = {str(found.cause.name): cause_dataset(found, of) for found in of.answered}
    return xr.DataTree.from_dict({"/": root} | {f"/{name}": g for name, g in groups.items()})


class SummaryRow(BaseModel):
    """What one procedure comes to at the stated reaction: share saved with its 95% ends."""

    cause: str
    procedure: str
    saved: float
    low: float
    high: float
    latest: LatestAction


class ResponseSummary(BaseModel):
    """The heart of a saved file; heights in m, times in s."""

    height_above_ground: float
    reaction_median: float
    reaction_source: str
    longest: float
    rows: list[SummaryRow]
    left_out: list[str]
    comment: str


def read_summary(path: Path) -> ResponseSummary:
    """The heart of a saved file: what each procedure comes to at the stated reaction.

    Args:
        path: Of `response.nc`.

    Returns:
        It, for half of the pilots where it is a time.
    """
    with xr.open_datatree(check_netcdf(path), engine="h5netcdf", decode_times=False) as tree:
        rows = [row for group in tree.children.values() for row in _rows(group.to_dataset())]
        about = dict(tree.attrs)
    return ResponseSummary(
        height_above_ground=float(about["height_above_ground_m"]),
        reaction_median=float(about["reaction_median_s"]),
        reaction_source=str(about["reaction_source"]),
        longest=LONGEST,
        rows=rows,
        left_out=json.loads(str(about["left_out"])),
        comment=str(about["comment"]),
    )


def _rows(group: xr.Dataset) -> list[SummaryRow]:
    at = group.isel(level=-1)
    middle = group["latest_safe_action"].sel(share_of_pilots=0.5).values
    return [
        SummaryRow(
            cause=str(group.attrs["cause"]),
            procedure=str(name),
            saved=float(at["saved_stated"][number]),
            low=float(at["saved_stated_low"][number]),
            high=float(at["saved_stated_high"][number]),
            latest=LatestAction.of(float(middle[number])),
        )
        for number, name in enumerate(group["procedure"].values)
    ]
