"""What the shipped networks say of the judge's flights, and how far that can be trusted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from as_a_study import HEAD, Rated, look, row
from six_degrees_faults import KINDS
from six_degrees_worked import Worked

from neutralpoint.errors import NeutralPointError
from neutralpoint.study.weighing.nulls import load_nulls
from neutralpoint.study.weighing.score import kind_of_data
from neutralpoint.study.weighing.windows import (
    course_within,
    mean_over,
    mixed,
    over_windows,
)
from neutralpoint.weighing.check import EXCLUDED, p_values
from neutralpoint.weighing.mechanism import grouped_prior, mechanisms_of
from neutralpoint.weighing.odds import NOTHING, UNLISTED
from neutralpoint.weighing.simulate import flyable
from neutralpoint.weighing.weigh import reweigh


@dataclass(frozen=True)
class Judged(Rated):
    """Odds of one flight by equal mechanisms, and of no failure at even odds."""

    worked: Worked
    names: tuple[str, ...]
    probability: np.ndarray
    nothing: float
    checked: dict[str, float]

    @property
    def fitting(self) -> tuple[str, ...]:
        """Causes that fit what was done."""
        return self.worked.fitting

    @property
    def before(self) -> float:
        """Probability of the causes that fit before the track."""
        told = dict(zip(self.names, grouped_prior(self.names, None), strict=True))
        return float(sum(told.get(cause, 0.0) for cause in self.worked.fitting))

    @property
    def out(self) -> set[str]:
        """Causes that the check of each cause excludes."""
        return {name for name, p in self.checked.items() if p < EXCLUDED}


def judged(worked: Worked) -> Judged:
    """The odds, with the onset left to the program, by the functions of a study."""
    seen = look(worked)
    names = (*(cause.name for cause in flyable(worked.airplane)), UNLISTED)
    inquiry = seen.inquiry(names, flap=worked.flap)
    asked = over_windows(inquiry, worked.airplane, seen.windows())
    runs = mixed(asked)
    first = asked[0].window
    course = course_within(inquiry.motion, first.begin, first.end)
    kind = kind_of_data(inquiry.given(worked.airplane, first.begin, course).seen.error)
    nulls = load_nulls()
    checked = mean_over(asked, lambda one: p_values(nulls, names, one, kind))
    equal = reweigh(names, grouped_prior(names, None), runs).probability
    even = reweigh(names, grouped_prior(names, 0.5), runs).probability
    return Judged(worked, names, np.asarray(equal), float(even[names.index(NOTHING)]), checked)


def _mechanisms(found: list[Judged]) -> str:
    """Score where causes of one mechanism count as one."""
    kept = []
    for one in found:
        groups = [group for each in one.worked.fitting for group in mechanisms_of((each,))]
        own = [mechanisms_of((name,))[0] for name in one.names]
        kept.append(sum(p for p, g in zip(one.probability, own, strict=True) if g in groups))
    score = np.log(np.maximum(kept, 1e-9))
    return f"{score.mean():.2f} ± {score.std() / np.sqrt(score.size):.2f}"


def report(worked: list[Worked], seed: list[int]) -> str:
    """The page of results."""
    found = []
    for each in worked:
        try:
            found.append(judged(each))
        except NeutralPointError as error:
            print(f"not asked: {each.kind}: {error}", flush=True)
    return page(found, seed, len(worked))


def page(found: list[Judged], seed: list[int], count: int) -> str:
    """The page of flights that were asked."""
    quiet = [one for one in found if one.worked.fitting == (NOTHING,)]
    listed = [one for one in found if one not in quiet and one.worked.fitting != (UNLISTED,)]
    off = [one for one in found if one.worked.fitting == (UNLISTED,)]
    upsets = listed + off
    labels = sorted({x for one in found for x in one.worked.strata})
    unlisted = [one.probability[one.names.index(UNLISTED)] for one in off]
    nothing = np.array([one.nothing for one in quiet])
    told = [one for one in found if one.worked.fitting != (UNLISTED,)]
    lost = [all(cause in one.out for cause in one.worked.fitting) for one in told]
    others = [len(one.out - set(one.worked.fitting)) for one in told]
    wrong = [len(set(one.names) - set(one.worked.fitting)) - 1 for one in told]
    noticed = np.array([1.0 - one.nothing for one in upsets])
    lines = [
        "# Odds on flights of a rigid airplane in six degrees of freedom",
        "",
        f"Made by benchmarks/six_degrees_odds.py, seed {', '.join(map(str, seed))}: "
        f"{len(found)} of {count} flights of another simulator, other pilots, faults and "
        "sensors, the shipped networks, no case stated, onset left to the program, every "
        "mechanism equally likely beforehand. Score: "
        "mean logarithm (nats) of the probability of the causes that fit what was done; *leads*: "
        "the most probable cause fits; *90% set*: the smallest set with 90% holds one that fits.",
        "",
        *HEAD,
        row("all", found),
        row("something of the list failed", listed),
        row("no failure", quiet),
        row("something off the list", off),
        *(row(label, [one for one in found if label in one.worked.strata]) for label in labels),
        *(
            row(kind, chosen)
            for kind in KINDS
            if (chosen := [one for one in found if one.worked.kind == kind])
        ),
        "",
        f"By mechanism the log score of all is {_mechanisms(found)}; without the track the causes "
        f"score {np.mean([np.log(one.before) for one in found]):.2f}.",
        "",
        f"The check of each cause excludes every cause that fits in {np.mean(lost):.1%} of "
        f"{len(lost)} flights, and {sum(others) / max(sum(wrong), 1):.0%} of the causes that do "
        "not fit.",
        "",
        f"Even odds that something failed: no failure is the more likely in "
        f"{np.mean(nothing > 0.5):.0%} of {nothing.size} flights without a failure; a failure in "
        f"{np.mean(noticed > 0.5):.0%} of {noticed.size} flights with a fault or an event that "
        f"left a trace. Unlisted has {np.mean(unlisted):.0%} on average, and leads in "
        f"{np.mean([one.leads for one in off]):.0%}, where the cause is on no list.",
        "",
    ]
    return "\n".join(lines)
