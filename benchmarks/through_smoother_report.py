"""What is said of blind flights of the project's own world that went through the smoother."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from as_a_study import HEAD, Rated, row

from neutralpoint.weighing.mechanism import grouped_prior
from neutralpoint.weighing.odds import NOTHING


@dataclass(frozen=True)
class Judged(Rated):
    """Odds of one flight.

    Attributes:
        window: "stated", or "left" to the program.
        cause: What failed.
        strata: What it was seen with and so on.
        names: Of the causes.
        probability: With equal mechanisms.
        nothing: Of no failure, at even odds.
    """

    window: str
    cause: str
    strata: tuple[str, ...]
    names: tuple[str, ...]
    probability: np.ndarray
    nothing: float

    @property
    def fitting(self) -> tuple[str, ...]:
        """The cause alone."""
        return (self.cause,)


def _table(found: list[Judged], *, causes: bool = True) -> Iterable[str]:
    yield from HEAD
    yield row("all", found, digits=1)
    failed = [one for one in found if one.cause != NOTHING]
    yield row("something failed", failed, digits=1)
    for label in sorted({each for one in found for each in one.strata}):
        yield row(label, [one for one in found if label in one.strata], digits=1)
    for cause in sorted({one.cause for one in found if causes}):
        yield row(cause, [one for one in found if one.cause == cause], digits=1)


def _even(found: list[Judged]) -> str:
    quiet = np.array([one.nothing for one in found if one.cause == NOTHING])
    failed = np.array([one.nothing for one in found if one.cause != NOTHING])
    return (
        f"At even odds no failure is the more likely in {np.mean(quiet > 0.5):.0%} of {quiet.size} "
        f"flights without a failure, and a failure in {np.mean(failed < 0.5):.0%} of "
        f"{failed.size} with one that left a trace."
    )


def as_drawn(found: list[Judged]) -> list[Judged]:
    """The same answers had the prior been how often the causes were flown.

    The prior of a study has equal mechanisms and a share of what nobody listed; the flights were
    drawn otherwise. Odds scored with another prior than the draws lose what the priors differ by.
    """
    count = Counter(one.cause for one in found)

    def one(each: Judged) -> Judged:
        stated = np.asarray(grouped_prior(each.names, None))
        flown = np.array([float(count[name]) for name in each.names])
        odds = each.probability / np.maximum(stated, 1e-12) * flown
        return replace(each, probability=odds / odds.sum())

    return [one(each) for each in found]


def _score(found: list[Judged]) -> float:
    return float(np.mean(np.log([max(one.given, 1e-9) for one in found])))


def report(found: list[Judged], seed: int) -> str:
    """The page.

    Args:
        found: All answers.
        seed: Of the flights.
    """
    stated, left = ([one for one in found if one.window == each] for each in ("stated", "left"))
    parts = ["## The compared window stated", "", *_table(stated), "", _even(stated), ""]
    title = "## The same, had the prior been how often each cause was flown"
    parts += [title, "", *_table(as_drawn(stated), causes=False), ""]
    if left:
        lost = _score(stated) - _score(left)
        title = f"## The window left to the program (costs {lost:.2f})"
        parts += [title, "", *_table(left), "", _even(left), ""]
    return "\n".join(
        [
            "# Blind flights through a track and the smoother",
            "",
            f"Made by benchmarks/through_smoother.py, seed {seed}: flights of the causes of this "
            "project, of airplanes and seeds that no network has seen (derivatives at least 20% "
            "off, other pilots, rougher air, a tenth of them of airplanes outside the family), "
            "with a minute of ordinary flying before, seen by the sensors of another simulator "
            "and computed by the smoother. Every mechanism is equally likely beforehand; score "
            "in nats.",
            "",
            *parts,
        ]
    )
