"""Cannot, can if, can: one verdict for each family of causes, bound to a printed number.

Each family is a set of histories of its own carrier (stabilizer, elevator, centre of gravity). The
needed history has a joint band. The set is first taken as the documents describe the airplane; then
one limit at a time is relaxed. *Can* where the documented set comes close enough, *can if* where
one relaxed limit does, *cannot* where even that misses.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from neutralpoint.airplane.model import Airplane
from neutralpoint.moments.feasible import Miss, Needed, closest, needed_history
from neutralpoint.moments.loads import LoadReach
from neutralpoint.moments.required import Required
from neutralpoint.moments.shapes import Family, motor_runs, nothing, steps, two_motor_runs
from neutralpoint.moments.strength import LARGEST, ONE_HAND, PROLONGED, TWO_HANDS, ForceLimit

Array = NDArray[np.float64]

# A set that would look this far off in fewer than 1 of 20 flights of its own is not called able as
# documented; one in fewer than 1 of 500 is called unable. The second bounds the worst error,
# excluding the true cause (benchmarks/moments_recovery.py).
ABLE = 0.05
UNABLE = 0.002
KNOTS = 20
LONGEST = 60.0  # s after the reference that are looked at
# Column work that is nobody's cause: small corrections, turbulence. Analyst's.
UNMODELLED_FORCE = 15.0  # N
UNMODELLED_TIME = 3.0  # s
# Before hands answer a fault, s: the shortest of the regulatory settings (AC 23-8, from memory).
HANDS_DELAY = 1.0
UNLISTED_SHIFT = 0.3  # chords, where no loading is known. Analyst's.


@dataclass(frozen=True)
class Verdict:
    """What one family of causes can do.

    Attributes:
        family: Name.
        word: "can", "can if" or "cannot".
        probability: How often a flight really made by the closest member would look at least this
            far off.
        condition: The relaxed limit that saves it; empty for "can".
        parameters: Parameters of the closest member, SI.
        peak_force: Largest pull the hands add in the closest member, N.
        miss_time: Where the closest member is furthest off, s.
        miss: By how many standard deviations.
    """

    family: str
    word: str
    probability: float
    condition: str
    parameters: dict[str, float]
    peak_force: float
    miss_time: float
    miss: float


@dataclass(frozen=True)
class _Option:
    """One set of histories with what the hands may add, all in the unit of the carrier."""

    condition: str
    family: Family
    force: float  # N that the hands may add
    opposing: bool  # only against the member
    scale: Array  # carrier per N of pull, shape (k,)


def window_of(required: Required, longest: float = LONGEST) -> NDArray[np.bool_]:
    """From the end of the reference on, at most `longest` seconds.

    Args:
        required: What it took.
        longest: s.

    Returns:
        True inside, shape (m,).
    """
    end = required.time[np.flatnonzero(required.trimmed)[-1]]
    return (required.time >= end) & (required.time <= end + longest)


def knots_of(required: Required, window: float) -> Array:
    """Times at which histories are compared.

    Args:
        required: What it took.
        window: Smoothing window, s: knots lie no closer.

    Returns:
        s, shape (k,), at most `KNOTS`.
    """
    inside = required.time[window_of(required)]
    count = int(min(KNOTS, max(4, (inside[-1] - inside[0]) / window)))
    return np.linspace(inside[0] + 0.5 * window, inside[-1], count)


def _hands(knots: Array, scale: Array) -> Array:
    """Covariance of unmodelled column work in the unit of a carrier."""
    apart = np.abs(knots[:, None] - knots[None, :])
    shape = np.exp(-apart / UNMODELLED_TIME)
    return UNMODELLED_FORCE**2 * shape * scale[:, None] * scale[None, :]


def _limits(option: _Option, known: NDArray[np.bool_], times: Array) -> tuple[Array, Array]:
    """Least and most that the hands can add to each member, shape (c, k)."""
    most = option.force * np.abs(option.scale[known])
    histories = option.family.histories[:, known]
    high = np.broadcast_to(most, histories.shape)
    low = -high
    if not option.opposing:
        return low, high
    # Hands give way to the fault or cancel it; beyond that they only make small corrections. They
    # need a moment before they can do either.
    small = PROLONGED.force / max(option.force, PROLONGED.force) * most
    late = times - option.family.parameters[:, :1] >= HANDS_DELAY
    reaching = np.where(late, most, np.minimum(small, most))
    low = -np.minimum(np.maximum(histories, 0.0) + small, reaching)
    high = np.minimum(np.maximum(-histories, 0.0) + small, reaching)
    return low, high


def _judge(name: str, needed: Needed, knots: Array, options: list[_Option]) -> Verdict:
    known = np.isin(knots, needed.time)
    best: tuple[Miss, _Option] | None = None
    chosen, word = None, "cannot"
    for option in options:
        low, high = _limits(option, known, needed.time)
        miss = closest(needed, option.family.histories[:, known], low, high)
        if best is None or miss.probability > best[0].probability:
            best = (miss, option)
        if miss.probability >= ABLE:
            chosen, word = (miss, option), "can" if not option.condition else "can if"
            break
    if chosen is None:
        chosen = best
        if chosen[0].probability >= UNABLE:
            word = "can if"
            option = chosen[1]
            chosen = (
                chosen[0],
                replace(
                    option,
                    condition=option.condition or "the errors of the data were unusually large",
                ),
            )
    miss, option = chosen
    scale = np.abs(option.scale[known])
    return Verdict(
        family=name,
        word=word,
        probability=miss.probability,
        condition=option.condition if word == "can if" else "",
        parameters=option.family.describe(miss.member),
        peak_force=float(np.abs(miss.added / np.maximum(scale, 1e-12)).max()),
        miss_time=miss.worst_time,
        miss=miss.worst,
    )


def _relaxed(make, *, force: float, opposing: bool, scale: Array, extra: list) -> list[_Option]:
    """Documented set, then stronger hands, then each further relaxation."""
    base = make()
    options = [
        _Option("", base, force, opposing, scale),
        _Option(_hands_text(LARGEST), base, LARGEST.force, opposing, scale),
    ]
    return options + [_Option(text, family, force, opposing, scale) for text, family in extra]


def _hands_text(limit: ForceLimit) -> str:
    """Condition that lets the hands go beyond one hand's short-term force."""
    if limit is ONE_HAND:
        return ""
    return f"the hands gave up to {limit.force:.0f} N ({limit.name})"


