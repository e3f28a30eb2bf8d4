"""The judgement of every cause, joined from the required moment and the odds."""

from __future__ import annotations

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
from neutralpoint.findings.moments import Drive, Granted, MomentsFindings, Need, Verdict, Word
from neutralpoint.findings.weighing import MechanismRow, OddsRow, WeighingFindings
from neutralpoint.vocabulary import QUANTITIES, CauseName

# P-value below which a cause does not come near the track; analyst's choice.
THRESHOLD = 0.01
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
        _judged(cause, verdicts.get(cause), odds.get(cause), cause.title in gated, drive)
        for cause in causes
        if cause in verdicts or cause in odds or cause.title in gated
    ]
    excluded = {row.cause for row in rows if row.word == "cannot"}
    sums = [_sum(row, excluded) for row in weighing.mechanisms] if weighing else []
    return JudgementFindings(rows=rows, mechanisms=sums, fit=_fit(rows))


def _judged(
    cause: CauseName, verdict: Verdict | None, odds: OddsRow | None, gated: bool, drive: Drive
) -> CauseJudgement:
    word, excluded = _word(verdict, gated)
    granted = verdict.granted if verdict and word == "can if" else None
    return CauseJudgement(
        cause=cause,
        mechanism=cause.mechanism,
        word=word,
        excluded_by=excluded,
        condition=None if granted is None else _condition(granted),
        open_because=_open(cause, verdict) if word == "not judged" else None,
        moment_probability=None if verdict is None else verdict.probability,
        needs=[_need(need, drive) for need in verdict.needs] if verdict else [],
        best_flight=None if odds is None else odds.nearest,
        odds=None if odds is None else _odds(odds),
    )


def _word(verdict: Verdict | None, gated: bool) -> tuple[Word, list[Exclusion]]:
    if gated:
        return "cannot", ["airplane-or-facts"]
    if verdict is None:
        return "not judged", []
    return verdict.word, ["moment"] if verdict.word == "cannot" else []


def _open(cause: CauseName, verdict: Verdict | None) -> Open:
    if cause is CauseName.UNLISTED:
        return "unlisted"
    return "no-test" if verdict is None or verdict.reason is None else verdict.reason


def _condition(granted: Granted) -> CauseCondition:
    unit = "" if granted.value is None else GRANT_UNIT.get(granted.grant, "")
    beyond = granted.end == "beyond-measured"
    return CauseCondition(
        grant=granted.grant, value=granted.value, unit=unit, beyond_measured=beyond
    )


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


def _fit(rows: list[CauseJudgement]) -> Fit:
    known = {row.cause: row.p_value for row in rows if row.p_value is not None}
    if not known:
        return Fit(threshold=THRESHOLD)
    best = max(known, key=lambda cause: known[cause])
    return Fit(
        best=best,
        p_value=known[best],
        threshold=THRESHOLD,
        none_near=known[best] < THRESHOLD,
    )
