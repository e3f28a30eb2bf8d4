"""`weigh` and `next-evidence` on the example: one look, then prior, evidence, kills and damage."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from pathlib import Path

import numpy as np
import pytest

from neutralpoint.cli.entry import run
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import read_findings
from neutralpoint.report.words.prior import prior_sentence
from neutralpoint.report.words.sections import sections_of
from neutralpoint.study import run_stage
from neutralpoint.study.settings import WeighingSettings
from neutralpoint.study.weighing import flights as weighing_flights
from neutralpoint.study.weighing.at_once import FEW
from neutralpoint.study.weighing.calibrate import place_of_case
from neutralpoint.study.weighing.saved import SavedWeighing, read_weighing, saved_odds
from neutralpoint.weighing.mechanism import by_mechanism, grouped_prior, own_weights
from neutralpoint.weighing.odds import NOTHING, UNLISTED
from neutralpoint.weighing.simulate import CHUNK, flyable

PRIOR = '\n[[prior]]\ncause = "{}"\nweight = 2\nreason = "invented"\n'
EVIDENCE = """
[[prior]]
cause = "spiral-dive"
weight = 4
reason = "night over the sea, invented"

[[evidence]]
kind = "impact"
pitch = "-45 deg +- 15 deg"
latitude = "40.1 deg"
longitude = "-36.1 deg"
place_error = "30 km"
source = "survey, invented"

[[evidence]]
kind = "voice"
time = 18:54:48
strain = true
source = "recording, invented"

[[evidence]]
kind = "voice"
time = 19:54:48
strain = true
source = "an hour later, invented"

[[evidence]]
kind = "trim-position"
angle = "-6.0 deg +- 0.6 deg"
marks_agree = false
source = "as found, invented"

[[evidence]]
kind = "finding"
item = "breaker"
found = "pulled or pressed"
source = "photograph, invented"

