"""The candidate causes as a page lists them, with what its sliders may reach."""

from __future__ import annotations

import re
from typing import Any

from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import CAUSES, Facts, Parameter, find_cause, why_not
from neutralpoint.explanations.cause import Cause
from neutralpoint.response import answers_to, typical_fault
from neutralpoint.study.facts import facts_of
from neutralpoint.study.flying.fly import start_time
from neutralpoint.vocabulary.quantity import SCALES

START_HINT = (
    "Run Required moment, or state under What the analyst settled when the upset began or when "
    "the airplane was last in trim."
)
SHARES = (0.05, 0.5, 0.95)  # of the prior: both ends of a slider, and its middle
WIDEST = (0.0005, 0.9995)  # of the prior: what a typed number may be
# "1 nose down, -1 nose up" says what each value of a choice is called.
NAMED = re.compile(r"(-?\d+) ([^,]+)")


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
    begins = parameter.name == "start"
    low, high = (min(low, onset), max(high, onset)) if begins else (low, high)
    return {
        "name": parameter.name,
        "meaning": parameter.meaning,
        "unit": parameter.unit,
        "shape": parameter.prior.shape,
        "low": low,
        "median": median,
        "high": high,
        "value": onset if begins else parameter.prior.middle,
        "source": parameter.source,
        **_limits(parameter, low, high),
        **_shown(parameter),
        **_choices(parameter),
    }


def _limits(parameter: Parameter, low: float, high: float) -> dict[str, float]:
    """What a typed number may be: all that the prior holds possible, and nothing beyond sense."""
    prior = parameter.prior
    ends = (prior.quantile(share) for share in WIDEST)
    least, most = sorted(map(float, (prior.low, prior.high) if prior.shape == "uniform" else ends))
    return {"least": min(least, low), "most": max(most, high)}


def _shown(parameter: Parameter) -> dict[str, Any]:
    """The unit that people read, where it is not the SI unit."""
    scale = SCALES.get(parameter.unit)
    return {} if scale is None else {"shown": {"symbol": scale.symbol, "factor": scale.factor}}


def _choices(parameter: Parameter) -> dict[str, Any]:
    """The values of a parameter that is one thing or another, each with its name."""
    prior = parameter.prior
    if prior.shape not in ("either", "count"):
        return {}
    whole = prior.shape == "count"
    values = range(int(prior.low), int(prior.high)) if whole else sorted({prior.low, prior.high})
    found = NAMED.findall(parameter.meaning)
    named = {float(value): words.removeprefix("where ") for value, words in found}
    if len(named) > 1:
        return {
            "said": parameter.name,
            "choices": [{"value": v, "label": named.get(float(v), f"{v:g}")} for v in values],
        }
    said = next(iter(named.values()), parameter.meaning)
    answers = {0.0: "no", 1.0: "yes"}
    return {
        "said": said,
        "choices": [{"value": v, "label": answers.get(float(v), f"{v:g}")} for v in values],
    }
