"""Pilots and faults drawn, maps of outcomes, and the latest safe action."""

from __future__ import annotations

from typing import NamedTuple

import jax
import numpy as np
from scipy.stats import binomtest

from neutralpoint.explanations.any_cause import as_any
from neutralpoint.explanations.cause import Cause
from neutralpoint.explanations.nose import nose_by_nature, nose_of
from neutralpoint.explanations.prior import Prior
from neutralpoint.explanations.setting import Setting
from neutralpoint.explanations.strength import POPULATION, Population, draw_strength
from neutralpoint.numerics.arrays import Floats
from neutralpoint.response.answers import Answer
from neutralpoint.response.outcome import Outcome, saved
from neutralpoint.response.trials import Trials, fly_trials

# From recognition to the first action, s. Analyst's, no published distribution: none was found for
# a trim runaway, and none is invented here; the analyst states one.
REACTION = Prior("lognormal", 4.0, 0.5)
REACTION_SOURCE = "analyst's estimate, no published distribution"
# Delays that rules and test practice use after recognition, s: 14 CFR 23.677(d) and 25.255 by test
# practice (3; 1.5 late on approach), AC 23-8C (1 in manoeuvring flight), from memory. Reference
# settings, never what a pilot did.
REGULATORY_DELAYS = (1.0, 1.5, 3.0)
# Spreads of gain and delay between pilots, standard deviations of the logarithm. Analyst's
# estimate.
CROSSOVER_SPREAD, DELAY_SPREAD = 0.2, 0.3


class People(NamedTuple):
    """Pilots who differ; leaves (p,). Strength N, crossover rad/s, delay s."""

    strength: Floats
    crossover: Floats
    delay: Floats


def draw_people(
    setting: Setting,
    rng: np.random.Generator,
    count: int,
    population: Population = POPULATION,
) -> People:
    """Pilots drawn from a population, stratified in strength.

    Args:
        setting: Holds the typical pilot.
        rng: Random numbers.
        count: How many.
        population: Of strength.

    Returns:
        The pilots.
    """
    # One pilot for each equal share of the population: a share saved then wanders less from draw to
    # draw than with strengths drawn one by one.
    share = (rng.permutation(count) + 0.5) / count
    typical = setting.pilot
    return People(
        np.asarray(draw_strength(population, share)),
        np.asarray(typical.crossover) * np.exp(CROSSOVER_SPREAD * rng.standard_normal(count)),
        np.asarray(typical.delay) * np.exp(DELAY_SPREAD * rng.standard_normal(count)),
    )


def _settled(cause: Cause, parameters: dict[str, Floats]) -> Floats:
    """When a fault does nothing new by itself: after all its durations but an endless run."""
    lasting = [p.name for p in cause.parameters if p.unit == "s" and p.name != "run"]
    return sum((np.asarray(parameters[name], float) for name in lasting), np.zeros(()))


def _nose(cause: Cause, parameters: dict[str, Floats]) -> Floats | float:
    """Which way each fault pitches, 0 where it has no side."""
    turned = nose_of(cause, parameters)
    return float(nose_by_nature(cause)) if turned is None else turned


def trials_of(
    cause: Cause,
    answer: Answer,
    people: People,
    parameters: dict[str, Floats],
    *,
    reaction: Floats | float = 0.0,
    act_at: Floats | float = np.inf,
) -> Trials:
    """One trial for each pilot.

    Args:
        cause: What happens.
        answer: What is done about it.
        people: Pilots, leaves (n,).
        parameters: Of the cause, each (n,) or one number.
        reaction: From recognition to the first action, s.
        act_at: Time of the first action instead, s; infinite = as recognised.

    Returns:
        Trials, leaves (n, ...).
    """
    count = len(people.strength)

    def each(value):
        return np.broadcast_to(np.asarray(value, float), (count,))

    parameters = {name: each(value) for name, value in parameters.items()}
    fault = as_any(cause, parameters)
    return Trials(
        number=fault["index"],
        values=fault["values"],
        settled=_settled(cause, parameters),
        timetable=jax.tree.map(each, answer.timetable),
        strength=people.strength,
        crossover=people.crossover,
        delay=people.delay,
        reaction=each(reaction),
        act_at=each(act_at),
        cue_delay=each(answer.cue_delay),
        manual_rate=each(answer.manual_rate),
        nose=each(_nose(cause, parameters)),
    )


def repeat(tree, count: int):
    """Every leaf (n, ...) as (count n, ...), the whole of it again and again.

    Args:
        tree: Of arrays.
        count: How often.

    Returns:
        The tree.
    """
    return jax.tree.map(
        lambda x: np.broadcast_to(x, (count, *np.shape(x))).reshape(-1, *np.shape(x)[1:]), tree
    )