[[evidence]]
kind = "words"
words = "it will not stop"
cause = "trim-drive"
likelihood = 3
source = "transcript, invented"
"""


def weigh(folder: Path, **settings) -> Path:
    told: list[float] = []
    chosen = WeighingSettings(**settings)
    results = run_stage(folder, "weighing", lambda step: told.append(step.fraction), chosen)
    assert told == sorted(told) and told[-1] == 1.0
    return results


def digest(results: Path) -> dict[str, str]:
    names = ("weighing.json", "weighing.nc")
    return {n: hashlib.sha256((results / n).read_bytes()).hexdigest() for n in names}


def odds_section(folder: Path):
    findings = read_findings(folder / "results")
    return next(section for section in sections_of(findings) if section.stage == "weighing")


@pytest.fixture
def copy(studied, tmp_path):
    shutil.copytree(studied, tmp_path / "case")
    return tmp_path / "case"


@pytest.fixture
def grounded(monkeypatch):
    """No flight may be flown."""

    def refuse(job):
        raise AssertionError("a flight was flown again")

    monkeypatch.setattr(weighing_flights, "fly_job", refuse)


def prior_words(saved: SavedWeighing) -> str:
    return prior_sentence(saved.prior)


def test_odds_are_whole_and_nobody_is_excluded(studied):
    found = read_weighing(studied / "results")
    chance = [row.probability for row in found.causes]
    assert sum(chance) == pytest.approx(1.0)
    assert min(chance) > 0.0
    assert found.causes[-1].name == UNLISTED
    assert "0.95, stated in the case" in prior_words(found)
    assert sum(row.prior for row in found.causes if row.name != NOTHING) == (pytest.approx(0.95))
    assert found.twin != found.leader
    for row in found.causes:
        assert row.low <= row.probability <= row.high


def test_odds_are_summed_by_mechanism(studied):
    """Two rows of one mechanism are one answer, in the file and in what people read."""
    found = read_weighing(studied / "results")
    rows = found.causes
    names = tuple(row.name for row in rows)
    summed = by_mechanism(names, np.array([row.probability for row in rows]))
    assert sorted(summed) == pytest.approx(sorted(group.probability for group in found.mechanisms))
    groups = {group.name: group.prior for group in found.mechanisms}
    failed = [prior for name, prior in groups.items() if name != NOTHING]
    assert failed == pytest.approx([0.95 / len(failed)] * len(failed))
    section = odds_section(studied)
    assert any(text.text.startswith("By mechanism") for text in section.statements)
    assert any(table.caption.startswith("Odds by mechanism") for table in section.tables)
    assert any("do not enter the odds" in text.text for text in section.statements)
    assert any(text.text.startswith("Excluded by") for text in section.statements)


def test_saved_evidence_gives_the_odds_back(studied):
    found = read_weighing(studied / "results")
    odds, each = saved_odds(found)
    assert odds.probability == pytest.approx([row.probability for row in found.causes])
    assert each.mean(axis=0) == pytest.approx(odds.probability)


def test_bayes_factors_do_not_depend_on_the_prior(studied):
    found = read_weighing(studied / "results")
    even, _ = saved_odds(found, {})
    other, _ = saved_odds(found, {"spiral-dive": 50.0})
    assert np.diff(other.log_evidence) == pytest.approx(np.diff(even.log_evidence))
    assert other.probability[other.causes.index("spiral-dive")] > 0.0


def test_the_data_file_is_read_by_arviz(studied):
    az = pytest.importorskip("arviz_base")
    tree = az.convert_to_datatree(str(studied / "results" / "weighing.nc"))
    groups = {"posterior", "sample_stats", "posterior_predictive", "observed_data"}
    assert groups <= set(tree.children)
    flights = az.extract(tree, group="posterior_predictive", var_names="true_airspeed")
    assert flights.sizes["sample"] == 40
    assert {"log_evidence", "settled"} <= set(tree["sample_stats"].data_vars)
    assert set(flights["cause"].values) == {
        row.name for row in read_weighing(studied / "results").causes[:-1]
    }
    seen = tree["observed_data"]["true_airspeed"].values
    assert np.isfinite(seen[:10]).all() and 50.0 < seen[0] < 250.0


def test_the_findings_say_odds_score_twin_and_what_would_settle(studied):
    findings = read_findings(studied / "results")
    by_stage = {section.stage: section for section in sections_of(findings)}
    odds, settling = by_stage["weighing"], by_stage["evidence"]
    assert sum(row.probability for row in odds.odds) == pytest.approx(1.0)
    assert [row.cause for row in odds.odds if not row.listed] == [UNLISTED]
    assert {score.name for score in odds.scores} >= {"mean log score"}
    assert any("Nearest rival" in s.text for s in odds.statements)
    assert {row.title for row in odds.odds} >= {
        "No failure (manual flight, turbulence)",
        "Aft load shift",
    }
    # People read titles; names with hyphens are for data and commands.
    shown = [row for table in odds.tables for row in (table.columns, *table.rows)]
    shown += [[panel.label for panel in odds.panels], [s.text for s in odds.statements]]
    shown += [item.outcomes for item in settling.settling]
    assert not [text for part in shown for text in part for row in odds.odds
                if "-" in row.cause and row.cause in text]  # fmt: skip
    assert odds.cautions and settling.cautions
    gains = [item.gain for item in settling.settling]
    # Two that tell the same to a thousandth of a bit stand by their cost.
    assert gains and np.all(np.diff(np.round(gains, 3)) <= 0.0)
    for item in settling.settling:
        assert item.lowest <= item.gain <= item.highest
        assert len(item.outcomes) >= 2


def test_another_prior_flies_nothing(copy, grounded, monkeypatch, capsys):
    monkeypatch.setattr("neutralpoint.cli.weigh.write_page", lambda results, tell: None)
    before = read_weighing(copy / "results")
    assert run(["weigh", str(copy), "--prior", "spiral-dive=20"]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "mean log score" in printed and "no blame" in printed and "over 6 networks" in printed
    after = read_weighing(copy / "results")
    assert after.runs == before.runs
    assert "spiral dive (spatial disorientation) 20 (stated with the command)" in prior_words(after)
    names = tuple(row.name for row in before.causes)
    prior = grouped_prior(names, 0.95, {"spiral-dive": 20.0})
    assert [row.prior for row in after.causes] == pytest.approx(prior)
    odds, _ = saved_odds(before, own_weights(names, prior))
    assert [row.probability for row in after.causes] == pytest.approx(odds.probability)


def test_what_is_known_of_a_failure_is_said_once(copy, grounded):
    """Without a word of the case a failure is held for rare; a weight speaks for itself."""
    path = copy / "case.toml"
    text = path.read_text("utf-8")
    path.write_text(re.sub("something_failed = .*", "", text), "utf-8")
    quiet = read_weighing(weigh(copy))
    assert "failed: 0.01" in prior_words(quiet) and "something_failed" in prior_words(quiet)
    prior = {row.name: row.prior for row in quiet.causes}
    assert prior[NOTHING] == pytest.approx(0.99)
    assert not quiet.prior.failed_stated
    null = next(row for row in quiet.mechanisms if row.name == NOTHING).if_failed
    assert list(null) == ["0.01", "0.5", "0.95"]
    assert null["0.01"] > null["0.5"] > null["0.95"]
    said = [s.text for s in odds_section(copy).statements]
    assert any(
        "states no prior that something failed" in text and "at 0.95" in text for text in said
    )
    weigh(copy, prior={NOTHING: 2.0})
    told = read_weighing(copy / "results")
    prior = {row.name: row.prior for row in told.mechanisms}
    assert prior[NOTHING] == pytest.approx(2.0 * prior["person"])
    assert "no failure (manual flight, turbulence) 2 (stated with the command)" in prior_words(told)
    path.write_text(text + PRIOR.format(NOTHING), "utf-8")
    with pytest.raises(NeutralPointError, match="both `something_failed`"):
        weigh(copy)


def test_other_evidence_flies_nothing_and_counts(copy, grounded):
    before = read_weighing(copy / "results")
    text = (copy / "case.toml").read_text("utf-8")
    (copy / "case.toml").write_text(text + EVIDENCE, "utf-8")
    after = read_weighing(weigh(copy))
    assert after.runs == before.runs
    assert "spiral dive (spatial disorientation) 4 (night over the sea, invented)" in prior_words(
        after
    )
    perceived, impact, voice, position, breaker, words = after.evidence
    assert perceived.name.startswith("perception") and perceived.doubt == 0.4
    assert words.name.startswith("words") and words.doubt == 0.3
    assert np.ptp(voice.log_likelihood) <= np.log(3.0) + 1e-9
    assert "weak" in voice.caution.lower()
    assert position.doubt == 0.5 and "marks agree" in position.caution
    names = [row.name for row in after.causes]
    nats = dict(zip(names, breaker.nats, strict=True))
    assert nats["stabilizer-runaway"] > 0.0 > nats["spiral-dive"]
    said = [s.text for s in odds_section(copy).statements]
    assert any("enter the odds by a stated likelihood alone" in text for text in said)
    assert "place" in impact.name and np.isfinite(impact.nats).all()
    runs = np.array(after.runs)
    assert len(runs) == after.seeds == 6
    findings = read_findings(copy / "results")
    assert any("no flight is simulated" in w.message for w in findings.warnings)
    settling = next(s for s in sections_of(findings) if s.stage == "evidence")
    left = [item.item for item in settling.settling]
    assert not any("breaker" in name or "actuator: length" in name for name in left)


# As much of a shorter run: tests/unit/test_study.py, tests/unit/test_weighing_flights.py.
@pytest.mark.slow
def test_a_run_that_is_killed_is_taken_up_to_the_same_bits(copy, monkeypatch):
    """A later run finds one chunk whole and one damaged, which alone is flown again."""
    results = copy / "results"
    before, flown = digest(results), []
    kept = sorted((results / weighing_flights.FOLDER).glob("flights-*.npz"))
    causes = len(read_weighing(results).causes) - 1
    # As for a pilot, so hands off for the signatures.
    assert len(kept) == 2 * -(-FEW * causes // CHUNK)
    kept[0].write_bytes(kept[0].read_bytes()[:-8])
    fly = weighing_flights.fly_job

    def count(job):
        flown.append(job)
        return fly(job)

    monkeypatch.setattr(weighing_flights, "fly_job", count)
    run_stage(copy, "weighing", lambda step: None, WeighingSettings(), fresh=True)
    assert len(flown) == 1
    assert kept == sorted(
        (results / weighing_flights.FOLDER).glob("flights-*.npz")
    )  # named by content
    assert digest(results) == before


@pytest.mark.parametrize("prior", ["gremlins=2", "spiral=0", "spiral-dive", "spiral=much"])
def test_a_prior_that_cannot_be_is_one_clear_error(studied, capsys, prior):
    assert run(["weigh", str(studied), "--prior", prior, "--json"]) == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert error["code"] == "argument-invalid"
    assert prior in error["message"] and "spiral-dive" in error["hint"]


def test_a_prior_for_a_cause_that_cannot_act_is_refused(copy, capsys):
    """The example trims by its stabilizer: it has no tab to run away."""
    assert run(["weigh", str(copy), "--prior", "tab-runaway=2", "--json"]) == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert "tab-runaway" in error["message"] and "stabilizer-runaway" in error["hint"]


def test_next_evidence_ranks_by_bits_and_names_the_outcomes(studied, capsys):
    assert run(["next-evidence", str(studied), "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["items"]
    assert np.all(np.diff(np.round([row["bits"] for row in rows], 3)) <= 0.0)
    assert {row["key"] for row in rows} >= {
        "actuator", "breaker", "tab", "load-marks", "propeller", "audio-line", "raw-plots",
        "earlier-flights", "load-sheet",
    }  # fmt: skip
    for row in rows:
        assert sum(then["chance"] for then in row["outcomes"]) == pytest.approx(1.0)
    assert run(["next-evidence", str(studied)]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "Most informative at low cost" in printed and "mean log score" in printed


def pretended(job) -> np.ndarray:
    """Flights that cost nothing: each cause bends the path its own way, from its own time on."""
    cause, time = job.drawn[3]["index"], 0.5 * np.arange(int(2 * job.flown_for))
    bend = np.maximum(time - 1.0 - cause[:, None] % 4, 0.0) * (cause[:, None] - 8.0)
    rows = np.zeros((len(cause), time.size, 11))
    rows[:, :, 0] = 1.0 + 0.02 * bend  # load factor
    rows[:, :, 3] = 100.0 + bend  # speed
    rows[:, :, 5] = 3000.0 - 5.0 * bend  # height
    rows += 1e-3 * np.sin(job.numbers)[:, None, None]
    return rows[: job.used]


def test_calibration_is_printed_beside_the_odds_of_the_case(copy, monkeypatch, capsys):
    monkeypatch.setattr(weighing_flights, "fly_job", pretended)
    out = copy / "results" / "calibration.json"
    assert run(["calibrate", str(copy), "--cases", "6", "--out", str(out), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    found = json.loads(out.read_text("utf-8"))
    assert printed["mean_log_score"] == found["mean_log_score"]
    assert found["where"] == "the start and the data of this case"
    place = place_of_case(copy, lambda step: None)
    causes = len(flyable(place.airplane, place.facts)) + 1
    assert (
        found["cases"] <= causes and sum(found["reliability"]["count"]) == found["cases"] * causes
    )
    assert found["mean_log_score"] < 0.0
    assert not (copy / "results" / ".calibration").exists()
    assert run(["next-evidence", str(copy)]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert f"On {found['cases']} blind simulated flights from the start of this case" in printed
