"""What time and strength come to, as the findings document says it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from neutralpoint.explanations import POPULATION
from neutralpoint.findings import SectionTable, StageSection, Statement
from neutralpoint.quantities import FOOT, KNOT, POUND_FORCE
from neutralpoint.response import (
    LESSONS,
    REGULATORY_DELAYS,
    Outcome,
    saved,
    saved_over_height,
    share_interval,
)
from neutralpoint.study.response.file import (
    RESPONSE_FILE,
    equivalent_speed,
    latest_quantiles,
    moment,
    over_pilots,
    within_limits,
)
from neutralpoint.study.response.work_out import Answered, Force, Responses
from neutralpoint.vocabulary.strength import TWO_HANDS

CAUTIONS = [
    "Shares are of invented pilots drawn from a stated population; they are about nobody.",
    "No blame: what a design or a habit would have bought is a lesson for design and training.",
    "A flown model shows what such a fault would take, not that there was one.",
]
RULES = (
    "1, 1.5 and 3 s are settings that rules and test practice use; they are never what a pilot did."
)
OTHERS = f"Shown: nothing done, the first procedure, what saves most; the rest in {RESPONSE_FILE}."
NO_DIFFERENCE = 0.5  # share of the height above which no more are saved that is worth saying
FORCE_TIMES = (5.0, 10.0, 15.0)  # s after the fault began, rows of the table
SHORT_TERM = TWO_HANDS.force


def response_section(of: Responses) -> StageSection:
    """Everything the stage hands to the report.

    Args:
        of: What was found.

    Returns:
        The section.
    """
    statements = [_premises(of), _population()]
    for found in of.answered:
        statements += _of_cause(found, of)
    statements += _left_out(of)
    tables = [_latest_table(of), _rules_table(of), _recovery_table(of), _lessons_table(of)]
    return StageSection(
        stage="response",
        title="Time and strength",
        cautions=CAUTIONS,
        statements=statements,
        tables=[*(t for t in tables if t.rows), *_force_tables(of)],
    )


def _basis(found: Answered, *names: str) -> list[str]:
    return [f"{RESPONSE_FILE}: {found.cause.name}/{name}" for name in names]


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f} %"


def _share(kept: NDArray[np.bool_]) -> str:
    """A share with its sampling error: 95 %, Wilson."""
    share = float(np.mean(kept))
    low, high = share_interval(np.array(share), kept.size)
    return f"{_percent(share)} ({_percent(float(low))} to {_percent(float(high))})"


def _height(of: Responses) -> str:
    return f"{of.height:.0f} m ({of.height / FOOT:.0f} ft)"


def _premises(of: Responses) -> Statement:
    prior, whose = of.reaction.prior, of.reaction.source
    default = f" ({of.height_source})"
    return Statement(
        kind="derived",
        text=f"Flown from the last trimmed flight, {_height(of)} above the ground{default}. From "
        f"recognition to the first action: median {prior.low:g} s, one standard deviation a factor "
        f"{np.exp(prior.high):.2f} ({whose}).",
        basis=[f"{RESPONSE_FILE}: height_above_ground_m, reaction_median_s, reaction_source"],
        caution=RULES,
    )


def _population() -> Statement:
    return Statement(
        kind="derived",
        text=f"The population: largest short pull with two hands, median "
        f"{POPULATION.median:.0f} N ({POPULATION.median / POUND_FORCE:.0f} lb), standard deviation "
        f"of the logarithm {POPULATION.spread:g}, one hand {POPULATION.one_hand:.2f} of it. The "
        "analyst's, set so that published findings hold; no published distribution. It lies below "
        "the average of 95 lb that Gough and Beard measured (NACA Rep. 550, 1936), because they "
        "asked a few pilots of their day, and because more than half of over 300 people of "
        "Beringer (2019) could not pull the 75 lb of 14 CFR 25.143.",
        basis=["explanations/strength.py"],
    )


def _of_cause(found: Answered, of: Responses) -> list[Statement]:
    first = found.procedures.index(found.reference)
    kept = np.asarray(saved(found.stated, of.height))
    said = [
        Statement(
            kind="inferred",
            text=f"Had it been this: {found.cause.title.lower()}. With '{found.reference}' begun "
            f"after the stated reaction, {_share(kept[first])} end above the ground; with "
            f"'{found.procedures[0]}' {_share(kept[0])} (95 % sampling error).",
            basis=_basis(found, "saved_stated"),
            caution="Such a pilot and such a fault are drawn, not known.",
        )
    ]
    said += _height_statement(found, of, first)
    if found.force is not None:
        said.append(_force_statement(found, found.force))
    return said


def _height_statement(found: Answered, of: Responses, number: int) -> list[Statement]:
    """Said where more height would have saved nobody more, over at least half of what there was."""
    stated = Outcome(*(leaf[number] for leaf in found.stated))
    share = saved_over_height(stated, of.level)
    enough = float(of.level[np.argmax(share >= share[-1])])
    if enough > NO_DIFFERENCE * of.height:
        return []
    return [
        Statement(
            kind="inferred",
            text=f"{found.cause.title}: height made no difference from {enough:.0f} m to "
            f"{of.height:.0f} m above the ground. With '{found.procedures[number]}' "
            f"{_percent(float(share[-1]))} end above the ground at every height between.",
            basis=_basis(found, "saved_stated"),
            caution="Such a pilot and such a fault are drawn, not known.",
        )
    ]


def _first(force: Force, level: float) -> str:
    past = np.flatnonzero(np.abs(force.pull) > level)
    if not len(past):
        return "never take"
    return f"take, from {max(float(force.time[past[0]]), 0.0):.0f} s on,"


def _force_statement(found: Answered, force: Force) -> Statement:
    return Statement(
        kind="inferred",
        text=f"{found.cause.title}, middling, with nobody at the column: within "
        f"{force.time[-1]:.0f} s holding on would {_first(force, SHORT_TERM)} more than "
        f"{SHORT_TERM:.0f} N (75 lb, the short-term limit of rules with two hands).",
        basis=_basis(found, "pull_to_hold"),
        caution="Unaccelerated flight at the speed and trim of each moment; a recovery takes more.",
    )


def _left_out(of: Responses) -> list[Statement]:
    return [
        Statement(
            kind="derived",
            text=f"Not worked out: {title}. {reason}",
            basis=[f"{RESPONSE_FILE}: left_out"],
        )
        for title, reason in of.left_out
    ]


def _shown(found: Answered, of: Responses) -> list[tuple[int, str]]:
    """Rows of the tables: nothing done, the reference, and what saves most; the file has all."""
    share = np.asarray(saved(found.stated, of.height)).mean(axis=-1)
    own = len(found.procedures) - len(found.lessons)
    rows = {0, found.procedures.index(found.reference), int(np.argmax(share[:own]))}
    return [(number, found.procedures[number]) for number in sorted(rows)]


def _latest_table(of: Responses) -> SectionTable:
    rows = []
    for found in of.answered:
        middle = latest_quantiles(found.latest)
        for number, name in _shown(found, of):
            each = found.latest[number]
            if not np.isnan(each).any():
                words = map(moment, middle[number])
                rows.append([found.cause.title, name, *words, _share(each < 0.0)])
    return SectionTable(
        caption="Latest moment after the fault began at which the procedure could still begin: "
        "for one pilot and fault in twenty it is earlier than the first figure, for half than the "
        "second, for one in twenty later than the third. Last: share for whom even at once is too "
        f"late, with 95 % sampling error. {OTHERS}",
        kind="inferred",
        columns=["had it been", "what is done", "5 %", "half", "95 %", "even at once too late"],
        rows=rows,
    )


def _rules_table(of: Responses) -> SectionTable:
    rows = []
    for found in of.answered:
        share = saved_over_height(found.regulatory, np.array([of.height]))[..., 0]
        count = found.regulatory.height_lost.shape[-1]
        low, high = share_interval(share, count)
        for number, name in _shown(found, of):
            cells = [
                f"{_percent(s)} ({_percent(a)} to {_percent(b)})"
                for s, a, b in zip(share[number], low[number], high[number], strict=True)
            ]
            rows.append([found.cause.title, name, *cells])
    return SectionTable(
        caption=f"Share that ends above the ground, by the delay of rules. {RULES} {OTHERS}",
        kind="inferred",
        columns=["had it been", "what is done", *(f"{d:g} s" for d in REGULATORY_DELAYS)],
        rows=rows,
    )


def _band(row, factor: float = 1.0, decimals: int = 0) -> str:
    if np.isnan(row).any():
        return "too few"
    low, middle, high = (f"{value / factor:.{decimals}f}" for value in row)
    return f"{middle} ({low} to {high})"


def _recovery_table(of: Responses) -> SectionTable:
    rows = []
    for found in of.answered:
        outcome = found.stated
        kept = np.asarray(saved(outcome, of.height))
        within = within_limits(outcome, of.setting, of.height)
        lost = over_pilots(outcome.height_lost, kept)
        speed = over_pilots(equivalent_speed(outcome.lowest_pressure), kept)
        load = over_pilots(outcome.load_factor_high, kept)
        for number, name in _shown(found, of):
            rows.append(
                [
                    found.cause.title,
                    name,
                    _share(kept[number]),
                    _share(within[number]),
                    _band(lost[number]),
                    _band(speed[number], KNOT),
                    _band(load[number], decimals=1),
                ]
            )
    return SectionTable(
        caption="At the stated reaction: share that ends above the ground, share that does so "
        "within the airplane's limits, and of those saved the height lost (m), the equivalent "
        "airspeed at the lowest point (kt) and the largest load factor, median and 90 % of pilots. "
        f"{OTHERS}",
        kind="inferred",
        columns=[
            "had it been",
            "what is done",
            "saved",
            "within limits",
            "height lost, m",
            "speed at the bottom, kt",
            "largest load factor",
        ],
        rows=rows,
    )


def _gain(kept: NDArray[np.bool_], base: NDArray[np.bool_]) -> str:
    """Change of share with its 95 % sampling error; the same pilots fly both.

    Half a pilot is added to each way to differ or agree, so that no change in few pilots does not
    look certain: Agresti and Min, Statistics in Medicine 24 (2005), from memory.
    """
    won, lost = float(np.sum(kept & ~base)) + 0.5, float(np.sum(base & ~kept)) + 0.5
    count = len(kept) + 2
    half = 1.96 * np.sqrt(won + lost - (won - lost) ** 2 / count) / count
    change = float(np.mean(kept) - np.mean(base))
    return f"{100.0 * change:+.0f} +- {100.0 * half:.0f} points"


def _lessons_table(of: Responses) -> SectionTable:
    sentences = {f"lesson: {lesson.name}": lesson.sentence for lesson in LESSONS}
    rows = []
    for found in of.answered:
        base = found.procedures.index(found.reference)
        kept = np.asarray(saved(found.stated, of.height))
        latest = latest_quantiles(found.latest)[:, 1]
        for name in found.lessons:
            number = found.procedures.index(name)
            rows.append(
                [
                    found.cause.title,
                    sentences[name],
                    found.reference,
                    _gain(kept[number], kept[base]),
                    f"{moment(latest[base])} to {moment(latest[number])}",
                ]
            )
    return SectionTable(
        caption="Lessons for design and training: what each would have bought against the "
        "procedure named, in share of pilots at the stated reaction and in the middling latest "
        "moment of action. The same pilots fly both; a change within its error is none shown.",
        kind="inferred",
        columns=["had it been", "lesson", "against", "saved", "latest action, half"],
        rows=rows,
    )


def _force_tables(of: Responses) -> list[SectionTable]:
    rows = []
    for found in of.answered:
        force = found.force
        if force is None:
            continue
        for time in FORCE_TIMES:
            at = int(np.argmin(np.abs(force.time - time)))
            pull = force.pull[at]
            if np.isfinite(pull):
                held = [_percent(force.one_hand[at]), _percent(force.two_hands[at])]
                shown = f"{pull:+.0f} N ({pull / POUND_FORCE:+.0f} lb)"
                rows.append([found.cause.title, f"{time:.0f} s", shown, *held])
    if not rows:
        return []
    return [
        SectionTable(
            caption="Column force that unaccelerated flight would take with nobody at the column "
            "before, pull positive, and the share of the stated population whose short pull "
            "reaches it.",
            kind="inferred",
            columns=["had it been", "after the fault", "force", "one hand", "two hands"],
            rows=rows,
        )
    ]
