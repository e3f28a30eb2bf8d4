"""Causes and examinations of other packages: judged, asked, told as theirs; faults are theirs."""

from __future__ import annotations

import importlib.metadata
import sys
from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr
from pydantic import ValidationError

from neutralpoint import NeutralPointError, plugins
from neutralpoint.case.outside_entry import OutsideEntry
from neutralpoint.findings import OutsideFindings
from neutralpoint.moments.judge import judge
from neutralpoint.moments.judgement import Word
from neutralpoint.moments.needed import Needed
from neutralpoint.moments.outside import judge_outside
from neutralpoint.report.words.outside import (
    WITHHELD,
    judged_elsewhere,
    no_share,
    outside_section,
    without_odds,
)
from neutralpoint.study.check import not_installed
from neutralpoint.study.outside import causes, examinations
from neutralpoint.study.outside.origin import dataset_of, origin_of, text_of
from neutralpoint.study.outside.stage import without_plugins
from neutralpoint.vocabulary import CauseName

EPOCH = datetime(2031, 4, 14, 18, 50, tzinfo=UTC)
TIME = np.linspace(0.0, 30.0, 16)


@pytest.fixture(autouse=True)
def installed(monkeypatch, entry_points_of_example):
    """The example as an installed package, and causes that are wrong in one way each."""
    found = list(entry_points_of_example)
    bad = type(sys)("outside_faults")
    bad.raises = lambda flight: 1 / 0
    bad.nothing = lambda flight: {"moment_coefficient": 0.0}
    bad.short = lambda flight: _made(flight["time"].values[:-1])
    bad.infinite = lambda flight: _made(flight["time"].values, np.inf)
    bad.unnamed = lambda flight: _made(flight["time"].values).drop_attrs(deep=False)
    monkeypatch.setitem(sys.modules, "outside_faults", bad)
    found += [
        importlib.metadata.EntryPoint(name, f"outside_faults:{name}", plugins.CAUSES)
        for name in ("raises", "nothing", "short", "infinite", "unnamed")
    ]
    monkeypatch.setattr(
        plugins, "entry_points", lambda group: [e for e in found if e.group == group]
    )
    yield
    for name in [name for name in sys.modules if name.startswith("kestrelfold")]:
        del sys.modules[name]


def _made(time, size=-0.02):
    return xr.Dataset(
        {
            "moment_coefficient": (
                ("history", "time"),
                np.full((1, time.size), size),
                {"units": "1"},
            ),
            "start": ("history", [0.0], {"units": "s"}),
        },
        attrs={"title": "Made", "mechanism": "Made", "source": "Made"},
    )


def _needed(mean):
    """A need that nothing of the airplane blurs, one coefficient in 2,000 of error."""
    count = TIME.size
    still = np.zeros(count, bool)
    return Needed(
        time=TIME,
        means=np.asarray(mean)[None, :],
        weights=np.ones(1),
        covariance=0.0005**2 * np.eye(count),
        total=0.0005**2 * np.eye(count),
        samples=180,
        effect=np.ones(count),
        pull=np.full(count, 2e-5),
        rising=still,
        falling=~still,
        scale=np.full(count, 2e5),
    )


class Asked:
    """A question whose need is given."""

    def __init__(self, mean):
        self.needed, self.rng = _needed(mean), np.random.default_rng(3)

    def of(self, paths, effect):
        return self.needed

    def averaged(self, make):
        return make(TIME)

    def judge(self, cause, needed, histories):
        return judge(cause, needed, histories, judged=(0.0, 30.0), rng=self.rng)


MOMENTS = SimpleNamespace(
    flight=SimpleNamespace(
        time=np.array([0.0, 30.0]), **{name: np.ones((3, 2)) for name in causes.SHOWN}
    ),
    airplane=SimpleNamespace(document=SimpleNamespace(name="Velmar C7"), airplane=None),
    judged=None,
)


def asked(name, mean, monkeypatch):
    monkeypatch.setattr(causes, "Question", lambda *_: Asked(mean))
    return causes.judge_named(name, MOMENTS, EPOCH, np.random.default_rng(5))


def test_a_cause_that_made_the_moment_is_possible_and_its_size_is_found(monkeypatch):
    # Truth by hand: a step of -0.03 at 10 s; the grid of the example has it within a tenth.
    made = -0.03 * np.clip((TIME - 10.0) / 2.0, 0.0, 1.0)
    said, compared = asked("tail-hatch", made, monkeypatch)
    assert said.word == "can" and said.probability > 0.05
    size = {one.name: one for one in said.estimates}["size"]
    assert size.low90 <= -0.0275 and size.high90 >= -0.0325 and size.unit == "1"
    assert said.origin.title.startswith("Hatch") and said.histories == 96 * 40 * 2
    np.testing.assert_allclose(compared["needed"], made)
    assert (compared["made_least"] <= compared["needed"] + 1e-9).all()


def test_a_cause_of_the_wrong_sign_is_excluded(monkeypatch):
    # Nose-up need that grows beyond what 200 lb of pull could add: 2e-5 * 890 N = 0.018.
    said, _ = asked("tail-hatch", 0.1 * np.clip((TIME - 5.0) / 10.0, 0.0, 1.0), monkeypatch)
    assert said.word == "cannot" and said.probability < 0.01 and said.miss is not None


def test_without_enough_times_nothing_is_judged():
    short = Asked(np.zeros(TIME.size))
    short.needed = SimpleNamespace(known=False)

    def make(time):
        return causes._histories(_made(time), time.size, "made")

    assert judge_outside(short, make).judgement.word is Word.NOT_JUDGED


