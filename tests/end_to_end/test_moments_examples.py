"""What the shipped case took: told apart where it can be, and the truth never excluded."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr

from neutralpoint.findings import read_findings
from neutralpoint.report.words.sections import sections_of

SINCE = "since the last trimmed flight"


@pytest.fixture(scope="module")
def section(studied):
    return next(s for s in sections_of(read_findings(studied / "results")) if s.stage == "moments")


def test_where_hands_push_back_no_law_of_growth_is_named(studied, section):
    """A pilot who pushes against the fault hides whether its moment grew as a surface's."""
    told = read_findings(studied / "results").moments.discrimination
    assert told is None or not told.separable
    assert not any("grew like" in said.text for said in section.statements)


def test_the_true_cause_of_the_case_can_and_ordinary_limits_are_printed(studied, section):
    words = {verdict.cause: verdict for verdict in section.verdicts}
    truth = words["stabilizer-runaway"]
    assert truth.word == "can" and truth.probability > 0.05
    assert "trim rate" in truth.sentence and "hands off" in truth.sentence
    judged = {row.cause: row for row in read_findings(studied / "results").moments.verdicts}
    row = judged["stabilizer-runaway"]
    assert row.judged_to > row.judged_from and {hand.hands for hand in row.hands} == {
        "none", "resisting", "anything",
    }  # fmt: skip
    assert words["load-shift-aft"].word == "can if"  # more than is loose must have moved
    assert words["load-shift-forward"].word == "cannot"  # it would lower the nose
    assert words["incapacitation"].word == "cannot"
    rate = next(s for s in section.statements if "Required rate" in s.text)
    assert "0.35 deg/s loaded" in rate.text  # the drive of the airplane file
    force = next(t for t in section.tables if "Column force" in t.caption)
    assert [row[1] for row in force.rows] == [
        "10 lb (44 N)", "50 lb (222 N)", "75 lb (334 N)", "95 lb (423 N)", "200 lb (890 N)",
    ]  # fmt: skip


def test_the_carriers_of_the_case_are_saved_with_bands_and_limits(studied, section):
    with xr.open_dataset(studied / "results" / "moments.nc") as saved:
        assert "Not for flight" in saved.attrs["comment"]
        kept = {name: saved[name].to_numpy() for name in saved.data_vars}
        assert SINCE in saved["needed_stabilizer"].attrs["long_name"]
    reference = kept["is_reference"] == 1
    assert reference.any()
    for name in ("needed_stabilizer", "needed_elevator", "needed_cg_shift", "needed_column_force"):
        assert kept[name].shape == (200, reference.size)
        low, high = np.nanquantile(kept[name][:, reference], (0.05, 0.95))
        assert low < 0.0 < high  # the change is counted from there
    panels = {panel.variable: panel for panel in section.panels}
    assert [limit.label for limit in panels["needed_stabilizer"].limits] == ["travel", "travel"]
    assert len(panels["needed_column_force"].limits) == 6