def over_delays(
    cause: Cause,
    answer: Answer,
    people: People,
    parameters: dict[str, Floats],
    delay: Floats,
) -> Trials:
    """Every pilot with every reaction delay.

    Args:
        cause: What happens.
        answer: What is done about it.
        people: Pilots, leaves (p,).
        parameters: Of the cause, each (p,).
        delay: From recognition to the first action, s, (d,).

    Returns:
        Trials in the order (d, p).
    """
    count = len(people.strength)
    parameters = {k: np.broadcast_to(np.asarray(v, float), (count,)) for k, v in parameters.items()}
    return trials_of(
        cause,
        answer,
        repeat(people, len(delay)),
        repeat(parameters, len(delay)),
        reaction=np.repeat(delay, count),
    )


def over_rates(
    cause: Cause,
    answer: Answer,
    people: People,
    parameters: dict[str, Floats],
    *,
    delay: Floats,
    rate: Floats,
) -> Trials:
    """Every pilot with every reaction delay and trim rate.

    Args:
        cause: With a `rate_share`, which is replaced.
        answer: What is done about it.
        people: Pilots, leaves (p,).
        parameters: Of the cause, each (p,).
        delay: From recognition to the first action, s, (d,).
        rate: Share of the motor's rate, (r,).

    Returns:
        Trials in the order (r, d, p).
    """
    count = len(people.strength)
    parameters = {k: np.broadcast_to(np.asarray(v, float), (count,)) for k, v in parameters.items()}
    many = repeat(parameters, len(rate)) | {"rate_share": np.repeat(rate, count)}
    trials = over_delays(cause, answer, repeat(people, len(rate)), many, delay)
    shape = (len(delay), len(rate), count)

    # `over_delays` runs delays outermost; the map wants the rate there.
    def ordered(leaf):
        leaf = leaf.reshape(*shape, *leaf.shape[1:])
        return np.swapaxes(leaf, 0, 1).reshape(-1, *leaf.shape[3:])

    return jax.tree.map(ordered, trials)


def shaped(outcome: Outcome[Floats], *shape: int) -> Outcome[Floats]:
    """An outcome with its leaves in a shape.

    Args:
        outcome: Leaves (n,).
        shape: Of n in all.

    Returns:
        Leaves of that shape.
    """
    return Outcome(*(np.asarray(leaf).reshape(shape) for leaf in outcome))


def saved_over_height(outcome: Outcome, height: Floats) -> Floats:
    """Share of flights saved for each height above the ground, from the same flights.

    Args:
        outcome: Leaves (..., p).
        height: (h,) m.

    Returns:
        (..., h).
    """
    each = Outcome(*(np.asarray(leaf)[..., None] for leaf in outcome))
    return np.mean(np.asarray(saved(each, height)), axis=-2)


def share_interval(share: Floats, count: int) -> tuple[Floats, Floats]:
    """95% interval of a share that was counted among some flights.

    Source: Wilson, Journal of the American Statistical Association 22 (1927). It takes the flights
    as independent; strength is stratified, so the true interval is somewhat narrower.

    Args:
        share: Counted, 0 to 1.
        count: Flights.

    Returns:
        Lower and upper end.
    """

    def ends(counted: float) -> tuple[float, float]:
        interval = binomtest(round(counted * count), count).proportion_ci(0.95, method="wilson")
        return interval.low, interval.high

    counted, back = np.unique(share, return_inverse=True)  # a map holds few different shares
    each = np.array([ends(s) for s in counted])[back].reshape(*np.shape(share), 2)
    return each[..., 0], each[..., 1]


def latest_safe_action(
    setting: Setting,
    trials: Trials,
    *,
    fault: Floats | float,
    height: float,
    longest: float = 30.0,
    rounds: int = 8,
    **run,
) -> Floats:
    """How long after the fault begins the procedure could still begin, by bisection in the batch.

    It is assumed that later is never better.

    Args:
        setting: Where all start.
        trials: n of them; when they act is replaced.
        fault: When the fault begins, s.
        height: Above the ground at the start, m.
        longest: Longest delay looked at, s.
        rounds: Halvings; 8 of 30 s leave 0.12 s.
        **run: As in `fly_trials`.

    Returns:
        (n,) s after the start of the fault; -1 where even at once is too late, infinite where
        even the longest is soon enough.
    """
    count = len(trials.strength)

    def safe(delay, who):
        some = jax.tree.map(lambda x: x[who], trials)
        some = some._replace(act_at=np.broadcast_to(fault, (count,))[who] + delay)
        return np.asarray(saved(fly_trials(setting, some, deepest=height, **run), height))

    low, high = np.zeros(count), np.full(count, longest)
    everybody = np.arange(count)
    never, always = ~safe(low, everybody), safe(high, everybody)
    open_still = np.flatnonzero(~never & ~always)
    for _ in range(rounds if len(open_still) else 0):
        middle = 0.5 * (low + high)[open_still]
        good = safe(middle, open_still)
        low[open_still] = np.where(good, middle, low[open_still])
        high[open_still] = np.where(good, high[open_still], middle)
    return np.where(always, np.inf, np.where(never, -1.0, low))
