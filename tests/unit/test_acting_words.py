"""What pictures of time to act say: counts, and why a curve is flat."""

from __future__ import annotations

import pytest

from neutralpoint.findings import (
    Findings,
    LatestAction,
    ProcedureRow,
    ResponseFindings,
    ResponseRow,
    SampledShare,
)
from neutralpoint.findings.judgement import NeedAgainstHas
from neutralpoint.report.words import film
from neutralpoint.report.words.acting import (
    bar_said,
    counted,
    delay_said,
    directions_said,
    flat,
    flat_reasons,
    height_said,
    recovery_title,
)
from neutralpoint.report.words.needs import fits
from neutralpoint.vocabulary.cause import CauseName

DELAYS = [0.0, 2.0, 4.0, 6.0]


def _share(value: float) -> SampledShare:
    return SampledShare.model_construct(share=value, low95=0.72, high95=0.95)


def _procedure(name: str, shares: list[float]) -> ProcedureRow:
    return ProcedureRow.model_construct(
        procedure=name, by_delay=[_share(share) for share in shares]
    )


def _row(*procedures: ProcedureRow, enough: float | None = None) -> ResponseRow:
    return ResponseRow.model_construct(
        cause=CauseName.STABILIZER_RUNAWAY, direction="nose-up", direction_from="stays",
        nose_up=1.0, nothing="only pull", nothing_saved=_share(0.875), procedures=list(procedures),
        enough_height=enough,
    )  # fmt: skip


FOUND = ResponseFindings.model_construct(delays=DELAYS, reaction_median=4.0, height=3048.0,
                                       height_source="stated by the analyst")  # fmt: skip


def test_a_count_stands_with_its_interval() -> None:
    assert counted(_share(0.875), 32) == "28 of 32 (72 to 95%)"
    assert counted(_share(0.875), None) == "88% (72 to 95%)"


def test_a_delay_within_counting_is_drawn_in_bars_and_says_so() -> None:
    """Of 32, one fewer lies within the interval of all 32, and half of them does not."""
    idle = _procedure("only pull", [0.875] * 4)
    few = _procedure("let go", [0.875, 0.875, 0.875, 0.84375])
    falls = _procedure("climb", [1.0, 0.8, 0.6, 0.4])
    level, steady, falling = _row(idle), _row(idle, few), _row(idle, falls)
    assert flat(level, FOUND) and flat(steady, FOUND) and not flat(falling, FOUND)
    assert bar_said(steady, few, FOUND, 32) == (
        "Stabilizer trim runaway, let go: 28 of 32 (72 to 95%)"
    )
    told = bar_said(steady, idle, FOUND, 32)
    assert told == (
        "Stabilizer trim runaway, only pull (nothing else is begun): 28 of 32 (72 to 95%)"
    )
    assert bar_said(steady, idle, FOUND, None, brief=True) == "only pull: 88% (72 to 95%)"
    assert recovery_title([level, steady], FOUND, 32) == (
        "In this model \u201conly pull\u201d recovers 28 and 28 of 32, \u201clet go\u201d 28"
    )
    assert "no delay up to 6 s" in delay_said([steady], FOUND)
    assert delay_said([steady, falling], FOUND) == "" == delay_said([], FOUND)
    assert recovery_title([steady, falling], FOUND) == (
        "If it was stabilizer trim runaway: 100% recover by \u201cclimb\u201d at once, "
        "40% after 6 s"
    )


def test_what_holds_for_all_causes_is_said_once() -> None:
    rows = [_row(enough=300.0), _row(enough=900.0)]
    (told,) = directions_said(rows)
    assert "these causes" in told
    (told,) = height_said(rows, FOUND)
    assert "with 3,000 ft" in told and "10,000 ft above the ground (stated" in told
    assert height_said([*rows, _row()], FOUND) == []  # of one cause height is not known to do


def test_a_flat_curve_says_why_and_a_falling_one_says_nothing() -> None:
    joins = _procedure("let go", [1.0, 0.9, 0.875, 0.875])
    always = _procedure("oppose", [1.0] * 4)
    never = _procedure("wait", [0.0] * 4)
    falls = _procedure("climb", [1.0, 0.8, 0.6, 0.4])
    idle = _procedure("only pull", [0.875] * 4)
    assert flat_reasons(_row(falls, idle), FOUND) == []
    told = flat_reasons(_row(joins, always, never, falls, idle), FOUND)
    assert [text.split(":")[0] for text in told] == [
        "\u201clet go\u201d", "\u201coppose\u201d", "\u201cwait\u201d",
    ]  # fmt: skip
    assert "from 4 s on" in told[0]
    # As high as the flight: then more height would have helped, and nothing is said of it.
    assert height_said([_row(always, enough=3048.0)], FOUND) == []


def test_captions_count_pilots_and_tell_no_latest_second() -> None:
    """Counts with their interval, the procedure that saves most first; no deadline."""
    latest = [LatestAction(time=16.0), LatestAction(end="later-than-tested"), LatestAction()]
    few, most = (
        _procedure(name, [share] * 4).model_copy(update={"latest": latest})
        for name, share in (("wait", 0.125), ("let go", 1.0))
    )
    rows = [
        _row(few, most).model_copy(update={"cause": CauseName(name)})
        for name in ("elevator-jam", "load-shift-aft")
    ]
    findings = Findings.model_construct(response=FOUND.model_copy(update={"rows": rows}))
    told = film.acting_captions(findings, rows, [32, None])
    assert told[0].startswith("If it was elevator jam toward nose up: \u201clet go\u201d recovers")
    assert "32 of 32 (" in told[0] and told[0].index("let go") < told[0].index("wait")
    assert "4 of 32 (" in told[0] and told[0].endswith("In this model; no guide to training.")
    assert told[1].startswith("If it was aft load shift toward nose up") and "100% (" in told[1]
    assert not any("latest" in text or "16" in text or " s after" in text for text in told)
    assert "no guide to training" in film.acting_said(findings, rows)


@pytest.mark.parametrize(
    ("low", "high", "least", "most", "said"),
    [
        (1.0, 2.0, 0.0, 3.0, "within"),
        (1.0, 4.0, 0.0, 3.0, "partly within"),
        (3.5, 4.0, 0.0, 3.0, "beyond"),
        (-2.0, -1.0, 0.0, None, "beyond"),
        (1.0, 2.0, None, None, "cannot be judged"),
    ],
)
def test_a_need_is_judged_in_words(low, high, least, most, said) -> None:
    need = NeedAgainstHas(quantity="x", unit="N", low90=low, median=low, high90=high, least=least,
                          most=most)  # fmt: skip
    assert fits(need) == said
