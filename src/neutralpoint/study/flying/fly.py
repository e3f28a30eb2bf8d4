"""The stage `fly`: a cause flown from the start that the motion of a case gives."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.case import Case, load_case
from neutralpoint.dynamics.air import make_air
from neutralpoint.dynamics.equilibrium import Condition
from neutralpoint.dynamics.state import attitude
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import Setting, draw_parameters, find_cause, fly, trimmed_setting
from neutralpoint.explanations.any_cause import ANY_CAUSE, as_any
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.flight import CauseFlight
from neutralpoint.explanations.gate import why_not
from neutralpoint.files import own_file, own_folder
from neutralpoint.quantities import GAS_CONSTANT, HEAT_RATIO, LAPSE_RATE, SEA_LEVEL_TEMPERATURE
from neutralpoint.response.force import pull_to_hold
from neutralpoint.study.moments.file import MOMENTS_FILE
from neutralpoint.study.motion.file import MOTION_FILE, read_dataset, time_attributes, write_dataset
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.cautions import IN_BRIEF

Progress = Callable[[str], None]

# One program for all flights of a length; the setting is data.
FLY = jax.jit(fly, static_argnames=("cause", "duration", "step", "record_every"))

# Half-width of the time around the start that the motion is averaged over, s; analyst's choice.
AVERAGED = 2.0
# Load factor along body x; the registry has that along the path.
FORWARD = "Load factor along body x"


def start_time(case: Case) -> float:
    """When the flown flight begins: the end of the reference, or 10 s before the onset.

    Where the case gives neither, the reference is that which the required moment was counted from.

    Raises:
        NeutralPointError: `argument-invalid` where nothing says it.
    """
    if case.analysis.reference is not None:
        return case.analysis.reference[1]
    if case.analysis.onset is not None:
        return case.analysis.onset - 10.0
    saved = own_file(case.folder / "results", MOMENTS_FILE)
    if saved is not None:
        moments = read_dataset(saved)
        return float(moments["time"].values[moments["is_reference"].values == 1][-1])
    raise NeutralPointError(
        "argument-invalid",
        "The case says neither when the last trimmed flight was nor when the upset began.",
        where="case.toml",
        hint="Run `neutralpoint study CASE`, give an onset in the case file, or --from SECONDS.",
    )


def setting_from_motion(case: Case, begin: float, **crew) -> tuple[Setting, xr.Dataset]:
    """Trimmed flight at a moment of the saved motion.

    Args:
        case: With an airplane.
        begin: s after the track's epoch.
        **crew: As in `explanations.make_setting`.

    Returns:
        The setting, and the saved motion.

    Raises:
        NeutralPointError: `results-missing` without motion, `argument-invalid` without airplane
            or where the motion does not reach.
    """
    described = case.described
    saved = read_dataset(case.folder / "results" / MOTION_FILE)
    near = np.abs(saved["time"].values - begin) <= AVERAGED
    if not near.any():
        first, last = float(saved["time"][0]), float(saved["time"][-1])
        raise NeutralPointError(
            "argument-invalid",
            f"The motion has no moment within {AVERAGED} s of {begin:.1f} s.",
            where="--from",
            hint=f"It runs from {first:.1f} s to {last:.1f} s.",
        )

    def mean(name: str) -> float:
        return float(np.median(saved[name].values[:, near]))

    height, speed = mean("pressure_altitude"), mean("true_airspeed")
    warmth = (speed / mean("mach")) ** 2 / (HEAT_RATIO * GAS_CONSTANT)
    air = make_air(temperature_offset=warmth - (SEA_LEVEL_TEMPERATURE - LAPSE_RATE * height))
    condition = Condition(
        speed=speed,
        height=height,
        path_angle=mean("flight_path_angle"),
        flap=case.analysis.flap,
        gear=case.analysis.gear,
    )
    return trimmed_setting(described.airplane, air, condition, **crew), saved


def _parameters(cause: Cause, given: dict[str, float], batch: int, seed: int) -> dict:
    cause.check_names(given)
    key = jax.random.key(seed)
    if batch > 1:
        drawn = draw_parameters(cause.parameters, key, batch)
    else:
        middle = cause.middle() | ({"start": 0.0} if "start" in cause.middle() else {})
        drawn = {name: jnp.full(1, value) for name, value in middle.items()}
    return drawn | {name: jnp.full(batch, float(value)) for name, value in given.items()}


@partial(jax.jit, static_argnames=("cause", "duration"))
def _fly_rows(setting, parameters, keys, *, cause, duration):
    return jax.vmap(lambda p, k: fly(setting, cause, p, duration=duration, key=k))(parameters, keys)


def fly_cause(
    setting: Setting, cause: Cause, parameters: dict, *, duration: float, seed: int
) -> tuple[CauseFlight, jax.Array]:
    """Fly every row of the parameters; with it the pull that holding on would take.

    Args:
        setting: Common to all.
        cause: The cause.
        parameters: (b,) by name.
        duration: s.
        seed: Of the turbulence.

    Returns:
        Flights, leaves (b, n); pull, N, (b, n).
    """
    count = len(next(iter(parameters.values())))
    keys = jax.random.split(jax.random.key(seed), count)
    if not cause.turbulent:
        cause, parameters = ANY_CAUSE, as_any(cause, parameters)
    flights = _fly_rows(setting, parameters, keys, cause=cause, duration=duration)
    return flights, jax.vmap(lambda flight: pull_to_hold(setting, flight))(flights)


def _dataset(case: Case, cause: Cause, parameters, flights, pull, saved, begin) -> xr.Dataset:
    bank, pitch, _ = attitude(flights.state)
    r = flights.readings
    values = {
        "height": r.height,
        "true_airspeed": r.true_airspeed,
        "vertical_speed": -flights.state.velocity_down,
        "pitch_angle": pitch,
        "bank_angle": bank,
        "normal_load_factor": r.normal_load_factor,
        "longitudinal_load_factor": r.forward_load_factor,
        "elevator": r.elevator,
        "trim": flights.trim,
        "column_force": flights.applied_force,
        "pull_to_hold": pull,
        "strength_left": flights.strength_left,
    }
    data: dict[str, tuple] = {
        name: (("flight", "time"), np.asarray(value), _about(name))
        for name, value in values.items()
    }
    for p in cause.parameters:
        about = {"units": p.unit or "1", "long_name": p.meaning, "source": p.source}
        data[f"parameter_{p.name}"] = ("flight", np.asarray(parameters[p.name]), about)
    time = np.asarray(flights.time[0]) + begin
    for name in ("true_airspeed", "vertical_speed", "normal_load_factor", "pressure_altitude"):
        middle = np.median(saved[name].values, axis=0)
        seen = np.interp(time, saved["time"].values, middle, right=np.nan)
        about = {"units": saved[name].attrs["units"], "long_name": f"Median of the motion, {name}"}
        data[f"motion_{name}"] = ("time", seen, about)
    return xr.Dataset(
        data,
        {"time": ("time", time, time_attributes(case.track.epoch))},
        {
            "Conventions": "CF-1.11",
            "title": f"{case.document.title}: {cause.title}",
            "source": f"Neutral Point {neutralpoint.__version__}",
            "comment": f"{cause.mechanism} A cause flown by a model shows what it would look like, "
            f"not what happened. {IN_BRIEF}",
        },
    )


def _about(name: str) -> dict[str, str]:
    known = QUANTITIES[name]
    long_name = FORWARD if name == "longitudinal_load_factor" else known.long_name
    return {"units": known.udunits, "long_name": long_name}


def run_fly(
    folder: Path,
    name: str,
    progress: Progress,
    *,
    given: dict[str, float],
    batch: int = 1,
    duration: float = 60.0,
    begin: float | None = None,
) -> Path:
    """Fly a cause from the motion of a case and save `results/fly-NAME.nc`.

    Args:
        folder: The case folder, with `results/motion.nc`.
        name: Of the cause.
        progress: Told in words what is being done.
        given: Parameters by name, SI; the others are medians, or drawn where `batch` is above 1.
        batch: Flights.
        duration: s.
        begin: s after the track's epoch; None = as the case says.

    Returns:
        Path of the file.

    Raises:
        NeutralPointError: Of the case and its results; `argument-invalid` for a cause that cannot
            act on the airplane.
    """
    cause = find_cause(name)
    progress("Reading the case")
    case = load_case(folder)
    begin = start_time(case) if begin is None else begin
    setting, saved = setting_from_motion(case, begin)
    reason = why_not(cause, setting.airplane)
    if reason:
        raise NeutralPointError(
            "argument-invalid", reason, where="--cause", hint="Name a cause that can act on it."
        )
    parameters = _parameters(cause, given, batch, case.document.seed)
    progress(f"Flying {cause.title}")
    flights, pull = fly_cause(
        setting, cause, parameters, duration=duration, seed=case.document.seed
    )
    dataset = _dataset(case, cause, parameters, flights, pull, saved, begin)
    return write_dataset(own_folder(folder / "results"), f"fly-{name}.nc", dataset)
