"""Words of pictures: the wide range first, plain words, no verdict that a curve denies."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from neutralpoint.findings import (
    Findings,
    HandsRow,
    MomentsFindings,
    NearestFlight,
    OddsRow,
    Parting,
    SignatureFindings,
    SignatureRow,
    SwayEnd,
    SwayRow,
    Verdict,
    WeighingFindings,
)
from neutralpoint.findings.judgement import CauseJudgement, NeedAgainstHas
from neutralpoint.report.figures.studio import needs
from neutralpoint.report.sheet.said import Bound
from neutralpoint.report.words.flights import LEARNED, nearest_said
from neutralpoint.report.words.needs import fits, joined_names
from neutralpoint.report.words.ranges import (
    lesser_said,
    odds_title,
    others_said,
    range_said,
    ranged,
    rest_of,
    rivals_of,
    rows_shown,
    sways_title,
    tipping,
    turned_ends,
    turned_said,
    wide_of,
)
from neutralpoint.report.words.sheet_rows import word_of
from neutralpoint.report.words.signatures import gaps_said, headline, miss_title, pair_title, stays
from neutralpoint.report.words.uncertainty import removes, uncertainty_of, uncertainty_share
from neutralpoint.vocabulary import CauseName

EPOCH = datetime(2031, 5, 1, tzinfo=UTC)
RUNAWAY, JAM, SHEAR = (
    CauseName(name) for name in ("stabilizer-runaway", "elevator-jam", "wind-shear")
)


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ((0.52, 0.27, 0.77), "0.27 to 0.77, as weighed 0.52"),
        ((0.012, 0.004, 0.036), "below 0.04"),
        ((0.012, 0.012, 0.014), "below 0.02"),
        ((0.30, 0.299, 0.301), "0.30"),
    ],
)
def test_a_probability_has_its_range_first_and_a_small_one_is_a_bound(numbers, said) -> None:
    assert ranged(*numbers) == said


def _row(cause: CauseName, stands: float, **more: float) -> OddsRow:
    return OddsRow.model_construct(
        cause=cause, probability=stands, lowest=stands - 0.05, highest=stands + 0.05,
        least=more.get("least"), most=more.get("most"),
    )  # fmt: skip


def _weighed(*rows: OddsRow, sways: tuple[SwayRow, ...] = ()) -> WeighingFindings:
    return WeighingFindings.model_construct(rows=list(rows), sways=list(sways))


def test_the_others_together_have_the_range_of_their_sum() -> None:
    ends = [
        SwayEnd.model_construct(leader=JAM, probability=0.3, setting=1.0 / 3.0,
                                odds={RUNAWAY: 0.3, JAM: 0.4, SHEAR: 0.3}),
        SwayEnd.model_construct(leader=RUNAWAY, probability=0.8, setting=3.0,
                                odds={RUNAWAY: 0.8, JAM: 0.15, SHEAR: 0.05}),
    ]  # fmt: skip
    sway = SwayRow.model_construct(assumption="weight", name="", ends=ends)
    rows = (_row(RUNAWAY, 0.6, least=0.3, most=0.8), _row(JAM, 0.3), _row(SHEAR, 0.1))
    found = _weighed(*rows, sways=(sway,))
    assert rest_of(found, (RUNAWAY,)) == pytest.approx((0.4, 0.2, 0.7))
    assert turned_said(found) == (
        "Elevator jam leads if the prior weight of stabilizer trim runaway is divided by 3."
    )
    assert wide_of(rows[0]) == (0.3, 0.8) and wide_of(rows[1]) == (0.25, 0.35)
    assert "no assumption was moved" in range_said(found)  # not every row has a wide range
    assert turned_ends(found, 0) == ends[:1]
    # By hand: 0.6 to 0.4 as they stand; with 0.3 beside 0.3 and 0.1 it is 3 in 7.
    assert tipping(found, 0, ends[0]) == pytest.approx(3.0 / 7.0)


def test_a_prior_of_failure_tips_where_no_failure_is_as_probable() -> None:
    """By hand: 0.5, 0.3 and 0.2 of no failure; failures down to 0.4 of it: 0.2, 0.12 and 0.2."""
    none = CauseName.NO_FAILURE
    end = SwayEnd.model_construct(leader=none, probability=0.1, setting=0.01, odds={})
    other = SwayEnd.model_construct(leader=JAM, probability=0.1, setting=0.01, odds={})
    sways = tuple(SwayRow.model_construct(assumption=name, name="", ends=[end, other])
                  for name in ("failed", "wind"))  # fmt: skip
    found = _weighed(_row(RUNAWAY, 0.5), _row(JAM, 0.3), _row(none, 0.2), sways=sways)
    assert tipping(found, 0, end) == pytest.approx(0.2 / 0.52)
    assert tipping(found, 1, end) is None and tipping(found, 0, other) is None
    assert sways_title(found) == "Which cause leads hangs on the prior that something failed and " \
        "the wind"  # fmt: skip


def test_the_prior_weight_of_the_second_cause_is_named_by_it() -> None:
    """By hand: 0.5, 0.4 and 0.1; the second tripled is 5 to 12 to 1.

    Source: Bayes' rule; the odds of the sums by hand.
    """
    ends = [
        SwayEnd.model_construct(leader=JAM, probability=5.0 / 18.0, setting=3.0, odds={}),
        SwayEnd.model_construct(
            leader=RUNAWAY, probability=15.0 / 22.0, setting=1.0 / 3.0, odds={}
        ),
    ]
    sway = SwayRow.model_construct(assumption="weight", name=JAM.value, ends=ends)
    rows = (_row(RUNAWAY, 0.5), _row(JAM, 0.4), _row(SHEAR, 0.1))
    found = _weighed(*rows, sways=(sway,))
    # As probable as the other: 5 to 5 to 1.
    assert tipping(found, 0, ends[0]) == pytest.approx(5.0 / 11.0)
    assert sways_title(found).endswith("prior weight of elevator jam")
    assert (
        turned_said(found) == "Elevator jam leads if the prior weight of elevator jam is times 3."
    )
    # The third tripled: 5 in 12, less than 0.5 by 0.0833.
    assert lesser_said(found).endswith("moves it by less than 0.09.")


def test_one_rule_says_which_causes_have_a_row_and_how_many_others_there_are() -> None:
    """Those that lead at an end, and those that may reach 0.05: never more than five."""
    ends = [SwayEnd.model_construct(leader=SHEAR, probability=0.3, setting=3.0, odds={})]
    sway = SwayRow.model_construct(assumption="weight", name="", ends=ends)
    rest = [CauseName(name) for name in ("wing-stall", "spiral-dive")]
    rows = (
        _row(RUNAWAY, 0.6, least=0.3, most=0.8), _row(JAM, 0.3, least=0.1, most=0.5),
        *(_row(cause, 0.02, least=0.01, most=0.04) for cause in rest),
        _row(SHEAR, 0.001, least=0.0, most=0.48),
    )  # fmt: skip
    found = _weighed(*rows, sways=(sway,))
    assert [row.cause for row in rivals_of(found)] == [RUNAWAY, SHEAR]
    shown = rows_shown(found)
    assert [row.cause for row in shown] == [RUNAWAY, JAM, SHEAR]
    assert others_said(found, shown) == ("2 others together", "each below 0.05")
    assert odds_title(found) == (
        "Not settled: stabilizer trim runaway 0.30 to 0.80 or wind shear up to 0.48"
    )
    assert "one assumption changed at a time" in range_said(found)
    assert "rank causes that do not fit" in odds_title(found, none_near=True)
    assert odds_title(_weighed(*rows)).endswith("it leads as weighed")


def test_a_nearest_flight_that_misses_says_its_misfit_and_what_odds_rest_on(repository) -> None:
    near = NearestFlight.model_construct(distance=4.97)
    row = _row(JAM, 0.36).model_copy(update={"nearest": near})
    found = _weighed(row).model_copy(update={"place": "inside", "networks": 6})
    findings = Findings.model_construct(weighing=found)
    misfit, rests = nearest_said(findings, [JAM.value])
    assert "elevator jam 5.0" in misfit and "6 estimates trained on some 500 million" in rests
    card = (repository / "docs" / "explanation" / "odds-networks.md").read_text("utf-8")
    assert f"{LEARNED} flights" in card  # what the card of the networks says
    outside = found.model_copy(update={"place": "outside"})
    assert "flights of this case" in nearest_said(findings.model_copy(
        update={"weighing": outside}), [JAM.value])[1]  # fmt: skip
    assert nearest_said(Findings.model_construct(weighing=None), [JAM.value]) == []


def test_uncertainty_is_the_share_of_the_entropy() -> None:
    """Two equal causes are one bit: Shannon (1948)."""
    found = _weighed(_row(RUNAWAY, 0.5), _row(JAM, 0.5))
    assert uncertainty_of(found) == pytest.approx(1.0)
    assert removes(uncertainty_share(0.25, found)) == "about 25%"
    assert removes(uncertainty_share(0.001, found)) == "below 1%"
    assert (
        uncertainty_share(2.0, found) == 1.0
        and uncertainty_share(0.1, _weighed(_row(JAM, 1.0))) == 0.0
    )


def _parted(time: float | None, gap: float = 0.0) -> Parting:
    return Parting(quantity="altitude", time=time, gap=gap)


def _signed(pilot: float | None, off: float | None, *, flown: bool = True) -> SignatureRow:
    gap = 304.8  # m, 1,000 ft
    hands_off = [_parted(off, 0.0 if off is None else gap)] if flown else []
    return SignatureRow(cause=RUNAWAY, probability=0.5,
                        with_pilot=[_parted(pilot, 0.0 if pilot is None else -gap)],
                        hands_off=hands_off)  # fmt: skip


def _word(row: SignatureRow | None) -> str:
    """What the one word says of a cause whose moment asks for no column force."""
    hands = HandsRow(hands="none", probability=0.13, price=None, end="none")
    verdict = Verdict.model_construct(cause=RUNAWAY, word="can", hands=[hands])
    signed = None
    if row is not None:
        signed = SignatureFindings(file="s.nc", begin=100.0, end=150.0, flights=20, rows=[row])
    findings = Findings.model_construct(
        epoch=EPOCH, moments=MomentsFindings.model_construct(verdicts=[verdict]), signatures=signed
    )
    judged = CauseJudgement.model_construct(cause=RUNAWAY, word="can", condition=None)
    return word_of("judgement.rows.0", judged, Bound(findings)).text


def test_no_pilot_is_said_to_be_needed_only_where_flights_hands_off_stay() -> None:
    assert _word(_signed(None, None)) == "possible, even with no pilot input"
    told = _word(_signed(None, 107.0))
    assert told == "possible with a pilot\u2019s reaction; hands-off apart at 00:01:47 UTC"
    assert "no pilot" not in _word(None) + _word(_signed(None, None, flown=False))


def test_the_title_of_a_cause_says_what_its_curves_show() -> None:
    assert headline(_signed(None, 107.0)).endswith("with a simulated pilot, not hands off")
    assert headline(_signed(None, None)).endswith("with a simulated pilot and hands off")
    assert headline(_signed(112.0, 107.0)) == "leaves the data, also with a simulated pilot"
    told = pair_title([_signed(112.0, 107.0), _signed(None, None)])
    assert told.count("; ") == 1 and told.startswith("Stabilizer trim runaway: leaves the data")
    assert pair_title([_signed(112.0, 107.0)] * 2).count("leave the data") == 1
    told = stays(_signed(112.0, 107.0), 100.0)
    assert told == "apart from 12 s: height up to 1,000\u202fft too low"
    told = gaps_said(_signed(None, 107.0), Findings.model_construct(epoch=EPOCH))
    assert "touch at every moment" in told and "hands off they part at 00:01:47 UTC" in told
    told = gaps_said(_signed(112.0, 107.0), Findings.model_construct(epoch=EPOCH))
    assert "first apart at 00:01:52 UTC, at the widest with height up to 1,000" in told
    near = [("altitude", -157.0, 50.0), ("pitch_angle", 0.4, 20.0)]
    assert miss_title(_signed(None, None), near) == (
        "Stabilizer trim runaway: nearest flight misses by up to 515\u202fft and 23\u00b0"
    )


def test_a_stall_that_was_not_reached_does_not_speak_for_a_stall() -> None:
    need = NeedAgainstHas(quantity="angle_of_attack", unit="rad", low90=0.1, median=0.15,
                          high90=0.2, least=-0.2, most=0.25)  # fmt: skip
    assert fits(need) == "below the stall"


def test_causes_that_share_a_need_are_named_together() -> None:
    assert joined_names(["Power loss"]) == "Power loss"
    assert joined_names(["Stabilizer trim", "Elevator jam"]) == "Stabilizer trim and elevator jam"
    assert joined_names(["A", "B", "C", "D"]) == "A, B and 2 more"


def test_needs_say_how_many_of_the_causes_weighed_they_test(monkeypatch) -> None:
    """Three causes are weighed; two of them have a need that can be tested."""
    need = NeedAgainstHas.model_construct(low90=1.0, high90=2.0, least=0.0, most=3.0, quantity="x")
    monkeypatch.setattr(needs, "needs_of", lambda _: [([RUNAWAY], need), ([JAM], need)])
    found = _weighed(_row(RUNAWAY, 0.5), _row(JAM, 0.4), _row(SHEAR, 0.1))
    told = needs.tested_said(Findings.model_construct(weighing=found))
    assert told == "Of 3 causes 2 can be tested by the moment they need."
    assert needs.tested_said(Findings.model_construct(weighing=None)) == ""
