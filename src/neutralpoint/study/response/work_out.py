"""Time and strength of a case: every cause that remains, with everything that could be done."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

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
from neutralpoint.response.trials import LANES
from neutralpoint.study.facts import facts_of
from neutralpoint.study.flying.fly import FLY
from neutralpoint.study.response.answered import Answered, Force
from neutralpoint.study.response.direction import FaultWay, SideTaken, flown_as
from neutralpoint.study.response.places import FlightStart, kept_places, pooled, shared_out
from neutralpoint.vocabulary import CauseName

Tell = Callable[[str, float], None]

HEIGHT = 3000.0 * FOOT  # above the ground where the case says none; analyst's
# Pilots, each with a fault, a cell of the maps over height and over rate: whole, and a quick look.
FULL, QUICK = (64, 16), (32, 8)
DELAY = np.arange(0.0, 12.5, 1.0)  # s from recognition to the first action
# Of the map over trim rates: shares of the motor's rate, and every other delay; few pilots fly it.
RATE, RATE_DELAY = np.linspace(0.2, 1.4, 7), DELAY[::2]
LEVELS = 12  # heights above the ground
LONGEST = 30.0  # s: latest moment of action that is looked at
FORCE_TIME = 20.0  # s of flight for which the force is shown


@dataclass(frozen=True)
class Reaction:
    """The reaction time that the analyst states: from recognition to the first action, s."""

    prior: Prior
    source: str


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
        places: Where flights started, more than one where several references may be the last.
        by_place: The causes again, of the pilots of each place.
    """

    setting: Setting
    begin: float
    height: float
    height_source: str
    level: Floats
    reaction: Reaction
    answered: tuple[Answered, ...]
    left_out: tuple[tuple[str, str], ...]
    places: tuple[FlightStart, ...] = ()
    by_place: tuple[tuple[Answered, ...], ...] = ()


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
    case: Case,
    verdicts: list[Judgement],
    wanted: tuple[str, ...],
    ruled_out: frozenset[CauseName] = frozenset(),
) -> tuple[list[Cause], list[tuple[str, str]]]:
    """The causes to work out, and why others are not.

    Args:
        case: Its airplane is known.
        verdicts: Of the required moment.
        wanted: Names; empty for all that remain.
        ruled_out: By the track.

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
        if not reason and not wanted and cause.name in ruled_out:
            reason = "The track rules it out."
        if reason:
            left_out.append((cause.title, reason))
        else:
            found.append(cause)
    return found, left_out


def _force(setting: Setting, cause: Cause, nose: int) -> Force | None:
    moved = works_the_trim(cause) or cause.name.startswith("load-shift")
    if not (moved or cause.name == "separation"):
        return None
    alone = without_hands(setting)
    fault = as_any(cause, typical_fault(cause, nose=nose))
    flight = FLY(alone, ANY_CAUSE, fault, duration=START + FORCE_TIME)
    pull = np.asarray(pull_to_hold(alone, flight))
    able = [np.asarray(share_able(POPULATION, pull, hands)) for hands in (1, 2)]
    return Force(np.asarray(flight.time) - START, pull, *able)


@dataclass(frozen=True)
class _Plan:
    """What is to be flown for one cause: trials by part, and how their outcomes are laid out."""

    cause: Cause
    flown: FaultWay
    procedures: tuple[str, ...]
    lessons: tuple[str, ...]
    reference: str
    parts: dict[str, tuple[Trials, tuple[int, ...]]]
    acts: Flags
    later: Trials


def _plan(
    setting: Setting,
    flown: tuple[Cause, FaultWay],
    reaction: Reaction,
    rng: np.random.Generator,
    crowd: tuple[int, int],
) -> _Plan:
    """Everything that could be done about one cause, by pilots and with faults that are drawn."""
    airplane, (cause, way) = setting.airplane, flown
    procedures = answers_to(cause, airplane)
    lessons = lessons_for(cause, airplane, procedures)
    named = {name: answer(airplane, steps) for name, steps in procedures.items()} | lessons
    many, less = crowd
    people, faults = draw_people(setting, rng, many), draw_faults(cause, rng, many, nose=way.nose)
    few, few_faults = draw_people(setting, rng, less), draw_faults(cause, rng, less, nose=way.nose)
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
            lambda each: over_rates(cause, each, few, few_faults, delay=RATE_DELAY, rate=RATE),
            *(len(RATE), len(RATE_DELAY), less),
        )
    acting = [each for name, each in named.items() if name != COLUMN_ALONE]
    return _Plan(
        cause=cause,
        flown=way,
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
        flown=plan.flown,
        procedures=plan.procedures,
        lessons=plan.lessons,
        reference=plan.reference,
        over_height=laid["over_height"],
        over_rate=laid.get("over_rate"),
        stated=laid["stated"],
        regulatory=laid["regulatory"],
        latest=moments,
        force=_force(setting, plan.cause, plan.flown.nose),
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
        lanes=LANES,
        told=lambda done: tell("Flying what could be done", 0.1 + 0.6 * done),
    )
    tell("Looking for the latest safe action", 0.7)
    later = join([plan.later for plan in plans])
    latest = latest_safe_action(
        setting, later, fault=START, height=height, longest=LONGEST, lanes=LANES
    )
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


def _part_told(tell: Tell, at: int, count: int, text: str, share: float) -> None:
    """Progress of one place as a part of all of them."""
    tell(text, (at + share) / count)


def work_out_responses(
    case: Case,
    places: list[FlightStart],
    verdicts: list[Judgement],
    *,
    ruled_out: frozenset[CauseName] = frozenset(),
    sides: Mapping[CauseName, SideTaken] | None = None,
    causes: tuple[str, ...] = (),
    height: float | None = None,
    measured: float | None = None,
    full: bool = True,
    tell: Tell,
) -> Responses:
    """Time and strength for every cause that remains.

    Args:
        case: The case; its airplane is known.
        places: Where flights may start; pilots are shared out by their weights.
        verdicts: Of the required moment.
        ruled_out: Causes that the track rules out; they are worked out only where they are named.
        sides: Which way the faults of the causes went, by the track; None where it is not known.
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
    found, left_out = chosen_causes(case, verdicts, causes or entry.causes, ruled_out)
    above, source = _height(entry.height.value if entry.height else None, height, measured)
    reaction = stated_reaction(case)
    numbers = {name: number for number, name in enumerate(CAUSES)}
    places = kept_places(places)
    main = int(np.argmax([place.weight for place in places]))
    weights = [place.weight for place in places]
    crowds = [shared_out(count, weights) for count in (FULL if full else QUICK)]
    parts = []
    for at, place in enumerate(places):
        crowd = (crowds[0][at], crowds[1][at])
        # One place has the pilots that it always had.
        lot = () if len(places) == 1 else (at,)
        plans = [
            _plan(
                place.setting,
                (cause, flown_as(cause, (sides or {}).get(cause.name))),
                reaction,
                np.random.default_rng([case.document.seed, 6, numbers[cause.name], *lot]),
                crowd,
            )
            for cause in found
        ]
        told = partial(_part_told, tell, at, len(places))
        parts.append(_answer_all(place.setting, plans, above, told) if plans else ())
    return Responses(
        setting=places[main].setting,
        begin=places[main].begin,
        height=above,
        height_source=source,
        level=np.linspace(0.0, 1.0, LEVELS + 1)[1:] * above,
        reaction=reaction,
        answered=pooled(parts, main),
        places=tuple(places),
        by_place=tuple(parts),
        left_out=tuple(left_out),
    )
