"""Claims: each is held against sample paths, verdicts, odds, digests and the rules of wording."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import (
    CAUTIONS,
    LIKELIHOOD,
    CauseOdds,
    CauseVerdict,
    Findings,
    KeyTime,
    ResultFile,
    Source,
    StageSection,
    Subject,
    Worded,
    banded,
    confidence_word,
    likelihood_word,
    said_likelihood,
    word_allows,
    write_findings,
)
from neutralpoint.quantities import KNOT
from neutralpoint.report import load_ledger, write_drafts

EPOCH = datetime(2031, 4, 14, 18, tzinfo=UTC)
TIME = np.arange(3400.0, 3480.0, 0.25)
AT = 3478.0


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """360 kt with a standard deviation of 4 kt at every time; the bank is not observable."""
    folder = tmp_path_factory.mktemp("case")
    results = folder / "results"
    results.mkdir()
    speed = 360.0 * KNOT + 4.0 * KNOT * np.random.default_rng(3).normal(size=(400, 1)) + 0.0 * TIME
    flags = {"observable_bank_angle": ("time", np.zeros(TIME.size, np.int8))}
    unit = {"units": "m s-1"}
    xr.Dataset(
        {
            "calibrated_airspeed": (("sample", "time"), speed, unit),
            "bank_angle": (("sample", "time"), 0.0 * speed, {"units": "radian"}),
            **flags,
        },
        {"time": ("time", TIME)},
    ).to_netcdf(results / "motion.nc", engine="h5netcdf")
    digest = hashlib.sha256((results / "motion.nc").read_bytes()).hexdigest()
    value = banded(speed[:, 0], "m/s")
    write_findings(
        results,
        Findings(
            program_version="0",
            seed=1,
            cut_off="2031-05-01",
            epoch=EPOCH,
            subject=Subject(title="t", question="q", airplane="a"),
            cautions=list(CAUTIONS),
            sources=[Source(role="track", path="track.csv", sha256="ab" * 32, size=1)],
            assumptions=[],
            key_times=[
                KeyTime(
                    time=AT,
                    label="highest calibrated airspeed",
                    kind="derived",
                    values={"calibrated_airspeed": value},
                )
            ],
            worded=Worded(
                sections=[
                    StageSection(
                        stage="weighing",
                        title="Odds",
                        verdicts=[
                            CauseVerdict(
                                cause="gust", word="cannot", probability=0.0, sentence="No."
                            ),
                            CauseVerdict(
                                cause="trim", word="can", probability=0.4, sentence="Yes."
                            ),
                            CauseVerdict(
                                cause="load", word="can if", condition="it moved", sentence="If."
                            ),
                        ],
                        odds=[
                            CauseOdds(cause="trim", probability=0.7, lowest=0.5, highest=0.8),
                            CauseOdds(cause="gust", probability=0.01, lowest=0.0, highest=0.4),
                        ],
                    )
                ]
            ),
            results=[ResultFile(stage="motion", path="motion.nc", sha256=digest)],
        ),
    )
    return folder


NUMBER = """
quantity = "calibrated_airspeed"
at = 18:57:58
low = "353 kt"
high = "367 kt"
"""
AIRSPEED = f"""
says = "At 18:57:58 the calibrated airspeed was very likely (0.90) between 353 and 367 kt."
kind = "derived"
likelihood = 0.9
{NUMBER}
"""
CAUSE = """
says = "A moved trim is one of the causes that could have made this path."
kind = "inferred"
cause = "trim"
likelihood = 0.7
"""
FACT = """
says = "The track was received by two stations."
kind = "fact"
"""


def checked(case: Path, text: str, more: str = ""):
    head = 'schema = 1\n[[claims]]\nname = "one"\ndata = ["motion.nc"]\nmethod = "motion"\n'
    if "fact" not in text:
        head += 'evidence = "medium"\nagreement = "high"\n'
    (case / "claims.toml").write_text(f"{head}{text}\n{more}", encoding="utf-8")
    try:
        return load_ledger(case, case / "results")
    finally:
        (case / "claims.toml").unlink()


def codes(ledger) -> set[str]:
    return {doubt.code for doubt in ledger.claims[0].doubts}


def test_a_claim_within_the_band_holds(case: Path) -> None:
    (row,) = checked(case, AIRSPEED).claims
    assert row.holds, row.doubts
    # 360 +- 7 kt with sigma 4 kt holds 92 % (normal table); 400 draws have 1.4 % sampling error.
    assert row.borne == pytest.approx(0.92, abs=0.05)
    assert row.said_likelihood == "very likely (0.90)"
    assert row.confidence == "high"


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("353 kt", "358 kt", "likelihood-too-high"),
        ("likelihood = 0.9", "likelihood = 0.99", "likelihood-too-high"),
        ('low = "353 kt"\nhigh = "367 kt"', 'low = "380 kt"\nhigh = "390 kt"', "outside-band"),
        ("likelihood = 0.9\n", "", "likelihood-missing"),
        ("18:57:58", "19:10:00", "quantity-unknown"),
        ("calibrated_airspeed", "mach", "quantity-unknown"),
        ('kind = "derived"', 'kind = "derived"\nresults = {"motion.nc" = "' + "0" * 64 + '"}',
         "results-changed"),
        ('kind = "derived"', 'kind = "derived"\nresults = {"other.nc" = "' + "0" * 64 + '"}',
         "source-unknown"),
        ("was very likely", "certainly was very likely", "wording"),
    ],
)  # fmt: skip
def test_what_stands_against_a_number(case: Path, old: str, new: str, code: str) -> None:
    text = AIRSPEED.replace(old, new)
    if code == "quantity-unknown" and "mach" in new:
        text = text.replace("353 kt", "0.5").replace("367 kt", "0.6", 1).replace("367 kt", "0.6")
    assert code in codes(checked(case, text))


def test_what_is_not_observable_may_not_be_said(case: Path) -> None:
    text = AIRSPEED.replace("calibrated_airspeed", "bank_angle").replace(
        'low = "353 kt"\nhigh = "367 kt"', 'low = "-5 deg"\nhigh = "5 deg"'
    )
    assert "not-observable" in codes(checked(case, text))


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ("", "", set()),
        ("0.7", "0.95", {"outside-odds"}),
        ('"trim"', '"gust"', {"verdict-against", "outside-odds"}),
        ('"trim"', '"bees"', {"cause-unknown"}),
        ('"trim"', '"load"', {"cause-without-odds"}),
        ('cause = "trim"\nlikelihood = 0.7', 'cause = "load"', set()),
        ("is one of", "caused it, and is one of", {"wording"}),
    ],
)
def test_what_stands_against_a_cause(case: Path, old: str, new: str, found: set[str]) -> None:
    assert codes(checked(case, CAUSE.replace(old, new) if old else CAUSE)) == found


ONE_MORE = """
[[claims]]
name = "two"
data = ["motion.nc"]
method = "motion"
evidence = "medium"
agreement = "high"
"""
MEASURED = 'says = "A fix gave the airspeed."\nkind = "fact"\nquantity = "calibrated_airspeed"\n'


@pytest.mark.parametrize(
    ("first", "second", "contrary"),
    [
        # A cause affirmed and denied; the denial alone is held to what the odds leave.
        (CAUSE, CAUSE.replace("is one of", "is not one of"), True),
        (CAUSE, CAUSE.replace("is one of", "was not one of").replace("0.7", "0.3"), False),
        # One cause, two likelihoods, both within its range over the networks.
        (CAUSE.replace("0.7", "0.55"), CAUSE.replace("0.7", "0.78"), True),
        (CAUSE, CAUSE, False),
        # Causes exclude each other: their likelihoods sum to one at most.
        (CAUSE, CAUSE.replace('"trim"', '"gust"').replace("0.7", "0.4"), True),
        (CAUSE, CAUSE.replace('"trim"', '"gust"').replace("0.7", "0.1"), False),
        # Two facts of one moment.
        (
            MEASURED + 'at = 18:57:58\nlow = "356 kt"\nhigh = "358 kt"\n',
            MEASURED + 'at = 18:57:58\nlow = "361 kt"\nhigh = "363 kt"\n',
            True,
        ),
        (
            MEASURED + 'at = 18:57:58\nlow = "356 kt"\nhigh = "358 kt"\n',
            MEASURED + 'at = 18:57:50\nlow = "361 kt"\nhigh = "363 kt"\n',
            False,
        ),
    ],
)
def test_claims_that_contradict_each_other_do_not_both_hold(
    case: Path, first: str, second: str, contrary: bool
) -> None:
    more = ONE_MORE.replace('evidence = "medium"\nagreement = "high"\n', "")
    ledger = checked(case, first, (more if "fact" in second else ONE_MORE) + second)
    found = [{doubt.code for doubt in row.doubts} for row in ledger.claims]
    assert ["contradicts" in each for each in found] == [contrary, contrary], found
    if contrary:
        said = " ".join(d.sentence for d in ledger.claims[0].doubts if d.code == "contradicts")
        assert "\u201ctwo\u201d" in said
        assert not any(row.holds for row in ledger.claims)


def test_a_denial_is_held_to_what_the_odds_leave(case: Path) -> None:
    denied = CAUSE.replace("is one of", "was not one of")
    assert "outside-odds" in codes(checked(case, denied))
    assert codes(checked(case, denied.replace("0.7", "0.3"))) == set()


def test_a_fact_has_neither_likelihood_nor_confidence(case: Path) -> None:
    assert codes(checked(case, FACT)) == set()
    assert codes(checked(case, FACT + "likelihood = 0.9")) == {"likelihood-of-fact"}


def test_the_correction_log_is_read(case: Path) -> None:
    log = '[[corrections]]\ndate = 2031-06-01\nwhat = "350 became 360 kt"\nwhy = "wind"'
    (entry,) = checked(case, FACT, log).corrections
    assert (entry.date, entry.why) == ("2031-06-01", "wind")


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        (AIRSPEED.replace("likelihood", "liklihood"), "claims-invalid", "liklihood"),
        (AIRSPEED.replace('low = "353 kt"', ""), "claims-invalid", "together"),
        (AIRSPEED.replace("353 kt", "353 lb"), "quantity-unit", "353 lb"),
        (AIRSPEED.replace("353 kt", "400 kt"), "claims-invalid", "above"),
        (AIRSPEED.replace("18:57:58\nlow", '"noon"\nlow'), "claims-invalid", "noon"),
        (AIRSPEED + "[", "claims-invalid", "TOML"),
    ],
)
def test_a_wrong_file_is_refused_with_the_reason(
    case: Path, text: str, code: str, said: str
) -> None:
    with pytest.raises(NeutralPointError) as refused:
        checked(case, text)
    assert refused.value.code == code
    assert said in str(refused.value)
    assert "claims.toml" in refused.value.where


def test_drafts_hold_and_are_written_once(case: Path, tmp_path: Path) -> None:
    ledger = load_ledger(case, case / "results")
    assert not ledger.claims
    assert [row.claim.name for row in ledger.drafts] == [
        "highest-calibrated-airspeed", "gust", "load", "odds-trim",
    ]  # fmt: skip
    assert all(row.holds for row in ledger.drafts), [row.doubts for row in ledger.drafts]
    assert ledger.drafts[-1].claim.says.endswith(", from 0.50 to 0.80 over the networks.")
    path = write_drafts(case, case / "results")
    again = load_ledger(case, case / "results")
    assert [row.claim.name for row in again.claims] == [row.claim.name for row in ledger.drafts]
    assert all(row.holds for row in again.claims), [row.doubts for row in again.claims]
    with pytest.raises(NeutralPointError) as refused:
        write_drafts(case, case / "results")
    assert refused.value.code == "case-exists"
    path.unlink()


def test_words_follow_the_published_scale() -> None:
    said = [likelihood_word(p) for p in (0.999, 0.96, 0.92, 0.7, 0.5, 0.2, 0.08, 0.03, 0.001)]
    assert said == [
        "virtually certain", "extremely likely", "very likely", "likely",
        "about as likely as not", "unlikely", "very unlikely", "extremely unlikely",
        "exceptionally unlikely",
    ]  # fmt: skip
    for p in np.linspace(0.0, 1.0, 1001):
        assert word_allows(likelihood_word(p), p)
    assert len(LIKELIHOOD) == 10
    assert said_likelihood(0.9999) == "virtually certain (more than 0.99)"
    assert confidence_word("limited", "low") == "very low"
    assert confidence_word("robust", "high") == "very high"
