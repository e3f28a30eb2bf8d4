"""Time and strength of a case: every cause that remains, with everything that could be done."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import (
    CAUSES,
    POPULATION,
    Cause,
    Prior,
    Setting,
    find_cause,
    share_able,
    why_not,
)
from neutralpoint.explanations.any_cause import ANY_CAUSE, as_any
from neutralpoint.moments import Verdict
from neutralpoint.quantities import FOOT
from neutralpoint.response import (
    ONLY_PULL,
    REACTION,
    REACTION_SOURCE,
    REGULATORY_DELAYS,
    START,
    Answer,
    Outcome,
    answer,
    answers_to,
    draw_faults,
    draw_people,
    fly_trials,
    join,
    latest_safe_action,
    lessons_for,
    over_delays,
    over_rates,
    pull_to_hold,
    reference_procedure,
    shaped,
    trials_of,
    typical_fault,
    why_no_map,
    why_no_rate_map,
    without_hands,
    works_the_trim,
)
from neutralpoint.study.fly import FLY

Floats = NDArray[np.float64]
Tell = Callable[[str, float], None]

HEIGHT = 3000.0 * FOOT  # above the ground where the case says none; analyst's
PILOTS, RATE_PILOTS = 64, 16  # pilots, each with a fault, a cell of the maps
DELAY = np.arange(0.0, 12.5, 1.0)  # s from recognition to the first action
RATE = np.linspace(0.2, 1.4, 9)  # shares of the motor's rate
LEVELS = 12  # heights above the ground
LONGEST = 30.0  # s: latest moment of action that is looked at
FORCE_TIME = 20.0  # s of flight for which the force is shown
# How the required moment calls the causes that it judges. The spiral it judges is one without a
# pull, which the spiral flown here is not.
FAMILIES = {
    "stabilizer runaway": "stabilizer-runaway",
    "tab runaway": "tab-runaway",
    "stabilizer that stops and restarts": "trim-restarts",
    "tab that stops and restarts": "trim-restarts",
    "stabilizer separation": "separation",
    "tab separation": "separation",
    "elevator off its trimmed place (jam or disconnect)": "elevator-jam",
    "load shift aft": "load-shift-aft",
    "load shift forward": "load-shift-forward",
    "wing stall": "wing-stall",
}


@dataclass(frozen=True)
class Reaction:
    """The reaction time that the analyst states: from recognition to the first action, s."""

    prior: Prior
    source: str


@dataclass(frozen=True)
class Force:
    """With nobody at the column: the pull that holding on would take, and who could give it.

    Attributes:
        time: s after the fault began, shape (n,).
        pull: N, shape (n,).
        one_hand: Share of the population, shape (n,).
        two_hands: The same with two hands.
    """

    time: Floats
    pull: Floats
    one_hand: Floats
    two_hands: Floats


@dataclass(frozen=True)
class Answered:
    """One cause and all that could be done about it.

    Attributes:
        cause: The cause.
        procedures: What is done; lessons follow the airplane's own.
        lessons: Names of the lessons, the last of `procedures`.
        reference: The procedure that lessons are compared with.
        over_height: Flights over procedure, delay and pilot.
        over_rate: Over procedure, rate, delay and pilot; None without a trim rate.
        stated: Over procedure and pilot, at the stated reaction.
        regulatory: Over procedure, delay of the rules and pilot.
        latest: Latest safe action, s after the fault began, over procedure and pilot; -1 even at
            once is too late, infinite no end within `LONGEST`; NaN where nothing is begun.
        force: None where the airplane that holding on is worked out for is not the faulty one.
    """

    cause: Cause
    procedures: tuple[str, ...]
    lessons: tuple[str, ...]
    reference: str
    over_height: Outcome
    over_rate: Outcome | None
    stated: Outcome
    regulatory: Outcome
    latest: Floats
    force: Force | None


@dataclass(frozen=True)
class Responses:
    """Time and strength of a case.

    Attributes:
        setting: Where all flights start.
        begin: s after the track's epoch.
        height: Above the ground there, m.
        stated_height: Whether the case or an option says so.
        level: Heights above the ground that the maps show, m.
        reaction: As the analyst states it.
        answered: Causes that were worked out.
        left_out: Title and reason of those that were not.
    """

    setting: Setting
    begin: float
    height: float
    stated_height: bool
    level: Floats
    reaction: Reaction
    answered: tuple[Answered, ...]
    left_out: tuple[tuple[str, str], ...]


def stated_reaction(case: Case) -> Reaction:
    """The reaction time of the case, or the default with its mark.

    Args:
        case: The case.

    Returns:
        The reaction.
    """
    entry = case.document.response
    if entry.reaction is None:
        return Reaction(REACTION, REACTION_SOURCE)
    prior = Prior("lognormal", entry.reaction.value, entry.reaction_spread)
    return Reaction(prior, entry.reaction_source or f"stated by the analyst; {REACTION_SOURCE}")


def chosen_causes(
    case: Case, verdicts: list[Verdict], wanted: tuple[str, ...]
) -> tuple[list[Cause], list[tuple[str, str]]]:
    """The causes to work out, and why others are not.

    Args:
        case: Its airplane is known.
        verdicts: Of the required moment.
        wanted: Names; empty for all that remain.

    Returns:
        Causes; title and reason of the others.

    Raises:
        NeutralPointError: `argument-invalid` for a name that is not known or cannot act.
    """
    airplane = case.airplane.airplane
    cannot = {FAMILIES.get(v.family) for v in verdicts if v.word == "cannot"}
    found, left_out = [], []
    for cause in [find_cause(name) for name in wanted] or CAUSES.values():
        reason = why_not(cause, airplane) or why_no_map(cause)
        if reason and wanted:
            raise NeutralPointError(
                "argument-invalid", reason, where=cause.name, hint="Name another cause."
            )
        if not reason and not wanted and cause.name in cannot:
            reason = "The required moment says that it cannot have made this path."
        if reason:
            left_out.append((cause.title, reason))
        else:
            found.append(cause)
    return found, left_out


def _force(setting: Setting, cause: Cause) -> Force | None:
    moved = works_the_trim(cause) or cause.name.startswith("load-shift")
    if not (moved or cause.name == "separation"):
        return None
    alone = without_hands(setting)
    fault = as_any(cause, typical_fault(cause))
    flight = FLY(alone, ANY_CAUSE, fault, duration=START + FORCE_TIME)
    pull = np.asarray(pull_to_hold(alone, flight))
    able = [np.asarray(share_able(POPULATION, pull, hands)) for hands in (1, 2)]
    return Force(np.asarray(flight.time) - START, pull, *able)


class _Bench:
    """Flights of one cause: what all parts share."""

    def __init__(self, setting: Setting, cause: Cause, height: float, rng) -> None:
        self.setting, self.cause, self.height, self.rng = setting, cause, height, rng

    def drawn(self, count: int):
        """Pilots, and a fault for each."""
        people = draw_people(self.setting, self.rng, count)
        return people, draw_faults(self.cause, self.rng, count)

    def fly(self, make: Callable, answers: list[Answer], *shape: int) -> Outcome:
        """Outcomes over answer and whatever `make` makes of each."""
        trials = join([make(each) for each in answers])
        outcome = fly_trials(self.setting, trials, deepest=self.height)
        return shaped(outcome, len(answers), *shape)

    def latest(self, answers: list[Answer], acts: list[bool], people, faults) -> Floats:
        trials = [
            trials_of(self.cause, each, people, faults)
            for each, any_action in zip(answers, acts, strict=True)
            if any_action
        ]
        found = np.full((len(answers), PILOTS), np.nan)
        found[np.array(acts)] = latest_safe_action(
            self.setting, join(trials), fault=START, height=self.height, longest=LONGEST
        ).reshape(-1, PILOTS)
        return found


def answer_cause(
    setting: Setting, cause: Cause, height: float, reaction: Reaction, rng: np.random.Generator
) -> Answered:
    """Everything that could be done about one cause.

    Args:
        setting: Where the flights start.
        cause: What happens.
        height: Above the ground at the start, m.
        reaction: As the analyst states it.
        rng: Random numbers.

    Returns:
        What was found.
    """
    airplane = setting.airplane
    procedures = answers_to(cause, airplane)
    lessons = lessons_for(cause, airplane, procedures)
    named = {name: answer(airplane, steps) for name, steps in procedures.items()} | lessons
    answers = list(named.values())
    bench = _Bench(setting, cause, height, rng)
    people, faults = bench.drawn(PILOTS)
    few, few_faults = bench.drawn(RATE_PILOTS)
    share = (rng.permutation(PILOTS) + 0.5) / PILOTS
    waited = np.asarray(reaction.prior.quantile(share))
    rules = np.array(REGULATORY_DELAYS)
    over_rate = None
    if not why_no_rate_map(cause):
        over_rate = bench.fly(
            lambda each: over_rates(cause, each, few, few_faults, delay=DELAY, rate=RATE),
            answers,
            *(len(RATE), len(DELAY), RATE_PILOTS),
        )
    return Answered(
        cause=cause,
        procedures=tuple(named),
        lessons=tuple(lessons),
        reference=reference_procedure(procedures),
        over_height=bench.fly(
            lambda each: over_delays(cause, each, people, faults, DELAY),
            answers,
            *(len(DELAY), PILOTS),
        ),
        over_rate=over_rate,
        stated=bench.fly(
            lambda each: trials_of(cause, each, people, faults, reaction=waited), answers, PILOTS
        ),
        regulatory=bench.fly(
            lambda each: over_delays(cause, each, people, faults, rules),
            answers,
            *(len(rules), PILOTS),
        ),
        latest=bench.latest(answers, [n != ONLY_PULL for n in named], people, faults),
        force=_force(setting, cause),
    )


def work_out_responses(
    case: Case,
    setting: Setting,
    begin: float,
    verdicts: list[Verdict],
    *,
    causes: tuple[str, ...] = (),
    height: float | None = None,
    tell: Tell,
) -> Responses:
    """Time and strength for every cause that remains.

    Args:
        case: The case; its airplane is known.
        setting: Trimmed flight from the motion.
        begin: When, s after the track's epoch.
        verdicts: Of the required moment.
        causes: Names; empty for those of the case, or all that remain.
        height: Above the ground, m; None = as the case says, or `HEIGHT`.
        tell: Told in words what is being done, and the share that is done.

    Returns:
        What was found.

    Raises:
        NeutralPointError: `argument-invalid` for a cause that cannot be worked out.
    """
    entry = case.document.response
    found, left_out = chosen_causes(case, verdicts, causes or entry.causes)
    stated = height if height is not None else (entry.height.value if entry.height else None)
    above = HEIGHT if stated is None else stated
    reaction = stated_reaction(case)
    answered = []
    for number, cause in enumerate(found):
        tell(f"Flying what could be done: {cause.title}", number / len(found))
        rng = np.random.default_rng([case.document.seed, 6, list(CAUSES).index(cause.name)])
        answered.append(answer_cause(setting, cause, above, reaction, rng))
    return Responses(
        setting=setting,
        begin=begin,
        height=above,
        stated_height=stated is not None,
        level=np.linspace(0.0, 1.0, LEVELS + 1)[1:] * above,
        reaction=reaction,
        answered=tuple(answered),
        left_out=tuple(left_out),
    )
