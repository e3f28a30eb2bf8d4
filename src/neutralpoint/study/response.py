"""The stage `response`: how long something could still be done, and by how many."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.case import load_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import POPULATION, find_cause, fly, procedures_of, share_able
from neutralpoint.explanations.cause import why_not
from neutralpoint.response import (
    LESSONS,
    REACTION_SOURCE,
    REGULATORY_DELAYS,
    draw_pilots,
    latest_safe_action,
    lessons_for,
    outcome_map,
    pull_to_hold,
    saved_over_height,
    without_hands,
)
from neutralpoint.study.fly import setting_from_motion, start_time
from neutralpoint.study.motion_file import write_dataset

Progress = Callable[[str], None]

RESPONSE_FILE = "response.nc"
PILOTS, SIDE = 16, 12  # pilots a cell, cells a side
DURATION, FORCE_TIME = 60.0, 20.0  # s: longest flight; what the force is shown for
START = 1.0  # s of trimmed flight before the fault


def _force(setting, cause, parameters) -> dict:
    """Force against time with nobody at the column, and who could hold it."""
    alone = without_hands(setting)
    flight = jax.jit(lambda s, p: fly(s, cause, p, duration=FORCE_TIME))(alone, parameters)
    pull = np.asarray(pull_to_hold(alone, flight))
    time = np.asarray(flight.time) - parameters["start"]

    def about(unit, text):
        return {"units": unit, "long_name": text}

    return {
        "since_fault": ("force_time", time, about("s", "Time since the fault began")),
        "pull_to_hold": ("force_time", pull, about("N", "Pull that holding on would take")),
        "share_one_hand": (
            "force_time",
            np.asarray(share_able(POPULATION, jnp.asarray(pull), 1)),
            about("1", "Share of the stated population who could, one hand"),
        ),
        "share_two_hands": (
            "force_time",
            np.asarray(share_able(POPULATION, jnp.asarray(pull), 2)),
            about("1", "Share of the stated population who could, two hands"),
        ),
    }


def run_response(
    folder: Path,
    progress: Progress,
    *,
    name: str,
    height: float,
    begin: float | None = None,
    side: int = SIDE,
) -> Path:
    """Work out time and strength for a cause of a case and save `results/response.nc`.

    Args:
        folder: The case folder, with `results/motion.nc`.
        progress: Told in words what is being done.
        name: Of a runaway.
        height: Above the ground at the start, m.
        begin: s after the track's epoch; None = as the case says.
        side: Cells a side of the maps.

    Returns:
        Path of the file.

    Raises:
        NeutralPointError: Of the case and its results; `argument-invalid` for a cause that is no
            runaway or cannot act on the airplane.
    """
    cause = find_cause(name)
    progress("Reading the case")
    case = load_case(folder)
    begin = start_time(case) if begin is None else begin
    setting, _ = setting_from_motion(case, begin)
    reason = why_not(cause, setting.airplane)
    if not reason and "rate_share" not in cause.middle():
        reason = f"{cause.title} has no trim rate that a map could span."
    if reason:
        raise NeutralPointError(
            "argument-invalid", reason, where="--cause", hint="Name a runaway of the trim."
        )
    parameters = cause.middle() | {"start": START}
    if "run" in parameters:
        parameters["run"] = DURATION
    pilots = draw_pilots(setting, jax.random.key(case.document.seed), PILOTS)
    delay, rate = jnp.linspace(0.0, 10.0, side), jnp.linspace(0.2, 1.4, side)
    levels = jnp.linspace(0.05, 1.0, side) * height
    data = _force(setting, cause, parameters)
    shares, heights, latest = [], [], []
    settings = {
        n: replace(setting, procedure=p) for n, p in procedures_of(setting.airplane).items()
    }
    first = next(n for n in settings if n != "only pull")
    settings |= {f"lesson: {n}": s for n, s in lessons_for(settings[first]).items()}
    for label, changed in settings.items():
        progress(f"Flying {cause.title}: {label}")
        run = {"duration": DURATION, "kind": "float32"}
        outcome = outcome_map(
            changed,
            cause,
            parameters,
            delay=delay,
            rate=rate,
            pilots=pilots,
            deepest=height,
            **run,
        )
        above = saved_over_height(outcome, levels)
        shares.append(np.asarray(above[..., -1]))
        middle = int(np.argmin(np.abs(np.asarray(rate) - 1.0)))
        heights.append(np.asarray(above[:, middle]))
        safe = latest_safe_action(changed, cause, parameters, pilots, height=height, **run)
        latest.append(np.quantile(np.asarray(safe), [0.05, 0.5, 0.95]))
    data |= {
        "saved_over_rate": (("procedure", "delay", "rate"), np.array(shares)),
        "saved_over_height": (("procedure", "delay", "level"), np.array(heights)),
        "latest_safe_action": (("procedure", "share_of_pilots"), np.array(latest)),
    }
    attributes = {
        "title": f"{case.document.title}: time and strength, {cause.title}",
        "source": f"Neutral Point {neutralpoint.__version__}",
        "response_time": REACTION_SOURCE,
        "regulatory_delays_s": REGULATORY_DELAYS,
        "lessons": "; ".join(f"{lesson.name}: {lesson.sentence}" for lesson in LESSONS),
        "comment": "Shares are over the stated population of pilots, not about anybody. Lessons "
        "are for design and training. Regulatory delays are settings, never what a pilot did. Not "
        "for flight; the official investigation decides.",
    }
    coordinates = {
        "procedure": list(settings),
        "delay": np.asarray(delay),
        "rate": np.asarray(rate),
        "level": np.asarray(levels),
        "share_of_pilots": [0.05, 0.5, 0.95],
    }
    return write_dataset(
        folder / "results", RESPONSE_FILE, xr.Dataset(data, coordinates, attributes)
    )
