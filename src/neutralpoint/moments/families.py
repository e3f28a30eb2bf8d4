"""The families of causes that a flight is judged against, each with its own set of histories."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from neutralpoint.airplane.model import Airplane
from neutralpoint.moments.loads import LoadReach
from neutralpoint.moments.required import Required
from neutralpoint.moments.shapes import (
    Family,
    averaged,
    motor_runs,
    nothing,
    steps,
    two_motor_runs,
)
from neutralpoint.moments.strength import LARGEST, ONE_HAND, PROLONGED, TWO_HANDS
from neutralpoint.moments.verdicts import (
    ABLE,
    UNABLE,
    Carrier,
    Option,
    Verdict,
    carrier,
    hands_text,
    judge,
    knots_of,
    window_of,
    with_hands,
)
from neutralpoint.quantities import DEGREE

Array = NDArray[np.float64]

UNLISTED_SHIFT = 0.3  # chords, where no loading is known. Analyst's.
STEEP_BANK = 45.0 * DEGREE  # upset recovery aids count bank beyond it as an upset
SLIDES = np.array([0.5, 1.5, 3.0])  # s that a load takes to move (trade notes: 1 to 3 s)
BREAKS = np.array([0.2, 1.0])  # s that a part takes to let go; analyst's


def verdicts(
    airplane: Airplane,
    required: Required,
    *,
    window: float,
    bank: Array,
    stabilizer_now: float = 0.0,
    reach: LoadReach | None = None,
) -> list[Verdict]:
    """Judge every family of causes that this airplane can have.

    Args:
        airplane: As documented, without drawn multipliers.
        required: What it took.
        window: Smoothing window, s.
        bank: rad, shape (S, m) on the grid of `required`.
        stabilizer_now: Stabilizer or tab angle in the reference, rad, for what is left of travel.
        reach: What the load could do; None where no loading is known.

    Returns:
        One verdict a family.

    Checked against: tests/recovery/test_moments.py and benchmarks/moments_recovery.py.
    """
    knots = knots_of(required, window)
    found = _hand_verdicts(airplane, required, knots, window, stabilizer_now)
    found += _trim_verdicts(airplane, required, knots, window, stabilizer_now)
    found += _load_verdicts(airplane, required, knots, window, reach)
    return [*found, wing_stall(required), spiral(required, knots, bank)]


def _hand_verdicts(
    airplane: Airplane, required: Required, knots: Array, window: float, setting: float
) -> list[Verdict]:
    """Nothing failed; an elevator that is not where it was trimmed."""
    carried = carrier(required, required.elevator, knots)
    times, control = carried.needed.time, airplane.pitch_control
    sizes = np.linspace(float(control.elevator_min), float(control.elevator_max), 41)
    off = averaged(lambda t: steps(t, sizes, BREAKS), times, window)
    limits = (ONE_HAND, TWO_HANDS, LARGEST)
    return [
        judge(
            "nothing failed, flown by hand",
            carried,
            [
                *(Option(hands_text(m), nothing(times), m.force, False) for m in limits),
                *_trimmed_by_crew(airplane, required, times, window, setting),
            ],
        ),
        judge(
            "elevator off its trimmed place (jam or disconnect)",
            carried,
            [
                Option("", off, PROLONGED.force, False),
                Option(hands_text(TWO_HANDS), off, TWO_HANDS.force, False),
            ],
        ),
    ]


def _trimmed_by_crew(
    airplane: Airplane, required: Required, times: Array, window: float, setting: float
) -> list[Option]:
    """Hands, and the pitch trim used as it is meant to be; in angles of the elevator."""
    drive = airplane.trim_drive
    fast = max(float(drive.rate), float(drive.manual_rate))
    if drive.kind == "none" or fast == 0.0:
        return []
    paths = required.stabilizer if drive.kind == "stabilizer" else required.tab
    nodes = np.clip(np.searchsorted(required.time, times), 0, required.time.size - 1)
    with np.errstate(invalid="ignore", divide="ignore"):
        worth = np.nan_to_num(np.median((required.elevator / paths)[:, nodes], axis=0))
    rates = fast * np.array([-1.0, -0.5, 0.5, 1.0])
    travel = (float(drive.travel_min) - setting, float(drive.travel_max) - setting)
    runs = averaged(lambda t: motor_runs(t, rates, travel), times, window)
    family = replace(runs, histories=runs.histories * worth)
    return [Option("the crew also used the pitch trim", family, ONE_HAND.force, False)]


def _direction(needed: Carrier) -> float:
    """Sign of the largest change."""
    mean = needed.needed.mean
    return float(np.sign(mean[int(np.argmax(np.abs(mean)))]) or 1.0) if mean.size else 1.0


def _trim_verdicts(
    airplane: Airplane, required: Required, knots: Array, window: float, setting: float
) -> list[Verdict]:
    """Runs of the pitch-trim motor, and its separation."""
    drive = airplane.trim_drive
    if drive.kind == "none":
        return []
    paths = required.stabilizer if drive.kind == "stabilizer" else required.tab
    carried = carrier(required, paths, knots)
    times, sign = carried.needed.time, _direction(carried)
    travel = (float(drive.travel_min) - setting, float(drive.travel_max) - setting)
    slow, fast = sorted((float(drive.loaded_rate), float(drive.rate)))
    rates = sign * np.linspace(0.9 * slow, 1.1 * fast, 4)
    wider = sign * np.linspace(0.5 * slow, 2.0 * fast, 6)
    double = (2.0 * travel[0], 2.0 * travel[1])
    name = "stabilizer" if drive.kind == "stabilizer" else "trim tab"
    found = []
    motors = ((f"{name} runaway", motor_runs), (f"{name} that stops and restarts", two_motor_runs))
    for label, make in motors if fast > 0.0 else ():  # turned by hand alone: nothing runs away

        def at(rate: Array, limits: tuple[float, float], make=make) -> Family:
            return averaged(lambda t: make(t, rate, limits), times, window)

        extra = [
            ("the motor ran at half to twice its documented rate", at(wider, travel)),
            ("the travel was up to twice what is documented", at(rates, double)),
        ]
        options = with_hands(at(rates, travel), TWO_HANDS.force, extra)
        found.append(judge(label, carried, options))
    size = 3.0 * max(abs(travel[0]), abs(travel[1]))
    sizes = sign * np.linspace(0.02, 1.0, 60) * size
    broken = averaged(lambda t: steps(t, sizes, BREAKS), times, window)
    found.append(judge(f"{name} separation", carried, with_hands(broken, TWO_HANDS.force, [])))
    return found


def _load_verdicts(
    airplane: Airplane,
    required: Required,
    knots: Array,
    window: float,
    reach: LoadReach | None,
) -> list[Verdict]:
    """Load shifted aft and forward."""
    carried = carrier(required, required.cg_shift, knots)
    times, chord = carried.needed.time, float(airplane.geometry.mean_chord)
    found = []
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
        sets = [
            (
                text,
                averaged(lambda t, s=s: steps(t, np.linspace(0.0, s, 30), SLIDES), times, window),
            )
            for text, s in sizes
        ]
        options = with_hands(sets[0][1], TWO_HANDS.force, sets[1:])
        found.append(judge(name, carried, options))
    return found


def wing_stall(required: Required) -> Verdict:
    """Whether the angle of attack reached the stall.

    Args:
        required: What it took.

    Returns:
        *Can* where the margin left is not clear of zero, *cannot* where it is; the probability is
        that of a margin of zero or less, by a normal law through the sample paths.
    """
    inside = window_of(required)
    least = required.stall_margin[:, inside].min(axis=1)
    spread = max(float(least.std()), 1e-6)
    probability = float(norm.sf(least.mean() / spread))
    word = "can" if probability >= ABLE else "cannot" if probability < UNABLE else "can if"
    return Verdict(
        family="wing stall",
        word=word,
        probability=probability,
        alone=probability,
        condition="the errors of the data were unusually large" if word == "can if" else "",
        parameters={"least margin": float(least.mean())},
        peak_force=0.0,
        miss_time=float(
            required.time[inside][np.argmin(required.stall_margin[:, inside].mean(axis=0))]
        ),
        miss=float(least.mean() / spread),
    )


def spiral(required: Required, knots: Array, bank: Array) -> Verdict:
    """A bank let go: steep bank with the pitch controls left where they were.

    Args:
        required: What it took.
        knots: s, shape (k,).
        bank: rad, shape (S, m).

    Returns:
        The verdict on hands that do next to nothing, with the probability capped by that of a
        steep bank.
    """
    carried = carrier(required, required.column_force, knots)
    found = judge(
        "spiral (bank let go, nobody pulling)",
        carried,
        [Option("", nothing(carried.needed.time), PROLONGED.force, False)],
    )
    steepest = np.abs(bank[:, window_of(required)]).max(axis=1)
    steep = float((steepest > STEEP_BANK).mean())
    found = replace(found, parameters={"steepest bank": float(np.median(steepest)), "steep": steep})
    if found.word == "not judged":
        return found
    found = replace(found, probability=min(found.probability, steep), alone=min(found.alone, steep))
    return found if steep >= ABLE else replace(found, word="cannot", condition="")
