"""Time and strength of a case: every cause that remains, with everything that could be done."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

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
from neutralpoint.moments import Judgement, Word
from neutralpoint.numerics.arrays import Flags, Floats
from neutralpoint.quantities import FOOT
from neutralpoint.response import (
    COLUMN_ALONE,
    REACTION,
    REACTION_SOURCE,
    REGULATORY_DELAYS,
    START,
    Answer,
    Outcome,
    Trials,
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
from neutralpoint.study.facts import facts_of
from neutralpoint.study.flying.fly import FLY

Tell = Callable[[str, float], None]

HEIGHT = 3000.0 * FOOT  # above the ground where the case says none; analyst's
# Pilots, each with a fault, a cell of the maps over height and over rate: whole, and a quick look.
FULL, QUICK = (64, 16), (32, 8)
DELAY = np.arange(0.0, 12.5, 1.0)  # s from recognition to the first action
RATE = np.linspace(0.2, 1.4, 9)  # shares of the motor's rate
LEVELS = 12  # heights above the ground
LONGEST = 30.0  # s: latest moment of action that is looked at
FORCE_TIME = 20.0  # s of flight for which the force is shown


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
    over_height: Outcome[Floats]
    over_rate: Outcome[Floats] | None
    stated: Outcome[Floats]
    regulatory: Outcome[Floats]
    latest: Floats
    force: Force | None


@dataclass(frozen=True)
class Responses:
    """Time and strength of a case.

    Attributes:
        setting: Where all flights start.
        begin: s after the track's epoch.
        height: Above the ground there, m.
        height_source: Where that comes from.
        level: Heights above the ground that the maps show, m.
        reaction: As the analyst states it.
        answered: Causes that were worked out.
        left_out: Title and reason of those that were not.
    """

    setting: Setting
    begin: float
    height: float
    height_source: str
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
    case: Case, verdicts: list[Judgement], wanted: tuple[str, ...]
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
    airplane = case.described.airplane
    cannot = {judged.cause for judged in verdicts if judged.word is Word.CANNOT}
    found, left_out = [], []
    for cause in [find_cause(name) for name in wanted] or CAUSES.values():
        reason = why_not(cause, airplane, facts_of(case)) or why_no_map(cause)
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


@dataclass(frozen=True)
class _Plan:
    """What is to be flown for one cause: trials by part, and how their outcomes are laid out."""

    cause: Cause
    procedures: tuple[str, ...]
    lessons: tuple[str, ...]
    reference: str
    parts: dict[str, tuple[Trials, tuple[int, ...]]]
    acts: Flags
    later: Trials


def _plan(
    setting: Setting,
    cause: Cause,
    reaction: Reaction,
    rng: np.random.Generator,
    crowd: tuple[int, int],
) -> _Plan:
    """Everything that could be done about one cause, by pilots and with faults that are drawn."""
    airplane = setting.airplane
    procedures = answers_to(cause, airplane)
    lessons = lessons_for(cause, airplane, procedures)
    named = {name: answer(airplane, steps) for name, steps in procedures.items()} | lessons
    many, less = crowd
    people, faults = draw_people(setting, rng, many), draw_faults(cause, rng, many)
    few, few_faults = draw_people(setting, rng, less), draw_faults(cause, rng, less)
    waited = np.asarray(reaction.prior.quantile((rng.permutation(many) + 0.5) / many))
    rules = np.array(REGULATORY_DELAYS)

    def all_answers(make: Callable[[Answer], Trials], *shape: int):
        return join([make(each) for each in named.values()]), (len(named), *shape)

    parts = {
        "over_height": all_answers(
            lambda each: over_delays(cause, each, people, faults, DELAY), len(DELAY), many
        ),
        "stated": all_answers(
            lambda each: trials_of(cause, each, people, faults, reaction=waited), many
        ),
        "regulatory": all_answers(
            lambda each: over_delays(cause, each, people, faults, rules), len(rules), many
        ),
    }
    if not why_no_rate_map(cause):
        parts["over_rate"] = all_answers(
            lambda each: over_rates(cause, each, few, few_faults, delay=DELAY, rate=RATE),
            *(len(RATE), len(DELAY), less),
        )
    acting = [each for name, each in named.items() if name != COLUMN_ALONE]
    return _Plan(
        cause=cause,
        procedures=tuple(named),
        lessons=tuple(lessons),
        reference=reference_procedure(procedures),
        parts=parts,
        acts=np.array([name != COLUMN_ALONE for name in named]),
        later=join([trials_of(cause, each, people, faults) for each in acting]),
    )


def _answered(setting: Setting, plan: _Plan, outcome: Outcome[Floats], latest: Floats) -> Answered:
    """One cause with its outcomes, which lie in the order of its parts."""
    laid, at = {}, 0
    for name, (_, shape) in plan.parts.items():
        size = int(np.prod(shape))
        laid[name] = shaped(Outcome(*(leaf[at : at + size] for leaf in outcome)), *shape)
        at += size
    count = latest.size // int(plan.acts.sum())
    moments = np.full((len(plan.procedures), count), np.nan)
    moments[plan.acts] = latest.reshape(-1, count)
    return Answered(
        cause=plan.cause,
        procedures=plan.procedures,
        lessons=plan.lessons,
        reference=plan.reference,
        over_height=laid["over_height"],
        over_rate=laid.get("over_rate"),
        stated=laid["stated"],
        regulatory=laid["regulatory"],
        latest=moments,
        force=_force(setting, plan.cause),
    )


def _split(leaf: Floats, counts: list[int]) -> list[Floats]:
    return np.split(leaf, np.cumsum(counts)[:-1])


def _answer_all(
    setting: Setting, plans: list[_Plan], height: float, tell: Tell
) -> tuple[Answered, ...]:
    """Fly the plans of all causes as one queue: lanes stand idle only once, at its end."""
    trials = join([trials for plan in plans for trials, _ in plan.parts.values()])
    tell(f"Flying what could be done about {len(plans)} cause(s)", 0.1)
    outcome = fly_trials(
        setting,
        trials,
        deepest=height,
        told=lambda done: tell("Flying what could be done", 0.1 + 0.6 * done),
    )
    tell("Looking for the latest safe action", 0.7)
    later = join([plan.later for plan in plans])
    latest = latest_safe_action(setting, later, fault=START, height=height, longest=LONGEST)
    tell("Computing forces", 0.9)
    counts = [sum(int(np.prod(shape)) for _, shape in plan.parts.values()) for plan in plans]
    leaves = [_split(leaf, counts) for leaf in outcome]
    moments = _split(latest, [len(plan.later.strength) for plan in plans])
    return tuple(
        _answered(setting, plan, Outcome(*(leaf[n] for leaf in leaves)), moments[n])
        for n, plan in enumerate(plans)
    )


def _height(said: float | None, told: float | None, measured: float | None) -> tuple[float, str]:
    """Height above the ground and where it comes from: told, stated, measured, or a default."""
    stated = said if told is None else told
    if stated is not None:
        return stated, "stated by the analyst"
    if measured is not None and measured > 0.0:
        return measured, "of the track above the case's terrain"
    return HEIGHT, "a default: the case states none and has no terrain below the track"


def work_out_responses(
    case: Case,
    setting: Setting,
    begin: float,
    verdicts: list[Judgement],
    *,
    causes: tuple[str, ...] = (),
    height: float | None = None,
    measured: float | None = None,
    full: bool = True,
    tell: Tell,
) -> Responses:
    """Time and strength for every cause that remains.

    Args:
        case: The case; its airplane is known.
        setting: Trimmed flight from the motion.
        begin: When, s after the track's epoch.
        verdicts: Of the required moment.
        causes: Names; empty for those of the case, or all that remain.
        height: Above the ground, m; None = as the case says, as measured, or `HEIGHT`.
        measured: Height of the track over its terrain there, m; None where either is not known.
        full: Whether to draw as many pilots as a result needs; else a quick look.
        tell: Told in words what is being done, and the share that is done.

    Returns:
        What was found.

    Raises:
        NeutralPointError: `argument-invalid` for a cause that cannot be worked out.
    """
    entry = case.document.response
    found, left_out = chosen_causes(case, verdicts, causes or entry.causes)
    above, source = _height(entry.height.value if entry.height else None, height, measured)
    reaction = stated_reaction(case)
    numbers = {name: number for number, name in enumerate(CAUSES)}
    seed = case.document.seed
    plans = [
        _plan(
            setting,
            cause,
            reaction,
            np.random.default_rng([seed, 6, numbers[cause.name]]),
            FULL if full else QUICK,
        )
        for cause in found
    ]
    return Responses(
        setting=setting,
        begin=begin,
        height=above,
        height_source=source,
        level=np.linspace(0.0, 1.0, LEVELS + 1)[1:] * above,
        reaction=reaction,
        answered=_answer_all(setting, plans, above, tell) if plans else (),
        left_out=tuple(left_out),
    )
