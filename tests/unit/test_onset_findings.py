"""What is said of an onset, and verdicts over several references."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.findings import MovedReference, OddsWindow, onset_headline
from neutralpoint.moments import (
    Judgement,
    MotionFlight,
    Reference,
    Window,
    compared_windows,
    last_trimmed,
)
from neutralpoint.moments.judgement import Word
from neutralpoint.motion import Onsets, stated
from neutralpoint.report.words.onset import (
    HEADLINES,
    moved_statements,
    onset_section,
    window_statements,
    window_tables,
)
from neutralpoint.study.moments.looked_at import stretches_asked_from
from neutralpoint.study.moments.readings import Reading, differing, extreme, over_readings
from neutralpoint.study.motion.onset_findings import onset_findings, onset_warnings
from neutralpoint.study.weighing.windows import WindowAsked, mean_over, mixed
from neutralpoint.vocabulary import CauseName

EPOCH = datetime(2031, 5, 1, 18, 0, 0, tzinfo=UTC)
SURE = Onsets(np.arange(100.0, 104.0), np.array([0.2, 0.4, 0.3, 0.08]), 0.02)
WIDE = Onsets(np.array([50.0, 100.0]), np.array([0.5, 0.45]), 0.05)
NONE = Onsets(np.array([100.0]), np.array([0.1]), 0.9)


def test_no_onset_is_found_in_the_findings_and_warned_of():
    found = onset_findings(NONE)
    assert not found.found and found.probability == pytest.approx(0.1) and found.left == []
    assert [warned.code for warned in onset_warnings(NONE, EPOCH)] == ["onset-none"]


def test_an_onset_has_its_quantiles_and_its_cause_began_before():
    found = onset_findings(SURE)
    assert found.found and found.left[2] == pytest.approx(101.3, abs=0.3)
    assert onset_warnings(SURE, EPOCH) == ()
    assert all(a <= b for a, b in zip(found.begun, found.left, strict=True))


def test_a_wide_onset_is_warned_of():
    assert [warned.code for warned in onset_warnings(WIDE, EPOCH)] == ["onset-unclear"]


def test_a_stated_onset_is_one_candidate():
    assert stated(130.0).interval == (130.0, 130.0) and stated(130.0).none == 0.0


@pytest.mark.parametrize(
    ("onsets", "given", "word"),
    [
        (SURE, None, "found"),
        (WIDE, None, "unclear"),
        (NONE, None, "none"),
        (SURE, 101.0, "stated"),
        (NONE, 101.0, "stated-not-shown"),
    ],
)
def test_the_headline_is_one_typed_word_and_heads_the_section(onsets, given, word):
    shown = onset_findings(onsets)
    motion = SimpleNamespace(onset=shown)
    moments = SimpleNamespace(stated_onset=given)
    found = onset_headline(motion, moments)
    assert found.word == word and found.stated == given
    # The word and the warning agree.
    warned = [one.code for one in onset_warnings(onsets, EPOCH)]
    expected = {"none": ["onset-none"], "unclear": ["onset-unclear"], "found": []}
    if given is None:
        assert warned == expected[word]
    document = SimpleNamespace(epoch=EPOCH, onset=found, motion=motion, moments=moments)
    assert onset_section(shown, document).title == HEADLINES[word]


def test_odds_where_an_onset_is_stated_count_that_its_cause_began_before_unless_a_reference_is():
    time = np.arange(0.0, 200.0, 0.5)
    one = np.ones((2, time.size))
    flight = MotionFlight(
        time=time,
        true_airspeed=90.0 * one,
        dynamic_pressure=4900.0 * one,
        mach=0.27 * one,
        density=1.2 * one,
        normal_load_factor=one,
        longitudinal_load_factor=0.0 * one,
        path_rate=0.0 * one,
        gust_angle=0.0 * one,
    )
    onset = 150.0
    trimmed = last_trimmed(flight, onset)
    told = [Reference(trimmed, float(time[trimmed][-1]), 1.0, 0.0)]

    def asked(onset, reference):
        analysis = SimpleNamespace(onset=onset, reference=reference)
        return stretches_asked_from(flight, stated(150.0), told, analysis)

    found = asked(onset, None)
    assert len(found) > 1 and onset - 6.0 < found[-1].end <= told[0].end
    assert sum(each.weight for each in found) == pytest.approx(1.0)
    # By the delays of simulated faults one in ten begins more than 17 s before the motion shows it:
    # 0.2 exp(-t / 25 s) = 0.1, and the exponential that shows at once has run out.
    assert sum(each.weight for each in found if each.end < onset - 17.0) >= 0.1
    assert asked(None, None) is told and asked(onset, (10.0, 20.0)) is told


def reading(weight: float, *verdicts: tuple[Word, float]) -> Reading:
    causes = (CauseName.ELEVATOR_JAM, CauseName.LOAD_SHIFT_AFT)
    return Reading(
        Reference(np.ones(4, dtype=bool), 10.0 * weight, weight, 0.0),
        [
            Judgement(cause, word, probability, (0.0, 60.0))
            for cause, (word, probability) in zip(causes, verdicts, strict=True)
        ],
    )


def test_verdicts_are_the_mean_over_the_references():
    both = [
        reading(0.3, (Word.CAN, 0.9), (Word.CANNOT, 0.0)),
        reading(0.7, (Word.CANNOT, 0.001), (Word.CANNOT, 0.001)),
    ]
    jam, shift = over_readings(both)
    assert jam.word is Word.CAN and jam.probability == pytest.approx(0.2707)
    assert shift.word is Word.CANNOT
    assert differing(both) == [(CauseName.ELEVATOR_JAM, [Word.CAN, Word.CANNOT])]


def test_a_cause_that_one_unlikely_reference_allows_is_granted_with_a_condition():
    both = [
        reading(0.1, (Word.CAN, 0.2), (Word.CAN, 0.5)),
        reading(0.9, (Word.CANNOT, 0.0), (Word.CAN, 0.5)),
    ]
    jam, shift = over_readings(both)
    assert jam.word is Word.CAN_IF and jam.condition is not None
    assert shift.word is Word.CAN and differing(both)[0][0] is CauseName.ELEVATOR_JAM


def test_one_reference_is_left_as_it_is():
    alone = reading(1.0, (Word.CAN, 0.9), (Word.NOT_JUDGED, float("nan")))
    assert over_readings([alone]) is alone.verdicts


def test_the_extreme_force_keeps_its_sign():
    force = np.array([[10.0, -50.0, 20.0], [5.0, -70.0, 60.0]])
    low, middle, high = extreme(force)
    assert -70.0 <= low <= middle <= high <= -50.0 and middle == -60.0
    assert np.isnan(extreme(force[:, :0])).all()


def test_each_reference_opens_a_window_of_its_own_to_the_same_onset():
    chosen = [Reference(np.ones(4, dtype=bool), 10.0 * w, w, 0.0) for w in (0.4, 0.6)]
    windows = compared_windows(chosen, 50.0, 300.0)
    assert [window.begin for window in windows] == [4.0, 6.0]
    # The latest onset and what is compared after it, for both.
    assert windows[0].end == windows[1].end == 95.0
    assert sum(window.weight for window in windows) == pytest.approx(1.0)


def test_odds_are_the_mean_over_the_windows_network_by_network():
    shares = np.array([[[0.8, 0.2], [0.6, 0.4]], [[0.1, 0.9], [0.2, 0.8]]])
    asked = [
        WindowAsked(Window(0.0, 60.0, weight), np.log(runs))
        for weight, runs in zip((0.25, 0.75), shares, strict=True)
    ]
    assert np.exp(mixed(asked)) == pytest.approx(np.array([[0.275, 0.725], [0.3, 0.7]]))
    assert mixed(asked[:1]) == pytest.approx(asked[0].runs)


def odds_by_window(*leaders: tuple[CauseName, float]) -> SimpleNamespace:
    jam, shift = CauseName.ELEVATOR_JAM, CauseName.LOAD_SHIFT_AFT
    windows = [
        OddsWindow(
            begin=60.0 * number,
            end=200.0,
            weight=0.5,
            leader=leader,
            probability={jam: 0.005, shift: 0.005} | {leader: chance},
        )
        for number, (leader, chance) in enumerate(leaders)
    ]
    rows = [SimpleNamespace(cause=cause, probability=0.3) for cause in (jam, shift)]
    return SimpleNamespace(file="weighing.json", windows=windows, rows=rows)


@pytest.mark.parametrize("onsets", [SURE, NONE])
def test_the_report_says_which_odds_rest_on_which_reference(onsets):
    motion = SimpleNamespace(onset=onset_findings(onsets))
    findings = SimpleNamespace(epoch=EPOCH, motion=motion, moments=None)
    apart = odds_by_window((CauseName.ELEVATOR_JAM, 0.7), (CauseName.LOAD_SHIFT_AFT, 0.6))
    (said,) = window_statements(apart, findings)
    assert ("No onset was found" in said.text) is (onsets is NONE)
    assert "do not name the same cause first: elevator jam" in said.text
    assert "18:00:00.0 UTC (50%), aft load shift" in said.text
    (table,) = window_tables(apart, findings)
    assert table.columns[2:] == ["18:00:00.0 (50%)", "18:01:00.0 (50%)"]
    assert [row[0] for row in table.rows] == ["Elevator jam", "Aft load shift"]
    alike = odds_by_window((CauseName.ELEVATOR_JAM, 0.7), (CauseName.ELEVATOR_JAM, 0.6))
    assert "All name the same cause first" in window_statements(alike, findings)[0].text
    assert [row[0] for row in window_tables(alike, findings)[0].rows] == ["Elevator jam"]
    findings.moments = SimpleNamespace(stated_onset=100.0)
    (said,) = window_statements(apart, findings)
    assert said.text.startswith("The onset that is stated is the motion's; what caused it may have")
    assert "No onset" not in said.text
    alone = odds_by_window((CauseName.ELEVATOR_JAM, 0.7))
    assert window_statements(alone, findings) == window_tables(alone, findings) == []


def test_no_onset_found_is_a_headline_of_its_own_and_another_where_one_is_stated():
    none = onset_findings(NONE)
    motion = SimpleNamespace(onset=none)
    findings = SimpleNamespace(epoch=EPOCH, onset=None, motion=motion, moments=None)
    section = onset_section(none, findings)
    assert section.title == "No onset found" and "least ordinary" in section.statements[0].text
    findings.moments = SimpleNamespace(stated_onset=100.0)
    section = onset_section(none, findings)
    assert section.title == "Onset stated; the motion shows none"
    assert "least ordinary" not in section.statements[0].text


def test_the_report_says_what_changes_where_reference_and_stated_onset_are_moved():
    jam, runaway = CauseName.ELEVATOR_JAM, CauseName.STABILIZER_RUNAWAY

    def said(what, seconds, end, word, force):
        return MovedReference(
            what=what, seconds=seconds, end=end, words={jam: "cannot", runaway: word}, force=force
        )

    newtons = [100.0, 200.0, 300.0]
    moved = [
        said("reference", 0.0, 50.0, "can", newtons),
        said("reference", -5.0, 45.0, "can", newtons),
        said("onset", 5.0, 54.0, "cannot", [200.0, 400.0, 500.0]),
        said("onset", -5.0, 50.0, "can", None),
    ]
    told = moved_statements(SimpleNamespace(moved=moved, file="moments.nc"))
    earlier, later, same = (each.text for each in told)
    assert earlier.startswith("With the reference 5 s earlier: no verdict changes; the largest")
    assert later.startswith(
        "With the onset 5 s later, the reference then 4 s later: Stabilizer trim runaway from can "
        "to cannot; the largest column force goes from 45 lb (200 N) to 90 lb (400 N)"
    )
    assert same == "With the onset 5 s earlier, the reference the same: no verdict changes."
    moved[2] = moved[3]
    told = moved_statements(SimpleNamespace(moved=moved, file="moments.nc"))
    assert [each.text for each in told[1:]] == [
        "With the onset 5 s earlier or later: no verdict changes."
    ]
    assert moved_statements(SimpleNamespace(moved=[], file="moments.nc")) == []


def test_a_check_of_each_cause_is_the_mean_over_the_windows():
    asked = [
        WindowAsked(Window(0.0, 60.0, w), np.full((1, 1), value))
        for w, value in ((1, 0.2), (3, 0.6))
    ]
    found = mean_over(asked, lambda runs: {"jam": float(runs[0, 0])})
    assert found == pytest.approx({"jam": 0.5})
