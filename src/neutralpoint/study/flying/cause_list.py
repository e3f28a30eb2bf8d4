"""The candidate causes as a page lists them, with what its sliders may reach."""

from __future__ import annotations

from typing import Any

from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import CAUSES, Facts, Parameter, find_cause, why_not
from neutralpoint.explanations.cause import Cause
from neutralpoint.response import answers_to, typical_fault
from neutralpoint.study.facts import facts_of
from neutralpoint.study.flying.fly import start_time

START_HINT = (
    "Run Required moment, or state under What the analyst settled when the upset began or when "
    "the airplane was last in trim."
)
SHARES = (0.05, 0.5, 0.95)  # of the prior: both ends of a slider, and its middle


def default_start(case: Case) -> float:
    """When a cause begins unless the page says otherwise: at the onset that the case gives.

    Args:
        case: The case.

    Returns:
        s after the flown flight begins.
    """
    if case.analysis.onset is None:
        return 0.0
    return max(case.analysis.onset - start_time(case), 0.0)


def middling_fault(name: str) -> dict[str, float]:
    """The fault of a cause that maps of time and strength are drawn for.

    Args:
        name: Of the cause.

    Returns:
        Value of each parameter, SI.
    """
    return typical_fault(find_cause(name))


def listed_causes(case: Case, axis_start: float) -> dict[str, Any]:
    """Every cause, whether it can act on the airplane, and its parameters.

    Args:
        case: With an airplane; without one no cause can be flown.
        axis_start: Beginning of the figure, s after the epoch.

    Returns:
        `start` of the flights on the figure's axis, `procedures` of all causes, and `causes`.
        Where nothing can be flown, `cannot` says why, in a sentence for all of them.
    """
    airplane = None if case.airplane is None else case.airplane.airplane
    start, onset, cannot, facts = None, 0.0, "", facts_of(case)
    try:
        start, onset = start_time(case) - axis_start, default_start(case)
    except NeutralPointError as unknown:
        airplane, cannot = None, f"{unknown.message} {START_HINT}"
    causes = [_cause(cause, airplane, onset, facts) for cause in CAUSES.values()]
    return {
        "start": start,
        "cannot": cannot,
        "procedures": list(dict.fromkeys(name for c in causes for name in c["procedures"])),
        "causes": causes,
    }


def _cause(cause: Cause, airplane: Any, onset: float, facts: Facts) -> dict[str, Any]:
    reason = "The case names no airplane." if airplane is None else why_not(cause, airplane, facts)
    return {
        "name": cause.name,
        "title": cause.title,
        "mechanism": cause.mechanism,
        "can_act": not reason,
        "why_not": reason,
        "cannot_explain": list(cause.cannot_explain),
        "physical_evidence": list(cause.evidence),
        "not_separable": list(cause.not_separable),
        "procedures": [] if reason or airplane is None else list(answers_to(cause, airplane)),
        "parameters": [_parameter(parameter, onset) for parameter in cause.parameters],
    }


def _parameter(parameter: Parameter, onset: float) -> dict[str, Any]:
    low, median, high = sorted(float(parameter.prior.quantile(share)) for share in SHARES)
    return {
        "name": parameter.name,
        "meaning": parameter.meaning,
        "unit": parameter.unit,
        "shape": parameter.prior.shape,
        "low": min(low, onset) if parameter.name == "start" else low,
        "median": median,
        "high": max(high, onset) if parameter.name == "start" else high,
        "value": onset if parameter.name == "start" else parameter.prior.middle,
        "source": parameter.source,
    }
