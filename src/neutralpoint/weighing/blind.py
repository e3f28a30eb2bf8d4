"""Blind cases: flights of known cause made by another model than the one that is weighed with.

The airplane has other derivatives, other people fly it, the air is rougher; what the data's error
leaves of such a flight is weighed without knowing its cause.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.explanations import Cause, Prior
from neutralpoint.numerics.arrays import Flags, Floats, Index
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.odds import combine
from neutralpoint.weighing.ordinary import ORDINARY
from neutralpoint.weighing.scores import (
    Reliability,
    brier_score,
    credible_set_cover,
    log_score,
    reliability,
)
from neutralpoint.weighing.weigh import lapsed

# The other model. Its sizes are the analyst's: derivatives as far off as handbook methods are for
# an airplane that nobody has measured, lift slope and thrust half of that.
OFF, LESS_OFF = 0.2, 0.1
DERIVATIVES = (
    "pitch_damping", "elevator_power", "stabilizer_power", "tab_power", "hinge_alpha",
    "hinge_elevator", "drag", "roll_yaw", "pitch_inertia",
)  # fmt: skip
OTHER_HANDS = {
    "crossover": Prior("lognormal", 0.7, 0.35),
    "outer": Prior("lognormal", 0.18, 0.4),
    "holding": Prior("lognormal", 0.2, 0.5),
    "delay": Prior("lognormal", 0.35, 0.3),
    "air": Prior("lognormal", 0.8, 1.0),
    "activity": Prior("lognormal", 0.9, 0.7),
    "hurry": Prior("lognormal", 5.0, 0.5),
    "climb": Prior("normal", 0.0, 5.0),
    "bank": Prior("normal", 0.0, 22.0 * DEGREE),
    "power": Prior("normal", 0.0, 0.4),
    "sway": Prior("lognormal", 3.0 * DEGREE, 0.6),
    "heave": Prior("lognormal", 0.7, 0.6),
}
OTHER_ORDINARY = tuple(replace(p, prior=OTHER_HANDS.get(p.name, p.prior)) for p in ORDINARY)
RARE = 0.01  # probability below which the true cause counts as lost
SPARE = 2  # flights flown for one that is used, for a fault must leave a trace


def other_airplane(fitted: Uncertainty) -> Uncertainty:
    """How far the airplane that is flown may be from the one that is weighed with.

    Args:
        fitted: Of the airplane as documented.

    Returns:
        The wider one.
    """
    sigma = dict(fitted.flown().sigma)
    sigma |= {n: max(OFF, sigma.get(n, 0.0)) for n in DERIVATIVES if sigma.get(n, 0.0) > 0.0}
    return Uncertainty(sigma | {"lift_slope": LESS_OFF, "thrust": LESS_OFF})


@dataclass(frozen=True)
class BlindCause:
    """Scores on the blind cases of one cause.

    Attributes:
        cases: How many.
        mean_log_score: nats.
        leads: Share in which it had the highest probability.
        below_1_percent: Share in which it was given less than 1%.
    """

    cases: int
    mean_log_score: float
    leads: float
    below_1_percent: float


@dataclass(frozen=True)
class BlindResult:
    """Scores on blind cases, with equal prior weights.

    Attributes:
        cases: How many.
        mean_log_score: nats.
        log_score_error: Standard error of the mean, nats.
        prior_log_score: Of a method that knows nothing, nats.
        brier: Mean score, 0 to 2.
        below_1_percent: Share in which the true cause was given less than 1%.
        covered: Share of 90% sets that held the true cause.
        leads: Share in which the true cause had the highest probability.
        reliability: Stated probability against frequency.
        by_cause: Those causes that have cases.
    """

    cases: int
    mean_log_score: float
    log_score_error: float
    prior_log_score: float
    brier: float
    below_1_percent: float
    covered: float
    leads: float
    reliability: Reliability
    by_cause: dict[CauseName, BlindCause]


def judge(
    runs: Floats, true: Index, causes: tuple[Cause, ...], names: tuple[CauseName, ...]
) -> BlindResult:
    """Scores on blind cases, with equal prior weights.

    Args:
        runs: Log evidence of each network, shape (R, n, C).
        true: Place of the true cause of each case, shape (n,).
        causes: That were flown.
        names: Theirs, and the unlisted one last.

    Returns:
        The scores.
    """
    prior = np.full(len(names), 1.0 / len(names))
    given = np.array(
        [combine(names, prior, lapsed(names, runs[:, k])).probability for k in range(len(true))]
    )
    chance = given[np.arange(true.size), true]
    led = given.argmax(axis=1) == true
    scores = log_score(given, true)
    return BlindResult(
        cases=int(true.size),
        mean_log_score=float(scores.mean()),
        log_score_error=float(scores.std() / np.sqrt(true.size)),
        prior_log_score=float(np.log(prior[0])),
        brier=float(brier_score(given, true).mean()),
        below_1_percent=float((chance < RARE).mean()),
        covered=float(credible_set_cover(given, true).mean()),
        leads=float(led.mean()),
        reliability=reliability(given, true),
        by_cause={
            cause.name: _of_cause(scores[true == i], led[true == i], chance[true == i])
            for i, cause in enumerate(causes)
            if (true == i).any()
        },
    )


def _of_cause(scores: Floats, led: Flags, chance: Floats) -> BlindCause:
    """Scores of the cases of one cause, each shape (k,)."""
    return BlindCause(
        cases=scores.size,
        mean_log_score=float(scores.mean()),
        leads=float(led.mean()),
        below_1_percent=float((chance < RARE).mean()),
    )
