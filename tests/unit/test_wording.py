"""The rules of wording on 208 sentences written for them, and on 40 that never changed them.

Measured, flag by flag. First run on the 190 sentences: precision 0.956, recall 0.982 (113 flags
given, 110 expected); three labels were then completed and four rules mended: precision 1.00,
recall 1.00. On the 40 sentences written afterwards, many in turns of phrase chosen to slip
through, and never used to change a rule: precision 1.00, recall 0.54. So a flag is nearly always
right, and a clean text is no proof of a careful one.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import CAUTIONS, Banded, Findings, KeyTime, Subject
from neutralpoint.quantities import KNOT
from neutralpoint.report.wording.review import review_text, sentences
from neutralpoint.report.wording.text import read_text

HERE = Path(__file__).parent


def corpus(name: str) -> list[tuple[set[str], str]]:
    lines = (HERE / name).read_text(encoding="utf-8").splitlines()
    rows = [line.split("|", 1) for line in lines if line.strip() and not line.startswith("#")]
    return [(set(rules.split()) - {"-"}, said.strip()) for rules, said in rows]


def measured(name: str) -> tuple[float, float]:
    right = given = expected = 0
    for rules, said in corpus(name):
        found = {flag.rule for flag in review_text(said).flags}
        right, given, expected = (
            right + len(found & rules),
            given + len(found),
            expected + len(rules),
        )
    return right / given, right / expected


def test_the_corpus_is_large_and_holds_innocent_sentences() -> None:
    rows = corpus("wording_corpus.txt")
    assert len(rows) >= 150
    assert sum(not rules for rules, _ in rows) >= 60
    kinds = set().union(*(rules for rules, _ in rows))
    assert kinds == {
        "proof", "cause", "asserted", "certainty", "likelihood", "hindsight", "blame", "intent",
        "number", "name",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("name", "precision", "recall"),
    [("wording_corpus.txt", 0.99, 0.98), ("wording_unseen.txt", 0.99, 0.53)],
)
def test_flags_against_expected(name: str, precision: float, recall: float) -> None:
    found = measured(name)
    assert found[0] >= precision
    assert found[1] >= recall
    if name == "wording_unseen.txt":
        said = f"precision {found[0]:.2f}, recall {found[1]:.2f}"
        assert said in " ".join((__doc__ or "").split())


def test_every_flag_says_why_and_what_instead() -> None:
    for _, said in corpus("wording_corpus.txt"):
        for flag in review_text(said).flags:
            assert flag.said in said
            assert flag.why.endswith(".")
            assert flag.instead


SCRIPT = """# The dive

The track shows a path. It proves
that the relay stuck.

```
this proves nothing
```

- It reached 362 kt.
> Capt. Orla Venn should have
> pulled the breaker.
"""


def test_lines_are_those_of_the_text() -> None:
    assert [line for line, _ in sentences(SCRIPT)] == [1, 3, 3, 10, 11]
    found = {(flag.line, flag.rule) for flag in review_text(SCRIPT).flags}
    assert found == {(3, "proof"), (10, "number"), (11, "hindsight"), (11, "name")}


def banded(low: float, high: float, unit: str, *, observable: bool = True) -> Banded:
    middle, quarter = (low + high) / 2, (high - low) / 4
    return Banded(
        median=middle, low50=middle - quarter, high50=middle + quarter, low90=low, high90=high,
        unit=unit, observable=observable,
    )  # fmt: skip


@pytest.fixture(scope="module")
def findings() -> Findings:
    return Findings(
        program_version="0",
        seed=1,
        cut_off="2031-05-01",
        epoch=datetime(2031, 4, 14, 18, tzinfo=UTC),
        subject=Subject(title="Quorleigh", question="q", airplane="a"),
        cautions=list(CAUTIONS),
        sources=[],
        assumptions=[],
        key_times=[
            KeyTime(
                time=3478.0,
                label="last fix",
                kind="derived",
                values={
                    "calibrated_airspeed": banded(354 * KNOT, 364 * KNOT, "m/s"),
                    "bank_angle": banded(-0.1, 0.1, "rad", observable=False),
                },
            )
        ],
    )


@pytest.mark.parametrize(
    ("said", "rules"),
    [
        ("At the last fix the airspeed was 402 knots.", {"band"}),
        ("At 18:57:58 the airspeed was 402 kt.", {"band"}),
        ("At the last fix the airspeed was 360 knots.", {"number"}),
        ("At the last fix the airspeed was between 354 and 364 kt (90%).", set()),
        ("At the last fix the airspeed was 360 kt ± 5 kt.", set()),
        ("At the last fix the airspeed was between 380 and 390 kt (90%).", {"band"}),
        ("At the last fix the bank angle was between 2 and 5 degrees (90%).", {"band"}),
        ("Quorleigh was below the airplane.", set()),
    ],
)
def test_numbers_are_held_against_the_findings(
    findings: Findings, said: str, rules: set[str]
) -> None:
    assert {flag.rule for flag in review_text(said, findings).flags} == rules


def test_a_suggestion_gives_the_band_of_the_findings(findings: Findings) -> None:
    (flag,) = review_text("At the last fix the airspeed was 402 knots.", findings).flags
    assert flag.instead == "between 354 and 364\u202fkt (90%)"


def test_band_at_any_time_by_a_lookup(findings: Findings) -> None:
    def lookup(name: str, time: float) -> Banded | None:
        return banded(100 * KNOT, 110 * KNOT, "m/s") if abs(time - 3000.0) < 1.0 else None

    said = "At 18:50:00 the airspeed was 150 kt."
    assert {flag.rule for flag in review_text(said, findings, lookup).flags} == {"band"}
    assert {flag.rule for flag in review_text(said, findings).flags} == {"number"}


@pytest.mark.parametrize(
    ("said", "flagged"),
    [
        ("It is very likely (0.93) that the trim moved.", False),
        ("It is very likely (0.70) that the trim moved.", True),
        ("It is unlikely (0.70) that the trim moved.", True),
        ("It is unlikely (20 %) that the trim moved.", False),
    ],
)
def test_a_word_must_fit_its_number(said: str, flagged: bool) -> None:
    assert bool(review_text(said).flags) is flagged


def test_texts_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(NeutralPointError) as refused:
        read_text(tmp_path / "none.md")
    assert refused.value.code == "file-missing"
    (tmp_path / "latin.md").write_bytes(b"caf\xe9 was closed")
    with pytest.raises(NeutralPointError) as refused:
        read_text(tmp_path / "latin.md")
    assert refused.value.code == "file-format"
