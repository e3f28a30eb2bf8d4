"""`python -m neutralpoint.app.flight_worker CASE`: flies causes for a page, compiled once.

A request is one line of JSON on standard input. An answer is its length as uint32, little-endian,
then `replies.packed` numbers. The process ends when its input ends or nobody asks for a while.
"""

from __future__ import annotations

import dataclasses
import json
import os
import select
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, BinaryIO

import jax
import numpy as np
from numpy.typing import NDArray

from neutralpoint.app.causes import default_start
from neutralpoint.app.replies import packed
from neutralpoint.case import load_case
from neutralpoint.dynamics.state import attitude
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import Setting, find_cause, why_not
from neutralpoint.explanations.any_cause import ANY_CAUSE, as_any
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.flight import CauseFlight
from neutralpoint.findings import CIRCULAR
from neutralpoint.quantities import DEGREE, POUND_FORCE
from neutralpoint.report.display import SHOWN
from neutralpoint.response import answer, answers_to, lessons_for
from neutralpoint.study.fly import FLY, setting_from_motion, start_time

Array = NDArray[np.float64]

IDLE = 1200.0  # s without a request after which the process ends
# Durations that are flown, s: a program is compiled for each. Analyst's.
DURATIONS = (60.0, 180.0, 600.0)
COMPARED = 20.0  # s from the start over which a flight is held against the motion; analyst's
NORMAL_90 = 3.2897  # width of the central 90 % of a normal distribution in standard deviations
# What a flight is compared in, named as the panels are.
CHANNELS = (
    "pressure_altitude",
    "true_airspeed",
    "vertical_speed",
    "pitch_angle",
    "bank_angle",
    "normal_load_factor",
)


