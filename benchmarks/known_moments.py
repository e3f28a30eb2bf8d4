"""What the moments make of an invented flight: a descent whose nose goes down and is pulled up."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np

from neutralpoint.airplane.model import apply_multipliers
from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.moments import (
    batched,
    compared_windows,
    energy,
    flight_from_paths,
    held_force,
    judge_causes,
    judged_part,
    last_trimmed,
    load_reach,
    needed_history,
    power_change,
    references,
    required_moment,
    scaling_test,
    times_above,
    trim_rate,
    with_fuel_burnt,
    with_gusts,
    with_power_effect,
)
from neutralpoint.moments.load_causes import shift_chance
from neutralpoint.moments.question import Question, standing
from neutralpoint.quantities import GRAVITY

SAMPLES, WINDOW, ONSET = 100, 2.0, 40.0


def paths_of(rng: np.random.Generator) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """Sample paths of a flight of 70 s, and their time, s."""
    time = 0.5 * np.arange(141)
    late = np.clip(time - ONSET, 0.0, None)
    slow = rng.standard_normal((SAMPLES, 3, 1))
    wave = np.sin(time / 9.0 + rng.uniform(0.0, 6.0, (SAMPLES, 1)))
    load = 1.0 - 0.35 * np.exp(-((late - 8.0) ** 2) / 18.0) * (late > 0.0)
    load = load + 0.25 * np.exp(-((late - 20.0) ** 2) / 30.0) * (late > 0.0) + 0.01 * wave
    speed = 92.0 + 0.6 * late - 0.006 * late**2 + 0.5 * slow[:, 0] + 0.2 * wave
    path = -0.05 - 0.12 * np.exp(-((late - 14.0) ** 2) / 60.0) * (late > 0.0) + 0.002 * slow[:, 1]
    density = 1.05 + 0.0004 * late
    bank = 0.1 * np.sin(late / 12.0) + 0.02 * slow[:, 2] + 0.0 * time
    along = np.gradient(speed, time, axis=1) / GRAVITY + np.sin(path)
    found = {
        "true_airspeed": speed,
        "dynamic_pressure": 0.5 * density * speed**2,
        "mach": speed / 332.0,
        "normal_load_factor": load,
        "longitudinal_load_factor": along,
        "flight_path_angle": path,
        "bank_angle": bank,
    }
    return time, found


def known() -> dict[str, Any]:
    """Everything the stage asks of the package, of one airplane with two kinds of trim."""
    return {name: _of(name) for name in ("velmar-c7", "tarnley-180")}


def _of(name: str) -> dict[str, Any]:
    rng = np.random.default_rng(404)
    described = load_airplane(name)
    time, paths = paths_of(rng)
    is_fix = np.zeros(time.size, bool)
    flight = with_gusts(flight_from_paths(time, is_fix, paths, WINDOW), rng, WINDOW)
    drawn = batched(apply_multipliers(described.airplane, described.uncertainty.draw(rng, SAMPLES)))
    drawn = with_power_effect(drawn, rng, SAMPLES)
    drawn = with_fuel_burnt(drawn, 0.05 * flight.time)
    trimmed = last_trimmed(flight, before=ONSET)
    required = required_moment(drawn, flight, trimmed, window=WINDOW)
    found = energy(drawn, flight, required)
    judged = judged_part(drawn, flight, required, window=WINDOW, onset=ONSET)
    question = Question(described.airplane, judged, rng)
    needed = needed_history(judged, standing, lambda took: np.ones_like(took.moment))
    base = required.lift_coefficient[:, required.trimmed].mean(axis=1, keepdims=True)
    lift = (required.lift_coefficient[:, judged.knots] / base).mean(axis=0)
    chosen = references(flight, ONSET + np.linspace(-4.0, 4.0, 9), np.full(9, 1.0 / 9.0))
    drive = described.airplane.trim_drive
    turned = required.stabilizer if drive.kind == "stabilizer" else required.tab
    weight = float(described.airplane.mass.mass) * GRAVITY
    reach = load_reach(described.loading, partial(shift_chance, question))
    return {
        "flight": flight,
        "required": required,
        "energy": found,
        "knots": judged.knots,
        "needed": needed,
        "held": held_force(flight, trimmed, required.column_force, rng),
        "scaling": scaling_test(needed, lift, rng, window=WINDOW),
        "references": chosen,
        "windows": compared_windows(chosen, ONSET + 4.0, float(flight.time[-1])),
        "reach": reach,
        "forces": times_above(required.column_force[:, judged.inside], flight.step),
        "rate": trim_rate(required, turned, (0.001, 0.01), judged.inside),
        "change": power_change(found, required.time, trimmed, ONSET, weight),
        "verdicts": judge_causes(
            question,
            found,
            bank=paths["bank_angle"],
            bank_known=np.ones(time.size, bool),
            reach=reach,
        ),
    }
