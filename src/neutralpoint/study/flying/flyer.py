"""Causes flown again and again from one start, by programs that are compiled once."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

import jax
import numpy as np
import xarray as xr

from neutralpoint.case import Case
from neutralpoint.dynamics.state import attitude
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import Cause, Setting, find_cause, why_not
from neutralpoint.explanations.any_cause import ANY_CAUSE, as_any
from neutralpoint.explanations.flight import CauseFlight
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.response import Answer, answer, answers_to, lessons_for
from neutralpoint.study.flying.fly import FLY, setting_from_motion, start_time
from neutralpoint.vocabulary import CIRCULAR

# Durations that are flown, s: a program is compiled for each. Analyst's choice.
DURATIONS = (60.0, 180.0, 600.0)
COMPARED = 20.0  # s from the start over which a flight is held against the motion; analyst's
NORMAL_90 = 3.2897  # width of the central 90% of a normal distribution in standard deviations
# What a flight is compared in, named as the variables of the motion.
CHANNELS = (
    "pressure_altitude",
    "true_airspeed",
    "vertical_speed",
    "pitch_angle",
    "bank_angle",
    "normal_load_factor",
)


@dataclass(frozen=True)
class Misfit:
    """Distance from the motion, root mean square in standard deviations of the motion.

    Attributes:
        overall: Over the channels; None where the data bear none.
        channels: By name, those that the data bear.
    """

    overall: float | None
    channels: dict[str, float]


@dataclass(frozen=True)
class FlownCause:
    """One flight of a cause.

    Attributes:
        cause: Name.
        values: All its parameters, SI.
        time: s after the track's epoch, shape (n,).
        curves: SI by name, shape (n,): the channels, `column_force`, `trim`, `strength_left`.
        misfit: Held against the motion over the first seconds, `COMPARED` unless said.
        seconds: That the simulation took.
    """

    cause: str
    values: dict[str, float]
    time: Array
    curves: dict[str, Array]
    misfit: Misfit
    seconds: float


class MotionSeen:
    """The motion that flights are held against.

    Args:
        saved: Of `motion.nc`.
        begin: s after the epoch.
        span: s over which flights are held against it.
    """

    def __init__(self, saved: xr.Dataset, begin: float, span: float = COMPARED) -> None:
        axis = saved["time"].values.astype(float)
        inside = (axis >= begin) & (axis <= begin + span)
        self.time = axis[inside]
        self.channels = {name: _band(saved, name, inside) for name in CHANNELS}

    def misfit(self, at: Array, curves: dict[str, Array]) -> Misfit:
        """How far curves are from it.

        Args:
            at: s after the epoch, shape (n,).
            curves: By channel, SI, shape (n,).

        Returns:
            The misfit.
        """
        found = {}
        for name, (median, sigma) in self.channels.items():
            away = np.interp(self.time, at, curves[name]) - median
            if name in CIRCULAR:
                away = np.angle(np.exp(1j * away))
            known = np.isfinite(median)
            if known.any():
                found[name] = float(np.sqrt(np.mean((away[known] / sigma[known]) ** 2)))
        whole = float(np.sqrt(np.mean(np.square(list(found.values()))))) if found else None
        return Misfit(whole, found)


class Flyer:
    """Flies any cause from the start of a case; one program for all causes and answers.

    The first flight of a duration compiles; those that follow take only the simulation. A cause
    that stirs the air has a program of its own.

    Args:
        case: With an airplane and saved motion.
        span: s over which flights are held against the motion.

    Raises:
        NeutralPointError: As `setting_from_motion` and `start_time`.
    """

    def __init__(self, case: Case, span: float = COMPARED) -> None:
        self.begin = start_time(case)
        self.setting, saved = setting_from_motion(case, self.begin)
        onset = case.analysis.onset
        self.start = 0.0 if onset is None else max(onset - self.begin, 0.0)
        self.seen = MotionSeen(saved, self.begin, span)
        self.axis = saved["time"].values.astype(float)
        self._key = jax.random.key(case.document.seed)

    def fly(
        self,
        name: str,
        values: dict[str, float],
        *,
        duration: float = DURATIONS[0],
        procedure: str = "",
        reaction: float | None = None,
    ) -> FlownCause:
        """Fly a cause and hold it against the motion.

        Args:
            name: Of the cause.
            values: Parameters, SI; the others are medians, and it begins at the case's onset.
            duration: s.
            procedure: What is done about it, see `answers`; "" = the first.
            reaction: From recognition to the first action, s; None = the typical pilot's.

        Returns:
            The flight.

        Raises:
            NeutralPointError: `argument-invalid` for what cannot be flown.
        """
        cause = find_cause(name)
        if reason := why_not(cause, self.setting.airplane):
            raise _refused(reason, "cause")
        cause.check_names(values)
        whole = cause.middle() | values
        if "start" in whole and "start" not in values:
            whole["start"] = self.start
        setting = self._answered(cause, procedure, reaction)
        begun = time.perf_counter()
        flight = self._flown(cause, setting, whole, duration)
        took = time.perf_counter() - begun
        curves = curves_of(flight)
        kept = flight.time <= duration + 1e-9
        at = np.asarray(flight.time) + self.begin
        return FlownCause(
            cause=cause.name,
            values=whole,
            time=at[kept],
            curves={name: curve[kept] for name, curve in curves.items()},
            misfit=self.seen.misfit(at, curves),
            seconds=took,
        )

    def answers(self, cause: Cause) -> dict[str, Answer]:
        """What can be done about a cause, the airplane's own first.

        Args:
            cause: The cause.

        Returns:
            Answers by name, empty where none has a meaning.
        """
        airplane = self.setting.airplane
        procedures = answers_to(cause, airplane)
        found = {name: answer(airplane, steps) for name, steps in procedures.items()}
        return found | (lessons_for(cause, airplane, procedures) if procedures else {})

    def _flown(
        self, cause: Cause, setting: Setting, values: dict[str, float], duration: float
    ) -> CauseFlight:
        whole = next((d for d in DURATIONS if d >= duration), DURATIONS[-1])
        if cause.turbulent:
            flight = FLY(setting, cause, values, duration=whole, key=self._key)
        else:
            flight = FLY(setting, ANY_CAUSE, as_any(cause, values), duration=whole)
        return jax.tree.map(np.asarray, flight)

    def _answered(self, cause: Cause, procedure: str, reaction: float | None) -> Setting:
        """The setting with what is done about it; all have one form, so one program serves."""
        airplane, pilot = self.setting.airplane, self.setting.pilot
        known = self.answers(cause) or {"": answer(airplane, ())}
        wanted = procedure or next(iter(known))
        if wanted not in known:
            raise _refused(f"There is no procedure {wanted[:60]!r} for this cause.", "procedure")
        chosen = known[wanted]
        rate = float(chosen.manual_rate)
        drive = replace(airplane.trim_drive, manual_rate=rate, stops=())
        return replace(
            self.setting,
            airplane=replace(airplane, trim_drive=drive),
            timetable=jax.tree.map(lambda leaf: np.asarray(leaf, float), chosen.timetable),
            cue_delay=float(chosen.cue_delay),
            pilot=replace(pilot, reaction=float(pilot.reaction if reaction is None else reaction)),
        )


def curves_of(flight: CauseFlight) -> dict[str, Array]:
    """What is shown of a flight, named as the variables of the motion.

    Args:
        flight: One flight, leaves (n,).

    Returns:
        SI by name, shape (n,).
    """
    bank, pitch, _ = attitude(flight.state)
    curves = {
        "pressure_altitude": flight.readings.height,
        "true_airspeed": flight.readings.true_airspeed,
        "vertical_speed": -flight.state.velocity_down,
        "pitch_angle": pitch,
        "bank_angle": bank,
        "normal_load_factor": flight.readings.normal_load_factor,
        "column_force": flight.applied_force,
        "trim": flight.trim,
        "strength_left": flight.strength_left,
    }
    return {name: np.asarray(curve) for name, curve in curves.items()}


def _band(saved: xr.Dataset, name: str, inside: Flags) -> tuple[Array, Array]:
    """Median and standard deviation of the motion; NaN where it bears no value."""
    samples = saved[name].values[:, inside].astype(float)
    if name in CIRCULAR:
        samples = np.unwrap(samples, axis=0)
    low, median, high = np.quantile(samples, (0.05, 0.5, 0.95), axis=0)
    flag = f"observable_{name}"
    if flag in saved:
        median = np.where(saved[flag].values[inside].astype(bool), median, np.nan)
    return median, np.maximum((high - low) / NORMAL_90, 1e-6)


def _refused(message: str, where: str) -> NeutralPointError:
    return NeutralPointError(
        "argument-invalid", message, where=where, hint="Choose another cause or value."
    )