def _direction(values: Array) -> float:
    """Sign of the largest change."""
    mean = values.mean(axis=0)
    return float(np.sign(mean[int(np.nanargmax(np.abs(mean)))]) or 1.0)


def verdicts(
    airplane: Airplane,
    required: Required,
    *,
    window: float,
    stabilizer_now: float = 0.0,
    reach: LoadReach | None = None,
) -> list[Verdict]:
    """Judge every family of causes that this airplane can have.

    Args:
        airplane: As documented, without drawn multipliers.
        required: What it took.
        window: Smoothing window, s.
        stabilizer_now: Stabilizer or tab angle in the reference, rad, for what is left of travel.
        reach: What the load could do; None where no loading is known.

    Returns:
        One verdict a family.

    Checked against: tests/recovery/test_moments.py and benchmarks/moments_recovery.py.
    """
    knots = knots_of(required, window)
    index = np.clip(np.searchsorted(required.time, knots), 0, required.time.size - 1)
    # Elevator that one newton of pull gives, and what that is worth in the other carriers.
    per_newton = 1.0 / required.force_per_elevator.mean(axis=0)[index]
    moment_per_newton = per_newton * required.elevator_power.mean(axis=0)[index]

    def history(paths: Array, scale: Array) -> Needed:
        return needed_history(required.time, paths, knots, _hands(knots, scale))

    found = []
    elevator = history(required.elevator, per_newton)
    bare = {"scale": per_newton, "opposing": False}
    by_hand = nothing(knots)
    found.append(
        _judge(
            "nothing failed, flown by hand",
            elevator,
            knots,
            [
                _Option(_hands_text(limit), by_hand, limit.force, **bare)
                for limit in (ONE_HAND, TWO_HANDS, LARGEST)
            ],
        )
    )
    control = airplane.pitch_control
    elevator_steps = steps(
        knots,
        np.linspace(float(control.elevator_min), float(control.elevator_max), 41),
        np.array([0.2, 1.0]),
    )
    found.append(
        _judge(
            "elevator off its trimmed place (jam or disconnect)",
            elevator,
            knots,
            _relaxed(
                lambda: elevator_steps,
                force=PROLONGED.force,
                extra=[],
                **bare,
            ),
        )
    )
    found += _trim_verdicts(airplane, required, knots, index, stabilizer_now, moment_per_newton)
    normal = required.lift_coefficient.mean(axis=0)[index]
    chord = float(airplane.geometry.mean_chord)
    shift_per_newton = moment_per_newton * chord / np.where(np.abs(normal) > 0.05, normal, np.nan)
    shift_per_newton = np.nan_to_num(shift_per_newton, nan=0.0)
    shift = history(required.cg_shift, shift_per_newton)
    if shift.time.size >= 4:
        found += _load_verdicts(knots, shift, shift_per_newton, chord, reach)
    return found


