"""What the shipped case took: told apart where it can be, and the truth never excluded."""

from __future__ import annotations

import re

import numpy as np
import pytest
import xarray as xr

from neutralpoint.findings import read_findings
from neutralpoint.report.words.sections import sections_of

SINCE = "since the last trimmed flight"


@pytest.fixture(scope="module")
def section(studied):
    return next(s for s in sections_of(read_findings(studied / "results")) if s.stage == "moments")


def percent(text: str, before: str) -> int:
    """The share that follows some words."""
    return int(re.search(rf"{re.escape(before)}[^0-9]*(\d+) %", text)[1])


def test_the_case_is_told_to_be_a_surface_that_ramped(section):
    said = next(s for s in section.statements if "the change grew like" in s.text)
    assert said.kind == "inferred" and said.caution
    assert "grew like: surface, ramp" in said.text
    assert percent(said.text, "surface, ramp (") >= 85
    assert percent(said.text, "like a moved surface of either kind") >= 95
    # Believed only because trial data of each kind were told apart too.
    told = next(s for s in section.statements if "Had each law of growth" in s.text)
    assert section.statements.index(told) < section.statements.index(said)
    assert percent(told.text, "told from a moved load with") >= 90


def test_the_true_cause_of_the_case_can_and_ordinary_limits_are_printed(section):
    words = {verdict.cause: verdict for verdict in section.verdicts}
    truth = words["stabilizer-runaway"]
    assert truth.word == "can" and truth.probability > 0.05
    assert "trim rate" in truth.sentence and "Hands off" in truth.sentence
    assert truth.judged_to > truth.judged_from and {row.hands for row in truth.hands} == {
        "none", "resisting", "anything",
    }  # fmt: skip
    assert words["wing-stall"].word in ("cannot", "can if")
    # A moved load is constant, and no load aft dives the airplane.
    assert words["load-shift-aft"].word == "cannot"
    assert words["incapacitation"].word == "cannot"
    rate = next(s for s in section.statements if "it moved fastest" in s.text)
    assert "0.38 deg/s loaded" in rate.text  # the drive of the airplane file
    force = next(t for t in section.tables if "Column force" in t.caption)
    assert [row[1] for row in force.rows] == [
        "44 N (10 lb)", "222 N (50 lb)", "334 N (75 lb)", "423 N (95 lb)", "890 N (200 lb)",
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
