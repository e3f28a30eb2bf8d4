"""What pictures of time to act say: counts, and why a curve is flat."""

from __future__ import annotations

import pytest

from neutralpoint.findings import (
    Findings,
    ProcedureRow,
    ResponseFindings,
    ResponseRow,
    SampledShare,
)
from neutralpoint.findings.judgement import NeedAgainstHas
from neutralpoint.report.sheet.choose import Chosen
from neutralpoint.report.words import film
from neutralpoint.report.words.acting import count_of, counted, flat_reasons
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
        nothing="only pull", nothing_saved=_share(0.875), procedures=list(procedures),
        enough_height=enough,
    )  # fmt: skip


FOUND = ResponseFindings.model_construct(delays=DELAYS, reaction_median=4.0, height=3048.0,
                                       height_source="stated by the analyst")  # fmt: skip


def test_a_count_stands_with_its_interval() -> None:
    assert counted(_share(0.875), 32) == "28 of 32 (72 to 95%)"
    assert counted(_share(0.875), None) == "88% (72 to 95%)"
    one = _procedure("let go", [1.0, 1.0, 0.875, 0.5])
    assert count_of(one, _row(one), FOUND, 32) == "let go: 28 of 32 (72 to 95%) at 4 s"
    idle = _procedure("only pull", [0.875] * 4)
    assert "nothing else is begun" in count_of(idle, _row(idle), FOUND, 32)


def test_a_flat_curve_says_why_and_a_falling_one_says_nothing() -> None:
    joins = _procedure("let go", [1.0, 0.9, 0.875, 0.875])
    always = _procedure("oppose", [1.0] * 4)
    never = _procedure("wait", [0.0] * 4)
    falls = _procedure("climb", [1.0, 0.8, 0.6, 0.4])
    idle = _procedure("only pull", [0.875] * 4)
    assert flat_reasons(_row(falls, idle, enough=100.0), FOUND) == []
    told = flat_reasons(_row(joins, always, never, falls, idle, enough=304.8), FOUND)
    assert [text.split(":")[0] for text in told] == [
        "\u201clet go\u201d", "\u201coppose\u201d", "\u201cwait\u201d", "Height is not the limit",
    ]  # fmt: skip
    assert (
        "from 4 s on" in told[0]
        and "1,000 ft" in told[3]
        and "10,000 ft" in told[3]
        and "stated by" in told[3]
    )
    # As high as the flight: then more height would have helped, and nothing is said of it.
    assert len(flat_reasons(_row(always, enough=3048.0), FOUND)) == 1


def test_captions_speak_of_the_cause_whose_curves_are_drawn(monkeypatch) -> None:
    rows = [
        _row(_procedure("let go", [1.0] * 4)).model_copy(
            update={"cause": CauseName(name), "reference": reference}
        )
        for name, reference in (("elevator-jam", "let go"), ("load-shift-aft", "power back"))
    ]
    findings = Findings.model_construct(response=FOUND.model_copy(update={"rows": rows}))
    monkeypatch.setattr(film, "with_judgement", lambda found: found)
    for place, said in ((0, "elevator jam"), (1, "aft load shift")):
        monkeypatch.setattr(film, "choose", lambda _, place=place: Chosen(response=place))
        told = film.acting_captions(findings)[1]
        assert told.startswith(
            f"If it was {said}, flown nose down: {{response.rows.{place}.reference_saved.share|%}}"
        )
        assert rows[place].reference in told


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
