"""One judgement a cause, joined from what moment and odds say; no case is studied here."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

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
from neutralpoint.findings.judged import RESIDUAL, THRESHOLD
from neutralpoint.findings.judgement import JudgementFindings
from neutralpoint.findings.versions import upgraded
from neutralpoint.study.weighing.nulls import load_nulls
from neutralpoint.vocabulary import QUANTITIES, CauseName, Mechanism
from neutralpoint.weighing.check import EXCLUDED, p_listed, p_values

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


def row(cause: CauseName, probability: float, p_value: float | None = None) -> OddsRow:
    return OddsRow(
        cause=cause,
        prior=0.25,
        probability=probability,
        lowest=probability,
        highest=probability,
        p_value=p_value,
        log_evidence=math.log(probability),
        log_bayes_factor=0.0,
        strength="positive",
    )


def weighing() -> WeighingFindings:
    chances = {RUNAWAY: 0.7, JAM: 0.2, CauseName.UNLISTED: 0.08, STALL: 0.004}
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
                probability=0.004,
                lowest=0.004,
                highest=0.004,
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


def judged_alone(odds: OddsRow, *, word: str | None = None) -> tuple[str, list[str]]:
    """Word and excluding tests of one weighed cause, with a verdict of the moment or without."""
    spoken = moments().model_copy(update={"verdicts": []})
    if word is not None:
        spoken = spoken.model_copy(
            update={"verdicts": [Verdict(cause=odds.cause, word=word, probability=0.001)]}
        )
    weighed = weighing().model_copy(
        update={"rows": [odds], "mechanisms": [], "gated": [], "p_limit": EXCLUDED}
    )
    found = judgement_of(spoken, weighed)
    assert found is not None
    return found.rows[0].word, list(found.rows[0].excluded_by)


@pytest.mark.parametrize(
    ("probability", "p_value", "moment", "word", "by"),
    [
        (0.2, 0.6, None, "can", []),
        (0.2, 0.6, "can", "can", []),
        (0.2, 0.02, "can", "can if", []),
        (0.004, 0.0004, "can", "cannot", ["track"]),
        (0.004, 0.0004, "cannot", "cannot", ["moment", "track"]),
        (0.004, 0.6, "cannot", "cannot", ["moment"]),
        (0.2, 0.6, "cannot", "can if", []),  # the word yields to the odds
        (0.2, 0.0004, "can", "can if", []),
        (0.2, None, None, "not judged", []),
    ],
)
def test_one_word_follows_from_both_tests_and_the_odds(
    probability, p_value, moment, word, by
) -> None:
    assert judged_alone(row(JAM, probability, p_value), word=moment) == (word, by)


def test_a_small_prior_alone_excludes_nothing() -> None:
    small = row(JAM, 0.001, 0.0004).model_copy(update={"log_evidence": math.log(0.3)})
    assert judged_alone(small) == ("can if", [])


def test_no_document_holds_an_excluded_cause_that_keeps_odds() -> None:
    found = judgement_of(moments(), weighing())
    assert found is not None
    raw = found.model_dump()
    raw["rows"][0] |= {"word": "cannot", "excluded_by": ["moment"]}
    with pytest.raises(ValueError, match=f"{RUNAWAY} is excluded"):
        JudgementFindings.model_validate(raw)


def test_the_headline_follows_what_is_left_to_the_unlisted_cause() -> None:
    rows = [row(RUNAWAY, 0.3, 0.004), row(JAM, 0.2, 0.008), row(CauseName.UNLISTED, 0.5)]
    parts = {"rows": rows, "mechanisms": [], "gated": []}
    for p_value, none_near in ((0.5 * THRESHOLD, True), (2.0 * THRESHOLD, False)):
        weighed = weighing().model_copy(update=parts | {"p_listed": p_value})
        found = judgement_of(None, weighed)
        assert found is not None
        assert (found.fit.best, found.fit.none_near) == (JAM, none_near)


def test_the_shipped_null_tables_give_what_they_are_quantiles_of() -> None:
    """A share at a quantile of a cause's own flights has the p-value of that quantile."""
    nulls = load_nulls()
    number = nulls.causes.index(JAM)
    level = np.exp(nulls.quantiles[number, 2] + nulls.shift[0, 2])
    names = (*nulls.causes, CauseName.UNLISTED)
    share = np.full(len(names), (1.0 - level) / (len(names) - 1))
    share[number] = level
    found = p_values(nulls, names, np.log(share)[None], 0)
    assert found[JAM] == pytest.approx(nulls.levels[2], rel=1e-6)
    assert CauseName.UNLISTED not in found


def test_the_p_value_falls_with_the_share_and_without_end() -> None:
    nulls = load_nulls()
    names = (*nulls.causes, CauseName.UNLISTED)
    before = 1.1
    for level in np.geomspace(0.9, 1e-9, 40):
        share = np.full(len(names), (1.0 - level) / (len(names) - 1))
        share[0] = level
        found = p_values(nulls, names, np.log(share)[None], 1)[names[0]]
        assert 0.0 < found < before
        before = found
    assert RESIDUAL > EXCLUDED


def test_what_the_unlisted_cause_takes_lowers_the_p_value_of_all_listed_ones() -> None:
    nulls = load_nulls()
    names = (*nulls.causes, CauseName.UNLISTED)
    before = 1.01
    for level in (0.001, 0.05, 0.3, 0.6, 0.9, 0.99, 0.9999):
        share = np.full(len(names), (1.0 - level) / (len(names) - 1))
        share[-1] = level
        found = p_listed(nulls, names, np.log(share)[None], 0)
        assert 0.0 < found < before
        before = found
    assert before < 1e-4
