"""The answer sheet: every number bound, and plain words where there is nothing to say."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from neutralpoint.cli.answering import MOST_LINES, answer_lines
from neutralpoint.findings import (
    Banded,
    BlindScore,
    Findings,
    KeyTime,
    MomentsFindings,
    MotionFindings,
    NearestFlight,
    Need,
    OddsRow,
    OnsetFindings,
    PriorFindings,
    ProcedureRow,
    ResponseFindings,
    ResponseRow,
    SampledShare,
    Subject,
    SwayEnd,
    SwayRow,
    Verdict,
    Warned,
    WeighingFindings,
)
from neutralpoint.findings.judged import judgement_of
from neutralpoint.report.sheet.choose import with_judgement
from neutralpoint.report.sheet.said import Bound, Said, joined, say
from neutralpoint.report.sheet.sheet import Sheet
from neutralpoint.report.wording.review import review_text
from neutralpoint.report.words.sheet import sheet_of
from neutralpoint.vocabulary import CauseName

RUNAWAY, STUTTER, JAM = (
    CauseName.STABILIZER_RUNAWAY,
    CauseName.INTERMITTENT_RUNAWAY,
    CauseName.ELEVATOR_JAM,
)
# Levels of bands and shares that are fixed by method, and no findings.
FIXED = re.compile(r"\b(?:50|90|95)%")


def motion(*, onset: bool = True) -> MotionFindings:
    times = [100.0, 101.0, 102.0, 103.0, 104.0] if onset else []
    shown = OnsetFindings(probability=0.97 if onset else 0.2, found=onset, left=times, begun=times)
    return MotionFindings(
        first=0.0, span=200.0, fixes=200, settled=True, step=0.5, usual_step=0.5, onset=shown
    )


def document(**parts) -> Findings:
    last = KeyTime(
        time=200.0,
        label="last fix",
        kind="derived",
        values={
            name: Banded(
                median=value, low50=value, high50=value, low90=value, high90=value, unit=unit
            )
            for name, value, unit in (("altitude", 3000.0, "m"), ("flight_path_angle", -0.2, "rad"))
        },
    )
    return Findings(
        program_version="0",
        seed=1,
        cut_off="2031-05-01",
        epoch=datetime(2031, 4, 14, 12, tzinfo=UTC),
        subject=Subject(title="t", question="What happened?", airplane="a"),
        cautions=[],
        sources=[],
        assumptions=[],
        key_times=[last],
        **({"motion": motion()} | parts),
    )


def verdict(cause: CauseName, word: str, need: tuple[float, float] = (-0.1, -0.05)) -> Verdict:
    return Verdict(
        cause=cause,
        word=word,
        probability=0.5 if word == "can" else 1e-4,
        needs=[
            Need(
                quantity="elevator", low90=need[0], median=sum(need) / 2, high90=need[1],
                least=-0.3, most=0.2,
            )
        ],
    )  # fmt: skip


def moments(*words: tuple[CauseName, str]) -> MomentsFindings:
    return MomentsFindings(
        file="moments.nc", first=0.0, reference_from=0.0, reference_to=90.0, steady=True,
        window=2.0, verdicts=[verdict(*pair) for pair in words],
    )  # fmt: skip


def odds(cause: CauseName, probability: float, factor: float = 0.0) -> OddsRow:
    listed = cause is not CauseName.UNLISTED
    near = NearestFlight(
        distance=1.4, fails_in="lift up", fails_at=120.0, fails_by=4.2, flights=10.0
    )
    return OddsRow(
        cause=cause, prior=0.2, probability=probability, lowest=0.9 * probability,
        highest=min(1.1 * probability, 1.0), log_evidence=factor, log_bayes_factor=factor,
        strength="positive", nearest=near if listed else None,
        not_separable=["the pilot's own trimming for as long"],
    )  # fmt: skip


def weighing(*rows: OddsRow, sways: bool = True) -> WeighingFindings:
    turned = SwayRow(
        assumption="failed",
        ends=[
            SwayEnd(setting=0.01, leader=CauseName.NO_FAILURE, probability=0.04),
            SwayEnd(setting=0.95, leader=rows[0].cause, probability=rows[0].probability),
        ],
    )
    still = SwayRow(
        assumption="cg",
        ends=[
            SwayEnd(setting=s, leader=rows[0].cause, probability=rows[0].probability)
            for s in (-0.0108, 0.0108)
        ],
    )
    return WeighingFindings(
        file="weighing.json", data_file="weighing.nc", place="inside", odd="n", odd_by=0.1,
        begin=90.0, networks=5, leader=rows[0].cause, rival=rows[1].cause,
        prior=PriorFindings(failed=0.95, failed_stated=True), rows=list(rows), mechanisms=[],
        readings=[], weighed=[row.cause for row in rows], heard=False, drive="stabilizer",
        score=BlindScore(of_this_case=False, stratum="", cases=100, mean_log_score=-1.0,
                         prior_log_score=-3.0, covered=0.92, lost=0.02),
        sways=[turned, still] if sways else [],
    )  # fmt: skip


def response() -> ResponseFindings:
    def share(value: float) -> SampledShare:
        return SampledShare(share=value, low95=value / 2.0, high95=(1.0 + value) / 2.0)

    def procedure(name: str, value: float) -> ProcedureRow:
        return ProcedureRow(
            procedure=name, by_rule=[share(value)], by_delay=[share(value), share(value / 2.0)],
            saved=share(value), within_limits=share(value),
        )  # fmt: skip

    row = ResponseRow(
        cause=RUNAWAY, nothing="column force alone", nothing_saved=share(0.2),
        reference="disconnect", reference_saved=share(0.6),
        procedures=[procedure("column force alone", 0.2), procedure("disconnect", 0.6)],
    )  # fmt: skip
    return ResponseFindings(
        file="response.nc", height=914.4, height_source="stated", reaction_median=4.0,
        reaction_factor=1.6, reaction_source="analyst's", pull_median=400.0, pull_spread=0.3,
        one_hand=0.6, short_term=333.6, rule_delays=[1.0], delays=[0.0, 4.0], longest=30.0,
        rows=[row],
    )  # fmt: skip


WHOLE = document(
    moments=moments((RUNAWAY, "can"), (STUTTER, "can"), (JAM, "cannot")),
    weighing=weighing(
        odds(RUNAWAY, 0.6), odds(STUTTER, 0.35, -0.54), odds(JAM, 0.003, -5.0),
        odds(CauseName.UNLISTED, 0.04, -2.7),
    ),
    response=response(),
)  # fmt: skip


def phrases(part):
    """Every phrase of a sheet, wherever it stands."""
    if isinstance(part, Said):
        yield part
    elif isinstance(part, tuple | list):
        for each in part:
            yield from phrases(each)
    elif hasattr(type(part), "model_fields"):
        for name in type(part).model_fields:
            yield from phrases(getattr(part, name))


def unbound(sheet: Sheet) -> list[str]:
    """Pieces with a digit that name no finding."""
    return [
        piece.text
        for phrase in phrases(sheet)
        for piece in phrase.pieces
        if not piece.key and re.search(r"\d", FIXED.sub("", piece.text))
    ]


def test_a_number_without_a_finding_is_found():
    """The rule can fail."""
    sheet = sheet_of(WHOLE).model_copy(update={"fit": say("It fits in 7 of 8.")})
    assert unbound(sheet) == ["It fits in 7 of 8."]


def test_every_number_names_its_finding():
    sheet, bound = sheet_of(WHOLE), Bound(with_judgement(WHOLE))
    assert unbound(sheet) == []
    keyed = [piece for phrase in phrases(sheet) for piece in phrase.pieces if piece.key]
    assert len(keyed) > 40
    for piece in keyed:
        bound.value(piece.key)  # raises where the key names nothing


def test_what_is_printed_is_what_is_bound():
    sheet, bound = sheet_of(WHOLE), Bound(with_judgement(WHOLE))
    leads = sheet.rows[0].odds.pieces[0]
    assert (leads.text, bound.value(leads.key)) == ("0.60", 0.6)
    need = [piece for piece in sheet.rows[0].needs[0].pieces if piece.key]
    # rad to degrees by hand: -0.1 rad is -5.73 deg, 0.2 rad 11.46 deg.
    assert [piece.text for piece in need] == ["\u22125.7", "\u22122.9 deg", "\u221217", "11 deg"]


def test_the_answer_is_three_sentences_and_the_table_is_sorted():
    sheet = sheet_of(WHOLE)
    assert len(sheet.answer) == 3
    held = [row.probability for row in sheet.rows if row.probability is not None]
    assert held == sorted(held, reverse=True)
    assert [line.title for line in sheet.excluded] == [JAM.title]
    assert "do not decide" in sheet.headline.text
    assert sheet.recovery is not None and sheet.recovery.shares["disconnect"] == (0.6, 0.3)
    assert "60% (30% to 80%)" in sheet.time.text


def test_a_likely_cause_heads_the_page_with_its_word():
    likely = WHOLE.model_copy(
        update={"weighing": weighing(odds(RUNAWAY, 0.95), odds(STUTTER, 0.05, -3.0))}
    )
    assert sheet_of(likely).headline.text == "Stabilizer trim runaway: extremely likely (0.95)."


def test_where_nothing_comes_near_no_cause_is_favored():
    judged = judgement_of(WHOLE.moments, WHOLE.weighing)
    fit = judged.fit.model_copy(update={"best": RUNAWAY, "p_value": 0.002, "none_near": True})
    found = WHOLE.model_copy(update={"judgement": judged.model_copy(update={"fit": fit})})
    sheet = sheet_of(found)
    assert sheet.headline.text == "No listed cause comes near this flight."
    assert "0.2%" in sheet.fit.text
    assert sheet.sway is None
    top = " ".join(said.text for said in (sheet.headline, *sheet.answer))
    for row in judged.rows:
        assert row.cause.spoken not in top


def test_an_upset_without_a_failure_asks_for_no_action():
    calm = document(
        motion=motion(onset=False),
        weighing=weighing(odds(CauseName.NO_FAILURE, 0.94), odds(RUNAWAY, 0.06, -2.0)),
        response=response(),
    )
    sheet = sheet_of(calm)
    assert sheet.headline.text.startswith("No failure")
    assert sheet.time.text.startswith("If there was no failure, no action was needed.")
    assert sheet.answer[0].text.startswith("No onset found")


@pytest.mark.parametrize(
    ("parts", "headline"),
    [
        ({}, "What the airplane did is known; its cause was not weighed."),
        ({"motion": None}, "What the airplane did is known; its cause was not weighed."),
        (
            {"moments": moments((RUNAWAY, "can"), (JAM, "cannot"))},
            "What the airplane did is known; its cause was not weighed.",
        ),
        (
            {"weighing": weighing(odds(RUNAWAY, 0.9), odds(STUTTER, 0.1, -2.0), sways=False)},
            "Stabilizer trim runaway: very likely (0.90).",
        ),
    ],
    ids=["no airplane", "no motion", "no odds", "no sways"],
)
def test_what_is_missing_is_said_in_plain_words(parts, headline):
    warned = Warned(code="track-too-short", message="Too short.", where="track", hint="-")
    sheet = sheet_of(document(warnings=[warned], **parts))
    assert sheet.headline.text == headline
    assert sheet.missing == ("Too short.",)
    assert unbound(sheet) == []
    assert all(said.text.endswith(".") for said in (*sheet.answer, sheet.fit, sheet.time))
    if "weighing" not in parts:
        assert sheet.sway is None and sheet.no_sway
        assert not sheet.evidence and sheet.settles.text


@pytest.mark.parametrize("width", [60, 80, 100, 140])
def test_the_terminal_gets_25_lines_of_ascii(width):
    lines = answer_lines(sheet_of(WHOLE), width, ["results/findings.json", "results/report.html"])
    assert len(lines) <= MOST_LINES
    text = re.sub(r"\x1b\[[0-9;]*m", "", "\n".join(lines))
    assert text.isascii()
    assert "do not decide" in text
    assert "The official investigation decides." in " ".join(text.split())
    assert lines[-1] == "results/report.html"


def test_the_sheet_does_not_overclaim():
    """By the project's own check of wording."""
    for found in (WHOLE, document()):
        sheet = sheet_of(found)
        said = [sheet.headline, *sheet.answer, sheet.fit, sheet.time, sheet.settles]
        said += [] if sheet.sway is None else [sheet.sway.said]
        text = "\n\n".join(phrase.text for phrase in said)
        assert review_text(text).flags == []


def test_phrases_join_as_a_list():
    assert joined([say("a"), say("b"), say("c")], ", ", " or ").text == "a, b or c"
    assert joined([]).text == ""
