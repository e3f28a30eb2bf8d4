"""One judgement a cause, joined from what moment and odds say; no case is studied here."""

from __future__ import annotations

import json

from neutralpoint.findings import (
    BlindScore,
    Granted,
    MechanismRow,
    MomentsFindings,
    Need,
    OddsRow,
    PriorFindings,
    Verdict,
    WeighingFindings,
    judgement_of,
)
from neutralpoint.findings.versions import upgraded
from neutralpoint.vocabulary import QUANTITIES, CauseName, Mechanism

RUNAWAY, STALL, JAM = (
    CauseName.STABILIZER_RUNAWAY,
    CauseName.WING_STALL,
    CauseName.ELEVATOR_JAM,
)


def moments() -> MomentsFindings:
    need = Need(quantity="force", low90=300.0, median=350.0, high90=400.0, least=-200.0, most=200.0)
    return MomentsFindings(
        file="moments.nc",
        first=0.0,
        reference_from=0.0,
        reference_to=10.0,
        steady=True,
        window=3.0,
        verdicts=[
            Verdict(
                cause=RUNAWAY,
                word="can if",
                probability=0.2,
                needs=[need],
                granted=Granted(grant="stronger-hands", value=400.0),
            ),
            Verdict(cause=STALL, word="cannot", probability=1e-9),
        ],
    )


def row(cause: CauseName, probability: float) -> OddsRow:
    return OddsRow(
        cause=cause,
        prior=0.25,
        probability=probability,
        lowest=probability,
        highest=probability,
        log_evidence=-1.0,
        log_bayes_factor=0.0,
        strength="positive",
    )


def weighing() -> WeighingFindings:
    chances = {RUNAWAY: 0.7, JAM: 0.2, CauseName.UNLISTED: 0.08, STALL: 0.02}
    return WeighingFindings(
        file="weighing.json",
        data_file="weighing.nc",
        place="inside",
        odd="speed",
        odd_by=1.0,
        begin=10.0,
        networks=5,
        leader=RUNAWAY,
        rival=JAM,
        prior=PriorFindings(failed=None, failed_stated=False),
        rows=[row(cause, chance) for cause, chance in chances.items()],
        mechanisms=[
            MechanismRow(
                mechanism=Mechanism.AERODYNAMICS,
                causes=[STALL],
                prior=0.25,
                probability=0.02,
                lowest=0.02,
                highest=0.02,
            )
        ],
        readings=[],
        gated=[{"title": CauseName.TAILPLANE_STALL.title, "reason": "No ice."}],
        weighed=list(chances),
        heard=False,
        drive="stabilizer",
        score=BlindScore(
            of_this_case=False,
            stratum="",
            cases=1,
            mean_log_score=-1.0,
            prior_log_score=-3.0,
            covered=0.9,
            lost=0.01,
        ),
    )


def test_every_cause_that_anything_is_said_of_has_one_row() -> None:
    found = judgement_of(moments(), weighing())
    assert found is not None
    assert [r.cause for r in found.rows] == [
        *(RUNAWAY, JAM, CauseName.UNLISTED, STALL, CauseName.TAILPLANE_STALL)
    ]
    first, jam, unlisted, stall, ice = found.rows
    assert (first.word, first.condition and first.condition.unit) == ("can if", "N")
    assert first.needs[0].quantity in QUANTITIES
    assert (jam.word, jam.open_because) == ("not judged", "no-test")
    assert (unlisted.word, unlisted.open_because) == ("not judged", "unlisted")
    assert (stall.word, stall.excluded_by) == ("cannot", ["moment"])
    assert (ice.word, ice.excluded_by) == ("cannot", ["airplane-or-facts"])
    assert found.mechanisms[0].excluded == [STALL]
    assert found.fit.none_near is None


def test_nothing_is_judged_where_no_stage_speaks() -> None:
    assert judgement_of(None, None) is None


def test_a_document_of_version_3_is_given_its_judgement() -> None:
    raw = {
        "schema_version": 3,
        "moments": json.loads(moments().model_dump_json()),
        "weighing": json.loads(weighing().model_dump_json()),
    }
    found = upgraded(raw)
    assert found["schema_version"] == 4
    assert found["judgement"]["rows"][0]["cause"] == RUNAWAY
