"""Examinations beside the track, on the case that all tests share."""

from __future__ import annotations

import numpy as np

from neutralpoint.report.figures.felt_sheet import felt_sheets
from neutralpoint.report.figures.load_sheet import load_sheets
from neutralpoint.report.results import load_results, open_result
from neutralpoint.report.words.sections import sections_of


def test_limits_of_the_shipped_case_are_those_of_its_paths(studied):
    results = load_results(studied / "results")
    found = results.findings.limits
    data = open_result(results.folder, found.file)
    speed = data["calibrated_airspeed"].values
    by_name = {str(row.limit): row for row in found.rows}
    row = by_name["never-exceed-speed"]
    assert row.probability == np.mean((speed > row.value).any(axis=1)) == 0.0
    # Kept every half second, so that the furthest value may lie between.
    assert np.isclose(np.median(speed.max(axis=1)), row.extreme.median, rtol=0.01)
    assert found.trusted_until is None
    (section,) = (s for s in sections_of(results.findings) if s.stage == "limits")
    assert "never-exceed speed" in section.tables[0].rows[0][0]
    assert "not damage" in section.cautions[0]
    assert any("airplane file states none" in said.text for said in section.statements)
    assert len(load_sheets(results)) == 1


def test_what_could_be_felt_on_the_shipped_case_is_that_of_its_paths(studied):
    results = load_results(studied / "results")
    found = results.findings.felt
    data = open_result(results.folder, found.file)
    half = data.sizes["sample"] // 2
    apart = data["perceived_pitch"].values - data["pitch_angle"].values
    middle = np.abs(np.median(apart, axis=0))
    # Kept every half second, so that the furthest moment may lie between.
    assert np.isclose(middle.max(), abs(found.perception.pitch.apart.median), rtol=0.1)
    assert np.array_equal(data["pitch_angle"].values[:half], data["pitch_angle"].values[half:])
    # The airplane is above the broken layer of its report, by day.
    assert found.light.light == "day" and found.light.seen == "cannot be determined"
    (section,) = (s for s in sections_of(results.findings) if s.stage == "felt")
    assert "a layer whose top is not reported" in " ".join(s.text for s in section.statements)
    assert len(felt_sheets(results)) == 1
    row = next(r for r in results.findings.weighing.evidence if r.kind == "perception")
    assert abs(max(row.log_likelihood)) < 1e-9 and min(row.log_likelihood) >= np.log(0.4) - 1e-9