class Rig:
    """The start of a case, and the motion that flights are held against."""

    def __init__(self, folder: Path) -> None:
        case = load_case(folder)
        self.seed = case.document.seed
        self.begin = start_time(case)
        self.setting, saved = setting_from_motion(case, self.begin)
        self.start = default_start(case)
        self.axis = saved["time"].values.astype(float)
        inside = (self.axis >= self.begin) & (self.axis <= self.begin + COMPARED)
        self.times = self.axis[inside]
        self.seen = {name: _seen(saved, name, inside) for name in CHANNELS}

    def fly(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Fly a cause and hold it against the motion.

        Args:
            asked: `cause`, `values` by parameter, `duration`, and perhaps `procedure` and
                `reaction`.

        Returns:
            Curves in the figure's units on its time axis, misfits, and how long it took.

        Raises:
            NeutralPointError: `argument-invalid` for what cannot be flown.
        """
        cause = find_cause(asked["cause"])
        if reason := why_not(cause, self.setting.airplane):
            raise _refused(reason, "cause")
        cause.check_names(asked["values"])
        values = cause.middle() | asked["values"]
        if "start" in values and "start" not in asked["values"]:
            values["start"] = self.start
        begun = time.perf_counter()
        flight = self._flown(cause, values, asked)
        took = time.perf_counter() - begun
        kept = flight.time <= asked["duration"] + 1e-9
        curves = _curves(flight)
        return {
            "ticket": asked.get("ticket"),
            "cause": cause.name,
            "seconds": took,
            "values": values,
            "time": flight.time[kept] + self.begin - self.axis[0],
            "curves": {name: curve[kept] / _factor(name) for name, curve in curves.items()},
            "misfit": self._misfit(flight.time + self.begin, curves),
        }

    def _flown(self, cause: Cause, values: dict[str, float], asked: dict[str, Any]) -> CauseFlight:
        duration = next((d for d in DURATIONS if d >= asked["duration"]), DURATIONS[-1])
        setting = self._answered(cause, asked)
        if cause.turbulent:
            flight = FLY(setting, cause, values, duration=duration, key=jax.random.key(self.seed))
        else:
            flight = FLY(setting, ANY_CAUSE, as_any(cause, values), duration=duration)
        return jax.tree.map(np.asarray, flight)

    def _answered(self, cause: Cause, asked: dict[str, Any]) -> Setting:
        """The setting with what is done about it; all have the same form, so one program serves."""
        airplane, pilot = self.setting.airplane, self.setting.pilot
        procedures = answers_to(cause, airplane)
        known = {name: answer(airplane, steps) for name, steps in procedures.items()}
        if procedures:
            known |= lessons_for(cause, airplane, procedures)
        wanted = asked.get("procedure") or next(iter(known), "")
        if wanted and wanted not in known:
            raise _refused(f"There is no procedure {wanted[:60]!r} for this cause.", "procedure")
        chosen = known[wanted] if wanted else answer(airplane, ())
        reaction = asked.get("reaction")
        drive = dataclasses.replace(
            airplane.trim_drive, manual_rate=float(chosen.manual_rate), stops=()
        )
        return dataclasses.replace(
            self.setting,
            airplane=dataclasses.replace(airplane, trim_drive=drive),
            timetable=jax.tree.map(lambda leaf: np.asarray(leaf, float), chosen.timetable),
            cue_delay=float(chosen.cue_delay),
            pilot=dataclasses.replace(
                pilot, reaction=float(pilot.reaction if reaction is None else reaction)
            ),
        )

    def _misfit(self, at: Array, curves: dict[str, Array]) -> dict[str, Any]:
        """Root mean square of the distance in standard deviations of the motion."""
        found = {}
        for name, (median, sigma) in self.seen.items():
            away = np.interp(self.times, at, curves[name]) - median
            if name in CIRCULAR:
                away = np.angle(np.exp(1j * away))
            known = np.isfinite(median)
            if known.any():
                found[name] = float(np.sqrt(np.mean((away[known] / sigma[known]) ** 2)))
        whole = float(np.sqrt(np.mean(np.square(list(found.values()))))) if found else None
        return {"overall": whole, "seconds": COMPARED, "channels": found}


def _seen(saved: Any, name: str, inside: NDArray[np.bool_]) -> tuple[Array, Array]:
    """Median and standard deviation of the motion; NaN where it bears no value."""
    samples = saved[name].values[:, inside].astype(float)
    if name in CIRCULAR:
        samples = np.unwrap(samples, axis=0)
    low, median, high = np.quantile(samples, (0.05, 0.5, 0.95), axis=0)
    flag = f"observable_{name}"
    if flag in saved:
        median = np.where(saved[flag].values[inside].astype(bool), median, np.nan)
    return median, np.maximum((high - low) / NORMAL_90, 1e-6)


def _curves(flight: CauseFlight) -> dict[str, Array]:
    bank, pitch, _ = attitude(flight.state)
    return {
        "pressure_altitude": flight.readings.height,
        "true_airspeed": flight.readings.true_airspeed,
        "vertical_speed": -flight.state.velocity_down,
        "pitch_angle": np.asarray(pitch),
        "bank_angle": np.asarray(bank),
        "normal_load_factor": flight.readings.normal_load_factor,
        "column_force": flight.applied_force,
        "trim": flight.trim,
        "strength_left": flight.strength_left,
    }


def _factor(name: str) -> float:
    """SI value of one unit of the figure."""
    own = {"column_force": POUND_FORCE, "trim": DEGREE, "strength_left": 1.0}
    return own[name] if name in own else SHOWN[name].factor


def _refused(message: str, where: str) -> NeutralPointError:
    return NeutralPointError(
        "argument-invalid", message, where=where, hint="Choose another cause or value."
    )


def answered(asked: dict[str, Any], rig: Callable[[], Rig]) -> dict[str, Any]:
    """The answer to one request; a failure is one too.

    Args:
        asked: The request.
        rig: Gives the rig, made on the first call.

    Returns:
        What `Rig.fly` returns, or `error`.
    """
    try:
        return rig().fly(asked)
    except NeutralPointError as error:
        return {"error": error.as_dict()}
    except Exception as fault:
        return {
            "error": {
                "code": "program-fault",
                "message": f"{type(fault).__name__}: {str(fault)[:300]}",
                "where": "flight",
                "hint": "This is a fault of the program, not of the case.",
            }
        }


def _requests(source: BinaryIO):
    """Requests until the input ends or falls silent."""
    while select.select([source], [], [], IDLE)[0]:
        line = source.readline()
        if not line:
            return
        yield json.loads(line)


def main(folder: Path) -> None:
    """Answer requests until they end."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever is printed by accident goes to the error stream
    rigs: list[Rig] = []

    def rig() -> Rig:
        if not rigs:
            rigs.append(Rig(folder))
        return rigs[0]

    for asked in _requests(os.fdopen(0, "rb", buffering=0)):
        data = packed(answered(asked, rig))
        out.write(len(data).to_bytes(4, "little") + data)
        out.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
