"""The candidate causes as a page lists them, with what its sliders may reach."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from neutralpoint.airplane.model import Airplane
from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import CAUSES, Facts, Parameter, find_cause, why_not
from neutralpoint.explanations.cause import Cause
from neutralpoint.response import answers_to, typical_fault
from neutralpoint.study.facts import facts_of
from neutralpoint.study.flying.fly import start_time
from neutralpoint.vocabulary import CauseName
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


def fault_of_maps(name: str, *, nose: int = 1) -> dict[str, float]:
    """The fault of a cause that maps of time and strength are drawn for.

    Args:
        name: Of the cause.
        nose: 1 lowers it, -1 raises it.

    Returns:
        Value of each parameter, SI.
    """
    return typical_fault(find_cause(name), nose=nose)


@dataclass(frozen=True)
class ListedValue:
    """A value of a parameter that is one thing or another."""

    value: float
    label: str


@dataclass(frozen=True)
class ListedUnit:
    """The unit that people read, where it is not the SI unit."""

    symbol: str
    factor: float


@dataclass(frozen=True)
class ListedParameter:
    """A parameter of a cause, SI, with what its slider may reach.

    Attributes:
        name: Key.
        meaning: In words.
        unit: SI.
        shape: Of the prior.
        low: Low end of the slider.
        median: Of the prior.
        high: High end of the slider.
        value: Where the slider stands first.
        source: Of the prior.
        least: Smallest number that may be typed.
        most: Largest one.
        shown: Unit that people read; None for the SI unit.
        said: What is chosen, in words; None for a slider.
        choices: All values; None for a slider.
    """

    name: str
    meaning: str
    unit: str
    shape: str
    low: float
    median: float
    high: float
    value: float
    source: str
    least: float
    most: float
    shown: ListedUnit | None
    said: str | None
    choices: list[ListedValue] | None


@dataclass(frozen=True)
class ListedCause:
    """A cause, whether it can act on the airplane, and its parameters.

    Attributes:
        name: Key.
        title: In words.
        mechanism: One sentence.
        can_act: On this airplane, given the facts.
        why_not: Reason; empty where it can.
        cannot_explain: What it could not have done.
        physical_evidence: That discriminates.
        not_separable: What the track alone cannot tell it from.
        procedures: That answer it on this airplane.
        parameters: With what their sliders may reach.
    """

    name: CauseName
    title: str
    mechanism: str
    can_act: bool
    why_not: str
    cannot_explain: list[str]
    physical_evidence: list[str]
    not_separable: list[str]
    procedures: list[str]
    parameters: list[ListedParameter]


@dataclass(frozen=True)
class CauseList:
    """The causes of a case.

    Attributes:
        start: Of the flights, s on the axis of the figure; None where it is not known.
        cannot: Why nothing can be flown, for all of them; empty where something can.
        procedures: Of all causes, each once.
        causes: All.
    """

    start: float | None
    cannot: str
    procedures: list[str]
    causes: list[ListedCause]


def listed_causes(case: Case, axis_start: float) -> CauseList:
    """Every cause, whether it can act on the airplane, and its parameters.

    Args:
        case: With an airplane; without one no cause can be flown.
        axis_start: Beginning of the figure, s after the epoch.

    Returns:
        The list.
    """
    airplane = None if case.airplane is None else case.airplane.airplane
    start: float | None = None
    onset, cannot, facts = 0.0, "", facts_of(case)
    try:
        start, onset = start_time(case) - axis_start, default_start(case)
    except NeutralPointError as unknown:
        airplane, cannot = None, f"{unknown.message} {START_HINT}"
    causes = [_cause(cause, airplane, onset, facts) for cause in CAUSES.values()]
    procedures = list(dict.fromkeys(name for cause in causes for name in cause.procedures))
    return CauseList(start, cannot, procedures, causes)


def _cause(cause: Cause, airplane: Airplane | None, onset: float, facts: Facts) -> ListedCause:
    reason = "The case names no airplane." if airplane is None else why_not(cause, airplane, facts)
    return ListedCause(
        name=cause.name,
        title=cause.title,
        mechanism=cause.mechanism,
        can_act=not reason,
        why_not=reason,
        cannot_explain=list(cause.cannot_explain),
        physical_evidence=list(cause.evidence),
        not_separable=list(cause.not_separable),
        procedures=[] if reason or airplane is None else list(answers_to(cause, airplane)),
        parameters=[_parameter(parameter, onset) for parameter in cause.parameters],
    )


def _parameter(parameter: Parameter, onset: float) -> ListedParameter:
    low, median, high = sorted(float(parameter.prior.quantile(share)) for share in SHARES)
    begins = parameter.name == "start"
    low, high = (min(low, onset), max(high, onset)) if begins else (low, high)
    least, most = _limits(parameter, low, high)
    said, choices = _choices(parameter)
    scale = SCALES.get(parameter.unit)
    return ListedParameter(
        name=parameter.name,
        meaning=parameter.meaning,
        unit=parameter.unit,
        shape=parameter.prior.shape,
        low=low,
        median=median,
        high=high,
        value=onset if begins else parameter.prior.middle,
        source=parameter.source,
        least=least,
        most=most,
        shown=None if scale is None else ListedUnit(scale.symbol, scale.factor),
        said=said,
        choices=choices,
    )


def _limits(parameter: Parameter, low: float, high: float) -> tuple[float, float]:
    """What a typed number may be: all that the prior holds possible, and nothing beyond sense."""
    prior = parameter.prior
    ends = (prior.quantile(share) for share in WIDEST)
    least, most = sorted(map(float, (prior.low, prior.high) if prior.shape == "uniform" else ends))
    return min(least, low), max(most, high)


def _choices(parameter: Parameter) -> tuple[str | None, list[ListedValue] | None]:
    """What is chosen, and its values by name, of a parameter that is one thing or another."""
    prior = parameter.prior
    if prior.shape not in ("either", "count"):
        return None, None
    whole = prior.shape == "count"
    values = range(int(prior.low), int(prior.high)) if whole else sorted({prior.low, prior.high})
    found = NAMED.findall(parameter.meaning)
    named = {float(value): words.removeprefix("where ") for value, words in found}
    if len(named) > 1:
        return parameter.name, _labeled(values, named)
    said = next(iter(named.values()), parameter.meaning)
    return said, _labeled(values, {0.0: "no", 1.0: "yes"})


def _labeled(values: Iterable[float], names: dict[float, str]) -> list[ListedValue]:
    return [ListedValue(value, names.get(float(value), f"{value:g}")) for value in values]
