"""What is said of blind flights of the project's own world that went through the smoother."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from neutralpoint.weighing.odds import NOTHING

HEAD = (
    "| flights | how many | log score | leads | below 1 % | 90 % set holds |",
    "|---|---|---|---|---|---|",
)


@dataclass(frozen=True)
class Judged:
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
    def given(self) -> float:
        """Probability of what failed."""
        return float(self.probability[self.names.index(self.cause)])

    @property
    def leads(self) -> bool:
        """Whether what failed is the most probable."""
        return self.names[int(self.probability.argmax())] == self.cause

    @property
    def held(self) -> bool:
        """Whether the smallest set with 90 % holds it."""
        order = np.argsort(-self.probability)
        size = int(np.searchsorted(np.cumsum(self.probability[order]), 0.9)) + 1
        return self.cause in [self.names[k] for k in order[:size]]


def row(label: str, found: list[Judged]) -> str:
    """One row of a table."""
    given = np.array([one.given for one in found])
    score = np.log(np.maximum(given, 1e-9))
    return (
        f"| {label} | {len(found)} | {score.mean():.2f} ± {score.std() / len(found) ** 0.5:.2f} | "
        f"{np.mean([one.leads for one in found]):.0%} | {np.mean(given < 0.01):.1%} | "
        f"{np.mean([one.held for one in found]):.0%} |"
    )


def _table(found: list[Judged]) -> Iterable[str]:
    yield from HEAD
    yield row("all", found)
    failed = [one for one in found if one.cause != NOTHING]
    yield row("something failed", failed)
    for label in sorted({each for one in found for each in one.strata}):
        yield row(label, [one for one in found if label in one.strata])
    for cause in sorted({one.cause for one in found}):
        yield row(cause, [one for one in found if one.cause == cause])


def _even(found: list[Judged]) -> str:
    quiet = np.array([one.nothing for one in found if one.cause == NOTHING])
    failed = np.array([one.nothing for one in found if one.cause != NOTHING])
    return (
        f"At even odds no failure is the more likely in {np.mean(quiet > 0.5):.0%} of {quiet.size} "
        f"flights on which nothing failed, and a failure in {np.mean(failed < 0.5):.0%} of "
        f"{failed.size} with one that left a trace."
    )


def report(found: list[Judged], seed: int) -> str:
    """The page.

    Args:
        found: All answers.
        seed: Of the flights.
    """
    stated, left = ([one for one in found if one.window == each] for each in ("stated", "left"))
    lost = np.mean(np.log([max(a.given, 1e-9) for a in stated])) - np.mean(
        np.log([max(a.given, 1e-9) for a in left])
    )
    return "\n".join(
        [
            "# Blind flights through a track and the smoother",
            "",
            f"Made by benchmarks/through_smoother.py, seed {seed}: flights of the causes of this "
            "project, of airplanes and seeds that no network has seen (derivatives at least 20 % "
            "off, other pilots, rougher air, a tenth of them of airplanes outside the family), "
            "with a minute of ordinary flying before, seen by the sensors of another simulator "
            "and worked out by the smoother. Every mechanism is equally likely beforehand; score "
            "in nats.",
            "",
            "## The compared window stated",
            "",
            *_table(stated),
            "",
            _even(stated),
            "",
            f"## The window left to the program (costs {lost:.2f})",
            "",
            *_table(left),
            "",
            _even(left),
            "",
        ]
    )
