"""The weighing as the findings document holds it: odds, nearest flights, other evidence."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import numpy as np

from neutralpoint.airplane.model import TrimDrive
from neutralpoint.explanations import CAUSES
from neutralpoint.explanations.nose import nose_of
from neutralpoint.findings import (
    BlindScore,
    CauseParameter,
    ChanceRow,
    EvidenceRow,
    GatedCause,
    MechanismRow,
    OddsRow,
    OddsWindow,
    WeighingFindings,
)
from neutralpoint.study.weighing.evidence import PERCEPTION
from neutralpoint.study.weighing.file import WEIGHING_DATA, weighing_document
from neutralpoint.study.weighing.saved import (
    WEIGHING_FILE,
    SavedCause,
    SavedEvidence,
    SavedMechanism,
)
from neutralpoint.study.weighing.score import elsewhere, score
from neutralpoint.study.weighing.sway import ranges, sway_rows
from neutralpoint.study.weighing.windows import WindowAsked
from neutralpoint.study.weighing.work_out import Weighing
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.broken import broke_at
from neutralpoint.weighing.check import EXCLUDED
from neutralpoint.weighing.weigh import reweigh

SHOWN = 0.02  # causes below this probability get no parameters; they stay in the file
FEW_BREAK = 0.05  # share of flights from whose breaking on a path is not trusted; analyst's
HEARD = ("words:", "voice:")  # items that rest on what was said


def weighing_findings(found: Weighing, drive: TrimDrive, results: Path) -> WeighingFindings:
    """What the stage hands on.

    Args:
        found: What was found.
        drive: Of the airplane's trim.
        results: Results folder; its score is shown where it has one.

    Returns:
        The odds.
    """
    saved = weighing_document(found, drive)
    rows = sorted(saved.causes, key=lambda row: -row.probability)
    sways = sway_rows(found)
    reach = ranges(found, sways)
    return WeighingFindings(
        file=WEIGHING_FILE,
        data_file=WEIGHING_DATA,
        place=found.place.verdict,
        odd=found.place.odd,
        odd_by=found.place.by,
        begin=found.begin,
        windows=[_window(found, asked) for asked in found.windows],
        networks=saved.seeds,
        leader=CauseName(found.leader),
        rival=CauseName(found.twin),
        prior=saved.prior,
        rows=[_row(row, found, reach[row.name]) for row in rows],
        mechanisms=[_mechanism(row) for row in saved.mechanisms],
        readings=saved.readings,
        evidence=[_evidence(row) for row in saved.evidence],
        weighed=[CauseName(name) for name in found.odds.causes],
        gated=[GatedCause(title=title, reason=reason) for title, reason in found.gated],
        heard=found.heard,
        drive=drive.kind,
        travel=[float(drive.travel_min), float(drive.travel_max)] if drive.kind != "none" else [],
        p_listed=found.p_listed,
        p_limit=EXCLUDED if found.p_values else 0.0,
        score=blind_score(results, saved.stratum),
        sways=sways,
    )


def _window(found: Weighing, asked: WindowAsked) -> OddsWindow:
    odds = reweigh(found.odds.causes, found.odds.prior, asked.runs, found.beside)
    each = zip(odds.causes, map(float, odds.probability), strict=True)
    return OddsWindow(
        begin=asked.window.begin,
        end=asked.window.end,
        weight=min(asked.window.weight, 1.0),
        leader=CauseName(odds.causes[odds.order()[0]]),
        probability={CauseName(name): min(chance, 1.0) for name, chance in each},
    )


def _row(row: SavedCause, found: Weighing, reach: tuple[float, float]) -> OddsRow:
    cause, chance = CAUSES[row.name], min(row.probability, 1.0)
    parameters = row.parameters.items() if chance >= SHOWN else ()
    return OddsRow(
        cause=row.name,
        prior=row.prior,
        probability=chance,
        lowest=min(row.low, chance),
        highest=min(max(row.high, chance), 1.0),
        least=min(reach[0], chance),
        most=min(max(reach[1], chance), 1.0),
        log_evidence=row.log_evidence,
        log_evidence_error=row.log_evidence_error,
        log_bayes_factor=row.log_bayes_factor,
        strength=row.words,
        p_value=found.p_values.get(row.name),
        nearest=row.nearest,
        trim_end=row.trim_end,
        traced=row.traced,
        nose_up=_nose_up(row.name, found),
        **_broke(row.name, found),
        parameters=[
            CauseParameter(
                name=name,
                meaning=entry.meaning,
                unit=entry.unit,
                after=entry.quantiles,
                before=entry.prior,
            )
            for name, entry in parameters
        ],
        cannot_explain=list(cause.cannot_explain),
        not_separable=list(cause.not_separable),
    )


def _nose_up(name: CauseName, found: Weighing) -> float | None:
    """Share of the flights of a cause that follow the track whose fault raises the nose."""
    if name not in found.predictive:
        return None
    near = found.predictive[name]
    values = dict(zip(near.flown.parameters, near.flown.values.T, strict=True))
    nose = nose_of(CAUSES[name], values)
    return None if nose is None else float(np.clip(near.weight[nose < 0.0].sum(), 0.0, 1.0))


def _broke(name: CauseName, found: Weighing) -> dict[str, float]:
    """How many flights of a cause pass ultimate load within what is compared, and when."""
    if name not in found.predictive:
        return {}
    near = found.predictive[name]
    when = broke_at(near.flown)
    within = near.weight * (when <= float(found.observed.time[-1]))
    share = min(float(within.sum()), 1.0)
    if share < FEW_BREAK:
        return {"broke": share}
    order = np.argsort(when, kind="stable")
    at = int(np.searchsorted(np.cumsum(within[order]), FEW_BREAK))
    return {"broke": share, "broke_from": found.begin + float(when[order][at])}


def _mechanism(row: SavedMechanism) -> MechanismRow:
    return MechanismRow(
        mechanism=row.name,
        causes=row.causes,
        prior=min(row.prior, 1.0),
        probability=min(row.probability, 1.0),
        lowest=min(row.low, row.probability, 1.0),
        highest=min(max(row.high, row.probability), 1.0),
        if_failed=[
            ChanceRow(chance=float(chance), probability=min(value, 1.0))
            for chance, value in row.if_failed.items()
        ],
    )


def _kind(name: str) -> Literal["words", "perception", "other"]:
    if name.startswith(HEARD):
        return "words"
    return "perception" if name == PERCEPTION else "other"


def _evidence(row: SavedEvidence) -> EvidenceRow:
    return EvidenceRow(kind=_kind(row.name), **dict(row))


def blind_score(results: Path | None = None, stratum: str = "") -> BlindScore:
    """The score on blind cases.

    Args:
        results: Results folder; its own score comes first.
        stratum: Of the shipped score; empty for all of it.

    Returns:
        The score.
    """
    known = score(results, stratum)
    blind = known.blind
    return BlindScore(
        of_this_case=known.of_this_case,
        stratum=known.stratum,
        cases=blind.cases,
        mean_log_score=blind.mean_log_score,
        prior_log_score=blind.prior_log_score,
        covered=blind.cover_of_90_percent_sets,
        lost=blind.true_cause_below_1_percent,
        elsewhere=None if known.of_this_case else elsewhere(known.stratum),
    )
