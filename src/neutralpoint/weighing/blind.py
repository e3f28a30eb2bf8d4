"""Blind cases: flights of known cause made by another model than the one that is weighed with.

The airplane has other derivatives, other people fly it, the air is rougher; what the data's error
leaves of such a flight is weighed without knowing its cause.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.explanations import Cause, Prior
from neutralpoint.numerics.arrays import Floats, Index
from neutralpoint.quantities import DEGREE
from neutralpoint.weighing.odds import combine
from neutralpoint.weighing.ordinary import ORDINARY
from neutralpoint.weighing.scores import (
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


def judge(runs: Floats, true: Index, causes: tuple[Cause, ...], names: tuple[str, ...]) -> dict:
    """Scores on blind cases, with equal prior weights.

    Args:
        runs: Log evidence of each network, shape (R, n, C).
        true: Place of the true cause of each case, shape (n,).
        causes: That were flown.
        names: Theirs, and the unlisted one last.

    Returns:
        JSON values.
    """
    prior = np.full(len(names), 1.0 / len(names))
    given = np.array(
        [combine(names, prior, lapsed(names, runs[:, k])).probability for k in range(len(true))]
    )
    chance = given[np.arange(true.size), true]
    scores = log_score(given, true)
    diagram = reliability(given, true)
    return {
        "cases": int(true.size),
        "mean_log_score": float(scores.mean()),
        "log_score_error": float(scores.std() / np.sqrt(true.size)),
        "prior_log_score": float(np.log(prior[0])),
        "brier": float(brier_score(given, true).mean()),
        "true_cause_below_1_percent": float((chance < 0.01).mean()),
        "cover_of_90_percent_sets": float(credible_set_cover(given, true).mean()),
        "true_cause_leads": float((given.argmax(axis=1) == true).mean()),
        "reliability": {
            "edges": [float(x) for x in diagram.edges],
            "stated": _known(diagram.stated),
            "happened": _known(diagram.happened),
            "count": [int(x) for x in diagram.count],
        },
        "by_cause": {
            cause.name: {
                "cases": int((true == i).sum()),
                "mean_log_score": float(scores[true == i].mean()),
                "leads": float((given.argmax(axis=1) == i)[true == i].mean()),
                "below_1_percent": float((chance < 0.01)[true == i].mean()),
            }
            for i, cause in enumerate(causes)
            if (true == i).any()
        },
    }


def _known(values: Floats) -> list[float | None]:
    return [float(x) if np.isfinite(x) else None for x in values]