@pytest.mark.parametrize("name", ["raises", "nothing", "short", "infinite", "unnamed"])
def test_a_fault_of_a_cause_is_told_as_its_own(name, monkeypatch):
    with pytest.raises(NeutralPointError) as fault:
        asked(name, np.zeros(TIME.size), monkeypatch)
    assert fault.value.code == "plugin-fault" and name in fault.value.message


def test_one_that_is_not_installed_is_named(monkeypatch):
    with pytest.raises(NeutralPointError) as missing:
        asked("elsewhere", np.zeros(TIME.size), monkeypatch)
    assert missing.value.code == "plugin-missing" and "tail-hatch" in missing.value.message


def test_numbers_of_an_examination_have_their_bands():
    beyond = np.tile(np.arange(101.0)[:, None], (1, 2))
    found = xr.Dataset(
        {
            "beyond": (("sample", "angle"), beyond, {"units": "s", "long_name": "time beyond"}),
            "count": ((), 7, {"units": "1"}),
            "empty": ("sample", np.full(101, np.nan), {"units": "s"}),
        },
        {"angle": ("angle", [15.0, 30.0], {"units": "degree"})},
    )
    first, second, count, empty = examinations.numbers_of(found)
    assert (first.label, second.label) == (
        "time beyond, angle 15 degree",
        "time beyond, angle 30 degree",
    )
    assert (first.low90, first.value, first.high90, first.unit) == (5.0, 50.0, 95.0, "s")
    assert (count.value, count.low90, count.label) == (7.0, None, "count")
    assert empty.value is None


def test_what_a_file_cannot_hold_and_words_that_are_missing_are_faults():
    with pytest.raises(NeutralPointError, match="no file can hold"):
        dataset_of(xr.Dataset({"odd": ("n", [object()], {"units": "1"})}), "made", "here")
    with pytest.raises(NeutralPointError, match="`title`"):
        text_of(xr.Dataset(), "title", "made", "here", needed=True)
    with pytest.raises(NeutralPointError, match="`comment`"):
        text_of(xr.Dataset(attrs={"comment": "x" * 301}), "comment", "made", "here", needed=False)
    assert text_of(xr.Dataset(attrs={"title": "a\n b"}), "title", "m", "h", needed=True) == "a b"


def test_a_case_names_each_once_and_one_that_names_none_is_left_alone():
    with pytest.raises(ValidationError, match="named twice"):
        OutsideEntry(causes=("a", "a"))

    def case(outside, airplane=None):
        return SimpleNamespace(document=SimpleNamespace(outside=outside), airplane=airplane)

    assert "names no cause" in without_plugins(case(None))
    assert "names no cause" in without_plugins(case(OutsideEntry()))
    assert "no airplane" in without_plugins(case(OutsideEntry(causes=("a",))))
    assert without_plugins(case(OutsideEntry(examinations=("a",)))) == ""


def test_a_check_says_which_plugins_are_not_installed():
    asked = OutsideEntry(causes=("tail-hatch", "gone"), examinations=("time-in-bank", "lost"))
    told = not_installed(asked)
    assert [error.code for error in told] == ["plugin-missing"] * 2
    assert [error.where.split(".")[-1] for error in told] == ["causes", "examinations"]
    assert "gone" in told[0].message and "lost" in told[1].message
    assert not_installed(None) == []


def _findings(monkeypatch, **texts):
    said, _ = asked("tail-hatch", -0.03 * np.clip((TIME - 10.0) / 2.0, 0, 1), monkeypatch)
    origin = said.origin.model_copy(update=texts)
    found = OutsideFindings(file="outside.nc", causes=[said.model_copy(update={"origin": origin})])
    row = SimpleNamespace(cause=CauseName.UNLISTED, probability=0.034)
    return SimpleNamespace(outside=found, weighing=SimpleNamespace(rows=[row]), epoch=EPOCH)


def test_the_report_says_word_times_and_that_there_are_no_odds(monkeypatch):
    findings = _findings(monkeypatch)
    section = outside_section(findings.outside, findings)
    verdict, share, mechanism = (one.text for one in section.statements)
    assert verdict.startswith("Hatch ahead of the tailplane open (package kestrelfold")
    assert ": possible, by the unexplained moment from 18:50:00.0 to 18:50:30.0 UTC" in verdict
    assert "no share of the odds" in share and "3.4% here" in share
    assert "7,680 histories" in mechanism and section.statements[-1].detail
    assert "not checked here" in section.cautions[0]
    (elsewhere,) = judged_elsewhere(findings)
    assert "Not among these causes: Hatch" in elsewhere.text
    assert without_odds(findings).endswith("unlisted cause: Hatch ahead of the tailplane open.")
    findings.weighing = None
    assert no_share(findings) == [] and without_odds(findings) == ""


def test_words_of_a_package_that_claim_too_much_are_withheld(monkeypatch):
    findings = _findings(monkeypatch, title="The hatch opened and killed everyone")
    told = outside_section(findings.outside, findings).statements[0].text
    assert "killed" not in told and told.startswith(f"tail-hatch {WITHHELD}")


def test_origin_names_the_package_and_its_version(monkeypatch):
    monkeypatch.setattr(
        "neutralpoint.study.outside.origin.package_of", lambda *_: ("kestrelfold", "1.0")
    )
    origin = origin_of(_made(TIME), plugins.CAUSES, "tail-hatch", "here")
    assert (origin.package, origin.version, origin.source) == ("kestrelfold", "1.0", "Made")