def _trim_verdicts(
    airplane: Airplane,
    required: Required,
    knots: Array,
    index: NDArray[np.intp],
    setting: float,
    moment_per_newton: Array,
) -> list[Verdict]:
    """Runs of the pitch-trim motor, and its separation."""
    drive = airplane.trim_drive
    if drive.kind == "none":
        return []
    paths = required.stabilizer if drive.kind == "stabilizer" else required.tab
    ratio = (required.moment_coefficient / np.where(paths == 0.0, np.nan, paths))[:, index]
    power = np.nanmedian(ratio, axis=0)
    scale = moment_per_newton / power
    needed = needed_history(required.time, paths, knots, _hands(knots, scale))
    sign = _direction(paths[:, index])
    travel = (
        float(drive.travel_min) - setting,
        float(drive.travel_max) - setting,
    )
    slow, fast = sorted((float(drive.loaded_rate), float(drive.rate)))
    rates = sign * np.linspace(0.9 * slow, 1.1 * fast, 4)
    wider = sign * np.linspace(0.5 * slow, 2.0 * fast, 6)
    double = (2.0 * travel[0], 2.0 * travel[1])
    name = "stabilizer" if drive.kind == "stabilizer" else "trim tab"
    verdict = []
    for label, make in (
        (f"{name} runaway", motor_runs),
        (f"{name} trim that stops and restarts", two_motor_runs),
    ):
        options = _relaxed(
            lambda make=make: make(knots, rates, travel),
            force=TWO_HANDS.force,
            opposing=True,
            scale=scale,
            extra=[
                ("the motor ran at half to twice its documented rate", make(knots, wider, travel)),
                ("the travel was up to twice what is documented", make(knots, rates, double)),
            ],
        )
        verdict.append(_judge(label, needed, knots, options))
    size = 3.0 * max(abs(travel[0]), abs(travel[1]))
    broken = steps(knots, sign * np.linspace(0.02, 1.0, 60) * size, np.array([0.2, 1.0]))
    verdict.append(
        _judge(
            f"{name} separation",
            needed,
            knots,
            _relaxed(lambda: broken, force=TWO_HANDS.force, opposing=True, scale=scale, extra=[]),
        )
    )
    return verdict


def _load_verdicts(
    knots: Array,
    needed: Needed,
    scale: Array,
    chord: float,
    reach: LoadReach | None,
) -> list[Verdict]:
    """Load shifted aft and forward."""
    durations = np.array([0.5, 1.5, 3.0])
    verdict = []
    for name, sign in (("load shift aft", 1.0), ("load shift forward", -1.0)):
        if reach is None:
            sizes = [("", sign * UNLISTED_SHIFT * chord)]
        else:
            loose, every = (
                (reach.aft, reach.all_aft) if sign > 0 else (reach.forward, reach.all_forward)
            )
            sizes = [
                ("", loose),
                ("items listed as fixed moved too", every),
                ("more than twice all listed items moved", 2.5 * every),
            ]
        options = [
            _Option(
                text,
                steps(knots, np.linspace(0.0, size, 30), durations),
                TWO_HANDS.force,
                True,
                scale,
            )
            for text, size in sizes
        ]
        verdict.append(_judge(name, needed, knots, options))
    return verdict
