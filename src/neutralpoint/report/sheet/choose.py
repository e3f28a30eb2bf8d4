"""Which findings stand on the sheet: chosen by rule, none worked out."""

from __future__ import annotations

from dataclasses import dataclass

from neutralpoint.findings import Findings
from neutralpoint.findings.judged import judgement_of
from neutralpoint.findings.judgement import CauseJudgement, JudgementFindings
from neutralpoint.vocabulary import CauseName

# All the analyst's: what is worth a row, how many there are, and which flights are drawn.
WORTH_A_ROW, ALWAYS, MOST_ROWS = 0.01, 3, 6
DISAGREES = 0.05  # odds from which an excluded cause keeps its row, for the two tests disagree
DRAWN, MOST_DRAWN = 0.10, 3
HOLDS = 0.90  # share of the odds that the causes left in question hold
LIKELY = 0.66  # from which one cause may head the page alone; "likely" of the published scale


@dataclass(frozen=True)
class Chosen:
    """Places in `judgement.rows` of what is shown.

    Attributes:
        rows: Causes with a row of their own.
        small: Possible, and each below a hundredth.
        excluded: Folded to a line each.
        drawn: Whose nearest flight is drawn.
        open: The fewest causes that hold `HOLDS` of the odds, most probable first.
        none_near: Whether no listed cause comes near the track.
        odds: Whether there are any.
        response: Place in `response.rows` of the cause whose recovery is shown; None without.
    """

    rows: tuple[int, ...] = ()
    small: tuple[int, ...] = ()
    excluded: tuple[int, ...] = ()
    drawn: tuple[int, ...] = ()
    open: tuple[int, ...] = ()
    none_near: bool = False
    odds: bool = False
    response: int | None = None


def with_judgement(findings: Findings) -> Findings:
    """The findings with the judgement, also where an older document holds none."""
    if findings.judgement is not None:
        return findings
    made = judgement_of(findings.moments, findings.weighing)
    return findings.model_copy(update={"judgement": made})


def choose(findings: Findings) -> Chosen:
    """Choose what is shown.

    Args:
        findings: Of `with_judgement`.

    Returns:
        The places.
    """
    judged = findings.judgement
    if judged is None:
        return Chosen(response=_response(findings, ()))
    order = sorted(range(len(judged.rows)), key=lambda i: -_odds(judged.rows[i]))
    rows = _rows(judged, order)
    rest = [i for i in order if i not in rows]
    left = _open(judged, order)
    drawn = _drawn(judged, rows)
    return Chosen(
        rows=rows,
        small=tuple(i for i in rest if judged.rows[i].word != "cannot"),
        excluded=tuple(i for i in rest if judged.rows[i].word == "cannot"),
        drawn=drawn,
        open=left,
        none_near=judged.fit.none_near is True,
        odds=any(row.odds is not None for row in judged.rows),
        response=_response(findings, tuple(judged.rows[i].cause for i in order)),
    )


def _odds(row: CauseJudgement) -> float:
    return -1.0 if row.odds is None else row.odds.probability


def _rows(judged: JudgementFindings, order: list[int]) -> tuple[int, ...]:
    kept = []
    for i in order:
        row = judged.rows[i]
        least = DISAGREES if row.word == "cannot" else WORTH_A_ROW
        few = len(kept) < ALWAYS and row.word != "cannot" and row.cause is not CauseName.UNLISTED
        if (_odds(row) >= least or few) and len(kept) < MOST_ROWS:
            kept.append(i)
    return tuple(kept)


def _open(judged: JudgementFindings, order: list[int]) -> tuple[int, ...]:
    held, total = [], 0.0
    for i in order:
        if total >= HOLDS or judged.rows[i].odds is None:
            break
        held.append(i)
        total += _odds(judged.rows[i])
    return tuple(held)


def _drawn(judged: JudgementFindings, rows: tuple[int, ...]) -> tuple[int, ...]:
    """Likely causes, and the next one so that there are two to compare."""
    flown = [i for i in rows if judged.rows[i].best_flight is not None]
    likely = [i for i in flown if _odds(judged.rows[i]) >= DRAWN]
    return tuple(likely[:MOST_DRAWN] if len(likely) > 1 else flown[:2])


def _response(findings: Findings, causes: tuple[CauseName, ...]) -> int | None:
    """The likeliest cause whose recovery was flown."""
    if findings.response is None or not findings.response.rows:
        return None
    flown = [row.cause for row in findings.response.rows]
    return next((flown.index(cause) for cause in causes if cause in flown), 0)
