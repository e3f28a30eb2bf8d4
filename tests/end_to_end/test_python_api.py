"""The study from Python: results as xarray and ArviZ objects, plots on matplotlib axes."""

from __future__ import annotations

import matplotlib as mpl
import numpy as np
import pytest

from neutralpoint import Case, NeutralPointError

mpl.use("agg")


@pytest.fixture(scope="module")
def results(studied):
    return Case(studied).results


def test_results_are_those_of_the_files(results):
    assert results.motion.sizes["sample"] >= 40
    assert results.motion["altitude"].dims == ("sample", "time")
    assert results.motion["altitude"].attrs["units"] == "m"
    assert results.moments["moment_coefficient"].dims[0] == "sample"
    assert len(results.track) > 0


def test_odds_are_those_of_the_findings(results):
    odds = results.odds
    assert odds["probability"].sum() == pytest.approx(1.0, abs=1e-6)
    leader = max(results.findings.weighing.rows, key=lambda row: row.probability)
    assert odds["cause"].values[0] == leader.cause
    assert (np.diff(odds["probability"].values) <= 0.0).all()


def test_arviz_reads_the_draws(results):
    arviz = pytest.importorskip("arviz_base")
    drawn = arviz.extract(results.weighing)
    assert drawn.sizes["sample"] == results.weighing["posterior"].sizes["draw"]


def test_plots_are_drawn_on_axes_that_are_given(results):
    from matplotlib import pyplot

    sheet, axes = pyplot.subplots(1, 2)
    assert results.plot("calibrated_airspeed", axes[0]) is axes[0]
    assert results.plot_odds(axes[1], most=3) is axes[1]
    assert "airspeed" in axes[0].get_title(loc="left").lower()
    assert len(axes[1].patches) == 3
    pyplot.close(sheet)
    own = results.plot("bank_angle")
    assert own.lines
    pyplot.close(own.figure)


def test_faults_come_in_four_fields(results, tmp_path):
    with pytest.raises(NeutralPointError) as unknown:
        results.plot("nonsense")
    assert unknown.value.code == "argument-invalid" and "bank_angle" in unknown.value.hint
    with pytest.raises(NeutralPointError) as none:
        Case(tmp_path).results  # noqa: B018 - the property raises
    assert none.value.code == "results-missing"
    with pytest.raises(NeutralPointError) as lacking:
        Case(tmp_path).study()
    assert lacking.value.code == "case-missing"


def test_a_study_that_holds_is_not_run_again(studied):
    said = []
    found = Case(studied).study("motion", tell=lambda text, share: said.append((text, share)))
    assert found.motion.sizes["time"] > 10
    assert any("saved" in text for text, _ in said)
    assert all(0.0 <= share <= 1.0 for _, share in said)


def test_an_examination_of_another_package_is_asked_for(results, monkeypatch):
    import xarray as xr

    from neutralpoint.api import results as api

    made = {"good": {"units": "s"}, "bare": {}}
    monkeypatch.setattr(
        api,
        "load_plugin",
        lambda group, name, where: lambda own: xr.Dataset({"x": ((), 1.0, made[name])}),
    )
    assert "caution" in results.examine("good").attrs
    with pytest.raises(NeutralPointError) as bare:
        results.examine("bare")
    assert bare.value.code == "plugin-fault"
