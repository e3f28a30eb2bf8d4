"""Claims that cannot both be said, whatever the findings support of each alone."""

from __future__ import annotations

from itertools import combinations

from neutralpoint.findings import Claim, ClaimedNumber, Doubt
from neutralpoint.report.claims.check import denies

SAME_TIME = 0.5  # s within which two numbers speak of one moment: the grid of the motion
WHOLE = 1.01  # most that likelihoods of things that exclude each other may sum to, as printed
APART = 0.01  # difference of two printed likelihoods of one thing


def contradictions(claims: list[Claim]) -> list[list[Doubt]]:
    """What of a list of claims cannot be said together.

    Args:
        claims: Of one analyst on one case.

    Returns:
        For each claim a doubt for every other one that it contradicts.
    """
    found: list[list[Doubt]] = [[] for _ in claims]
    for first, second in combinations(range(len(claims)), 2):
        if _contrary(claims[first], claims[second]):
            for own, other in ((first, second), (second, first)):
                found[own].append(Doubt(code="contradicts", about=claims[other].name))
    return found


def _contrary(first: Claim, second: Claim) -> bool:
    if first.number is not None and second.number is not None:
        return _of_one_number(first.number, second.number) and _too_much(first, second)
    if not first.cause or not second.cause:
        return False
    if first.cause == second.cause:
        return _of_one_cause(first, second)
    affirmed = not denies(first) and not denies(second)
    stated = first.likelihood is not None and second.likelihood is not None
    return affirmed and stated and _too_much(first, second)


def _of_one_number(first: ClaimedNumber, second: ClaimedNumber) -> bool:
    """Intervals of one quantity at one moment, or of one extreme, that do not meet."""
    if first.quantity != second.quantity or first.extreme != second.extreme:
        return False
    if first.extreme is None and abs(first.time - second.time) > SAME_TIME:
        return False
    return first.high < second.low or second.high < first.low


def _of_one_cause(first: Claim, second: Claim) -> bool:
    """One cause affirmed and denied, or given two likelihoods."""
    if denies(first) != denies(second):
        return _too_much(first, second)
    if first.likelihood is None or second.likelihood is None:
        return False
    return abs(first.likelihood - second.likelihood) > APART


def _too_much(first: Claim, second: Claim) -> bool:
    """Whether both together claim more than certainty; a claim without a likelihood is certain."""
    given = (1.0 if claim.likelihood is None else claim.likelihood for claim in (first, second))
    return sum(given) > WHOLE
