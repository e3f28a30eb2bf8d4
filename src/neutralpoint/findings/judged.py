"""The judgement of every cause, joined from the required moment and the odds."""

from __future__ import annotations

import math

from neutralpoint.findings.judgement import (
    CauseCondition,
    CauseJudgement,
    Exclusion,
    Fit,
    JudgedOdds,
    JudgementFindings,
    MechanismSum,
    NeedAgainstHas,
    Open,
)
from neutralpoint.findings.moments import Drive, MomentsFindings, Need, Verdict, Word
from neutralpoint.findings.weighing import MechanismRow, OddsRow, WeighingFindings
from neutralpoint.vocabulary import QUANTITIES, CauseName

# P-value below which no listed cause comes near the track; analyst's choice.
THRESHOLD = 0.01
# P-value below which a cause needs errors that are unusual, as for the required moment.
ABLE = 0.05
# Odds that a cause may keep and still be excluded; with more the word yields. No blind flight whose
# track excluded a cause gave it more (benchmarks/results/one_judgement.md).
RESIDUAL = 0.01
# Names in the registry of what the required moment compares; those of the trim hang on its drive.
QUANTITY = {
    "trim-rate": "trim_rate",
    "elevator": "needed_elevator",
    "force": "needed_column_force",
    "cg-shift": "needed_cg_shift",
    "thrust": "needed_thrust",
    "incidence": "angle_of_attack",
    "bank": "bank_angle",
}
GRANT_UNIT = {
    "stronger-hands": "N",
    "crew-trim": "rad/s",
    "other-rate": "rad/s",
    "other-travel": "rad",
    "fixed-items": "m",
    "more-load": "m",
    "ice": "rad",
}


def judgement_of(
    moments: MomentsFindings | None, weighing: WeighingFindings | None
) -> JudgementFindings | None:
    """One entry a cause.

    Args:
        moments: What the required moment says.
        weighing: The odds.

    Returns:
        The judgement; None where neither stage has anything to say.
    """
    if weighing is None and not (moments and moments.verdicts):
        return None
    verdicts = {v.cause: v for v in moments.verdicts} if moments else {}
    odds = {row.cause: row for row in weighing.rows} if weighing else {}
    gated = {row.title for row in weighing.gated} if weighing else set()
    drive = moments.rate.drive if moments and moments.rate else "none"
    causes = sorted(CauseName, key=lambda c: -odds[c].probability if c in odds else 1.0)
    rows = [
        _judged(
            cause,
            verdicts.get(cause),
            odds.get(cause),
            gated=cause.title in gated,
            drive=drive,
            limit=weighing.p_limit if weighing else 0.0,
        )
        for cause in causes
        if cause in verdicts or cause in odds or cause.title in gated
    ]
    excluded = {row.cause for row in rows if row.word == "cannot"}
    sums = [_sum(row, excluded) for row in weighing.mechanisms] if weighing else []
    return JudgementFindings(
        rows=rows,
        mechanisms=sums,
        fit=_fit(rows, weighing.p_listed if weighing else None),
        residual=RESIDUAL,
    )


def _judged(
    cause: CauseName,
    verdict: Verdict | None,
    odds: OddsRow | None,
    *,
    gated: bool,
    drive: Drive,
    limit: float,
) -> CauseJudgement:
    against = _against(verdict, odds, limit)
    word = "cannot" if gated else _word(cause, verdict, odds, against)
    excluded: list[Exclusion] = ["airplane-or-facts"] if gated else against
    return CauseJudgement(
        cause=cause,
        mechanism=cause.mechanism,
        word=word,
        excluded_by=excluded if word == "cannot" else [],
        condition=_condition(verdict) if word == "can if" else None,
        open_because=_open(cause, verdict) if word == "not judged" else None,
        moment_probability=None if verdict is None else verdict.probability,
        needs=[_need(need, drive) for need in _telling(verdict)],
        best_flight=None if odds is None else odds.nearest,
        p_value=None if odds is None else odds.p_value,
        odds=None if odds is None else _odds(odds),
    )


def _against(verdict: Verdict | None, odds: OddsRow | None, limit: float) -> list[Exclusion]:
    """The tests that a cause does not pass."""
    found: list[Exclusion] = []
    if verdict is not None and verdict.word == "cannot":
        found.append("moment")
    if odds is not None and odds.p_value is not None and odds.p_value < limit:
        found.append("track")
    return found


def _word(
    cause: CauseName, verdict: Verdict | None, odds: OddsRow | None, against: list[Exclusion]
) -> Word:
    """One word from both tests; a cause that keeps odds is not excluded by either."""
    if cause is CauseName.UNLISTED:
        return "not judged"
    if against:
        return "cannot" if _unlikely(odds) else "can if"
    p_value = None if odds is None else odds.p_value
    if verdict is not None and verdict.word == "can if":
        return "can if"
    if p_value is not None:
        return "can if" if p_value < ABLE else "can"
    return "not judged" if verdict is None else verdict.word


def _unlikely(odds: OddsRow | None) -> bool:
    """Whether neither the odds nor the evidence alone, with equal weights, leave a cause more."""
    if odds is None:
        return True
    return odds.probability <= RESIDUAL and odds.log_evidence <= math.log(RESIDUAL)


def _open(cause: CauseName, verdict: Verdict | None) -> Open:
    if cause is CauseName.UNLISTED:
        return "unlisted"
    return "no-test" if verdict is None or verdict.reason is None else verdict.reason


def _condition(verdict: Verdict | None) -> CauseCondition:
    """What the required moment asks to be granted, else errors of the data that are unusual."""
    granted = verdict.granted if verdict and verdict.word == "can if" else None
    if granted is None:
        return CauseCondition(grant="large-errors")
    unit = "" if granted.value is None else GRANT_UNIT.get(granted.grant, "")
    beyond = granted.end == "beyond-measured"
    return CauseCondition(
        grant=granted.grant, value=granted.value, unit=unit, beyond_measured=beyond
    )


def _telling(verdict: Verdict | None) -> list[Need]:
    """Needs worth a comparison: the fastest moment of a noisy curve reads high, and where the drive
    at its own rate supplies the path there is nothing to compare."""
    if verdict is None:
        return []
    fits = verdict.word == "can"
    return [need for need in verdict.needs if not (fits and need.quantity == "trim-rate")]


def _need(need: Need, drive: Drive) -> NeedAgainstHas:
    trim = "needed_stabilizer" if drive == "stabilizer" else "needed_tab"
    name = QUANTITY.get(need.quantity, trim)
    return NeedAgainstHas(
        quantity=name, unit=QUANTITIES[name].unit, **need.model_dump(exclude={"quantity"})
    )


def _odds(row: OddsRow | MechanismRow) -> JudgedOdds:
    return JudgedOdds(
        prior=row.prior, probability=row.probability, lowest=row.lowest, highest=row.highest
    )


def _sum(row: MechanismRow, excluded: set[CauseName]) -> MechanismSum:
    return MechanismSum(
        mechanism=row.mechanism,
        causes=row.causes,
        excluded=[cause for cause in row.causes if cause in excluded],
        odds=_odds(row),
    )


def _fit(rows: list[CauseJudgement], p_listed: float | None) -> Fit:
    known = {row.cause: row.p_value for row in rows if row.p_value is not None}
    if not known or p_listed is None:
        return Fit(threshold=THRESHOLD)
    return Fit(
        best=max(known, key=lambda cause: known[cause]),
        p_value=p_listed,
        threshold=THRESHOLD,
        none_near=p_listed < THRESHOLD,
    )
