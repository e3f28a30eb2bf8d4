"""The signature sheet and the boxes of the studied case against what they must agree with."""

import numpy as np
import pytest
import xarray as xr

from neutralpoint.findings import read_findings
from neutralpoint.moments.hand_checks import lanchester_period, trim_speed_on_slope
from neutralpoint.report import load_results
from neutralpoint.report.figures.signature_sheet import PER_SHEET, signature_sheets


@pytest.fixture(scope="module")
def found(studied):
    return read_findings(studied / "results")


def test_every_weighed_cause_is_flown_by_odds(found):
    rows = found.signatures.rows
    weighed = {row.cause: row.probability for row in found.weighing.rows}
    assert {row.cause for row in rows} == set(weighed) - {"unlisted"}
    assert [row.probability for row in rows] == sorted(
        (weighed[row.cause] for row in rows), reverse=True
    )


def test_the_nearest_flight_is_that_of_the_weighing(studied, found):
    results = studied / "results"
    near = xr.load_dataset(
        results / "weighing.nc", group="nearest", engine="h5netcdf", decode_times=False
    )
    kept = xr.load_dataset(results / "signatures.nc", engine="h5netcdf", decode_times=False)
    count = kept.sizes["time"]
    for name in ("altitude", "calibrated_airspeed", "pitch_angle"):
        # Both are kept in single precision.
        np.testing.assert_allclose(kept[f"nearest_{name}"], near[name][:, :count], rtol=1e-5)


def test_flights_begin_where_the_data_are(studied, found):
    kept = xr.load_dataset(
        studied / "results" / "signatures.nc", engine="h5netcdf", decode_times=False
    )
    first = kept["nearest_altitude"].values[:, 0]
    # The start is drawn from the motion; 15 m are three times the error of the altitude there.
    np.testing.assert_allclose(first, kept["seen_altitude"].values[1, 0], atol=15.0)


def test_trim_brings_the_speed_back_as_the_closed_form_says(found):
    idle = next(one for one in found.signatures.trials if one.trial == "idle")
    # What the slipstream does to the trim differs from airplane to airplane: the closed form, with
    # none, must lie inside the band.
    assert idle.speed_after.low90 < idle.predicted.median < idle.speed_after.high90
    formula = trim_speed_on_slope(
        idle.speed_before.median,
        idle.path_before.median,
        idle.path_after.median,
        idle.density_ratio.median,
    )
    assert float(formula) == pytest.approx(idle.predicted.median, rel=0.02)


def test_boxes_agree_with_the_flight_model(found):
    mistrim, phugoid = found.physics.mistrim, found.physics.phugoid
    # Reversible elevator without a spring: the square of the speed up to Mach number and wash.
    assert mistrim.force_other.median == pytest.approx(mistrim.force_model.median, rel=0.05)
    lanchester = float(lanchester_period(phugoid.speed.median))
    assert phugoid.lanchester.median == pytest.approx(lanchester, rel=0.01)
    # Real phugoids lie within some tenths of it (Etkin and Reid, section 6.3: 93 for 107 s).
    assert phugoid.period.median == pytest.approx(lanchester, rel=0.3)
    shift = found.physics.shift
    assert shift.moment.median / (shift.load_factor.median * shift.weight) == pytest.approx(
        shift.shift.median, rel=0.25
    )


def test_the_sheet_shows_every_cause_three_times(studied, found):
    sheets = signature_sheets(load_results(studied / "results"))
    causes = len(found.signatures.rows)
    assert len(sheets) == -(-causes // PER_SHEET)
    assert sum(len(sheet.axes) for sheet in sheets) == 3 * causes
