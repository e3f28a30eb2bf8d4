"""The world that causes are flown in: everything uncertain is drawn wider than stated.

A network that has only seen airplanes as near to their documents as these say, flown as a prior
says, is too sure of itself on any other airplane. One that was taught on wider draws is not, and
tells the causes of such flights apart better: see benchmarks/results/calibration.md.
"""

from __future__ import annotations

from dataclasses import replace

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.explanations import Parameter, Prior
from neutralpoint.weighing.ordinary import ORDINARY

# Factor on stated standard deviations. Of 1, 1.5 and a mixture of 1, 1.5 and 2 the best score on
# flights of another model (-1.44, with 1 -1.52); analyst's choice.
WIDER = 1.5


def wider_airplane(fitted: Uncertainty, by: float = WIDER) -> Uncertainty:
    """An airplane that is less sure than its documents say.

    Args:
        fitted: As documented.
        by: Factor on every standard deviation.

    Returns:
        The wider one, with what no document states.
    """
    return Uncertainty({name: by * value for name, value in fitted.flown().sigma.items()})


def _wider(prior: Prior, by: float) -> Prior:
    return replace(prior, high=by * prior.high) if prior.shape in ("normal", "lognormal") else prior


def wider_ordinary(by: float = WIDER) -> tuple[Parameter, ...]:
    """Ordinary flying with wider priors; shares and sides stay as they are.

    Args:
        by: Factor on the spread of every normal and log-normal prior.

    Returns:
        In the order of `ORDINARY`.
    """
    return tuple(replace(entry, prior=_wider(entry.prior, by)) for entry in ORDINARY)


WIDER_ORDINARY = wider_ordinary()
