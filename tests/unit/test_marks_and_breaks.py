"""Flights that break, and marks on the ground held against paths flown on to it."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.case.evidence_entries import ImpactEntry, TreeCutsEntry
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import Banded90, CauseEnding, GroundEnding, GroundMark
from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.report.words.odds import _broken
from neutralpoint.report.words.wreckage import _broken as broken_before_ground
from neutralpoint.report.words.wreckage import _endings
from neutralpoint.study.weighing.endings import Continued
from neutralpoint.study.weighing.marks import impact, tree_cuts
from neutralpoint.study.wreckage.work_out import PlaneFrame, without_ground
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.broken import broke_at

PATHS = 400
TIME = np.arange(0.0, 20.0, 0.5)
LIMITS = SimpleNamespace(load_factor_max=3.0, load_factor_min=-1.2)  # ultimate 4.5 and -1.8


def flown(cause: str, load: np.ndarray) -> SimpleNamespace:
    course = SimpleNamespace(time=TIME, normal_load_factor=load, bank_angle=np.zeros_like(load))
    plan = SimpleNamespace(airplane=SimpleNamespace(limits=LIMITS))
    return SimpleNamespace(cause=cause, course=course, plan=plan, pitch=np.zeros_like(load))


def test_a_flight_breaks_when_it_first_passes_ultimate_load():
    """By hand: 1.5 times either limit, the first record beyond counts."""
    load = np.ones((4, TIME.size))
    load[0, 10:12] = 4.49
    load[1, 10:] = 4.51
    load[2, 6], load[2, 30] = -1.81, 9.0
    assert broke_at(flown("elevator-jam", load)).tolist() == [np.inf, 5.0, 3.0, np.inf]
    assert np.all(np.isinf(broke_at(flown(CauseName.STRUCTURAL_FAILURE, load))))


def grounded(north: float, angle: float, *, broke: float = np.inf, seed: int = 3) -> Continued:
    rng = np.random.default_rng(seed)
    ending = SimpleNamespace(
        reached=np.ones(PATHS, bool), time=np.full(PATHS, 4.0),
        north=north + 40.0 * rng.standard_normal(PATHS), east=40.0 * rng.standard_normal(PATHS),
        path_angle=angle + 0.05 * rng.standard_normal(PATHS), speed=np.full(PATHS, 90.0),
    )  # fmt: skip
    return Continued(ending, np.arange(PATHS), np.full(PATHS, broke))


def held(second: Continued, terrain=("hills.tif",)) -> SimpleNamespace:
    ones = np.ones((PATHS, TIME.size))
    document = SimpleNamespace(debris=[], terrain=terrain, evidence=(_impact(),))
    names = ("structural-failure", "tailplane-stall")
    return SimpleNamespace(
        case=SimpleNamespace(document=document), begin=100.0, causes=names,
        scene=SimpleNamespace(last=110.0, frame=PlaneFrame(0.8, 0.1)),
        grounded=[grounded(200.0, -1.3), second], flown=[flown(n, ones) for n in names],
    )  # fmt: skip


def _impact(**more: str) -> ImpactEntry:
    north, east = np.degrees(0.8 + 200.0 / EARTH_RADIUS), np.degrees(0.1)
    given = {
        "latitude": f"{north:.6f} deg",
        "longitude": f"{east:.6f} deg",
        "place_error": "30 m",
    }
    return ImpactEntry.model_validate({"kind": "impact", "source": "x"} | given | more)


def test_a_crater_favors_the_cause_whose_paths_come_down_there():
    near, far, unlisted = impact(_impact(), held(grounded(900.0, -1.3)), "e").log_likelihood
    assert near > unlisted and near - far > 2.0
    assert near - far <= np.log(1.0 + 0.9 / 0.1 * 1e3)  # a doubt of 0.1 bounds it
    found = impact(_impact(path_angle="-75 deg +- 5 deg"), held(grounded(200.0, -0.4)), "e")
    assert found.name == "impact: path angle, place"
    assert found.log_likelihood[0] - found.log_likelihood[1] > 2.0


def test_a_path_that_broke_says_nothing_of_the_ground():
    """Its cause is neither raised nor lowered: it expects any place, as an unlisted one does."""
    _, broken, unlisted = impact(
        _impact(), held(grounded(900.0, -1.3, broke=-2.0)), "e"
    ).log_likelihood
    assert broken == pytest.approx(unlisted, abs=1e-6)


def test_cuts_need_a_ground_and_favor_the_angle_that_they_show():
    cuts = TreeCutsEntry.model_validate({
        "kind": "tree-cuts", "first_height": "11.5 m +- 0.6 m", "second_height": "2.0 m +- 0.6 m",
        "distance": "2.1 m +- 0.4 m", "slope": "4 deg +- 2 deg", "source": "x",
    })  # fmt: skip
    steep, flat, _ = tree_cuts(cuts, held(grounded(200.0, -0.4)), "e").log_likelihood
    assert steep - flat > 2.0
    with pytest.raises(NeutralPointError) as refused:
        tree_cuts(cuts, held(grounded(200.0, -0.4), terrain=()), "e")
    assert "height of the ground" in refused.value.hint


def test_marks_alone_let_a_path_be_continued():
    document = SimpleNamespace(debris=[], terrain=("hills.tif",), evidence=())
    assert "neither parts nor marks" in without_ground(SimpleNamespace(document=document))
    document.evidence = (_impact(),)
    assert without_ground(SimpleNamespace(document=document)) == ""


def _band(low: float, middle: float, high: float) -> Banded90:
    return Banded90(low90=low, median=middle, high90=high)


def test_the_report_says_from_when_on_a_path_is_not_trusted():
    same = _band(1.0, 2.0, 3.0)
    whole = GroundEnding(
        reached=1.0, time=same, distance=same, latitude=0.8, longitude=0.1, spread=9.0, speed=same,
        path_angle=same, heading=same,
    )  # fmt: skip
    findings = SimpleNamespace(
        epoch=datetime(2031, 1, 1, tzinfo=UTC),
        endings=[
            CauseEnding(cause=CauseName.ELEVATOR_JAM, probability=0.4, broke=0.97,
                        broke_time=_band(3600.0, 3605.0, 3610.0), ending=None),
            CauseEnding(cause=CauseName.SPIRAL_DIVE, probability=0.3, broke=0.0, ending=whole),
        ],
    )  # fmt: skip
    (said,) = broken_before_ground(findings)
    assert "elevator jam" in said.text.lower() and "01:00:00" in said.text
    assert "not trusted" in said.text and "spiral" not in said.text.lower()
    found = SimpleNamespace(
        ending=whole, marks=[GroundMark(source="survey", path_angle=_band(-1.4, -1.35, -1.3))]
    )
    rows = _endings(found, findings).rows
    assert [len(row) for row in rows] == [8] * 4
    assert rows[0][0] == "as found: survey" and "\u221277 deg" in rows[0][4]
    assert set(rows[2][1:6]) == {"\u2013"} and rows[2][6].startswith("97%")
    row = SimpleNamespace(
        cause=CauseName.ELEVATOR_JAM, broke=0.6, broke_from=3600.0, probability=0.4
    )
    weighed = SimpleNamespace(rows=[row], file="weighing.json")
    (told,) = _broken(weighed, findings)
    assert "60% from 01:00:00" in told.text
    row.probability = 0.001
    assert _broken(weighed, findings) == []
