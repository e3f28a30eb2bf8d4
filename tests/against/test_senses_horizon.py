"""The line of the terrain in closed form, and the horizon by light and report."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.earth.sky import Sky
from neutralpoint.quantities import DEGREE, EARTH_RADIUS, FOOT
from neutralpoint.senses import outlook, terrain_line
from neutralpoint.vocabulary.light import HorizonReason, HorizonSeen

EYE = {"latitude": 0.8, "longitude": 0.1, "height": 1000.0, "track": 0.0}


def test_a_ridge_stands_at_its_angle_and_the_sea_at_its_dip():
    """Source: angle of a point over a curved earth, closed form; dip 1.76' sqrt(H/m), almanacs."""

    def ridge(latitude, longitude):
        north = (latitude - EYE["latitude"]) * EARTH_RADIUS
        return np.where(np.abs(north - 20_000.0) < 150.0, 2500.0, 0.0)

    line = terrain_line(ridge, **EYE)
    ahead = line.elevation.size // 2
    wanted = np.arctan(1500.0 / 20_000.0) - 0.87 * 20_000.0 / (2.0 * EARTH_RADIUS)
    assert line.elevation[ahead] == pytest.approx(wanted, abs=0.03 * DEGREE)
    assert line.distance[ahead] == pytest.approx(20_000.0, abs=200.0)
    sea = terrain_line(lambda latitude, longitude: 0.0 * latitude, **EYE | {"height": 300.0})
    assert np.allclose(sea.elevation, -sea.dip, atol=0.01 * DEGREE)
    assert sea.dip / DEGREE * 60.0 == pytest.approx(1.76 * np.sqrt(300.0), rel=0.03)


def test_where_no_height_is_known_nothing_is_told():
    """Source: the rule of the reader of terrain, NaN beyond its grid."""
    line = terrain_line(lambda latitude, longitude: np.nan * latitude, **EYE)
    assert np.isnan(line.elevation).all()


def _outlook(sun, *, moon=-20.0, lit=0.0, **given):
    sky = Sky(sun * DEGREE, 0.0, moon * DEGREE, 0.0, lit)
    named = {"above": 600.0, "ceiling": float("inf"), "reach": 6000.0, "visibility": 10_000.0}
    return outlook(sky, **named | {"age": 600.0} | given)


def test_the_horizon_by_light_and_report():
    """Source: broken is 5 to 8 eighths, WMO-No. 306; nautical twilight shows the horizon at sea."""
    seen, unknown, none = HorizonSeen.IN_SIGHT, HorizonSeen.UNKNOWN, HorizonSeen.NOT
    assert _outlook(30.0).seen is seen
    assert _outlook(-4.0).seen is seen
    assert _outlook(-9.0).seen is unknown
    assert _outlook(-30.0).seen is none
    assert _outlook(-30.0, moon=40.0, lit=0.9).reasons == (HorizonReason.MOONLIT,)
    assert _outlook(30.0, above=2000.0, ceiling=4500.0 * FOOT).seen is unknown
    assert _outlook(30.0, above=1000.0, ceiling=4500.0 * FOOT).seen is seen
    assert _outlook(30.0, visibility=800.0).seen is none
    assert _outlook(30.0, visibility=4000.0).seen is unknown
    assert _outlook(30.0, age=None).reasons == (HorizonReason.NO_REPORT,)
    assert _outlook(30.0, age=7200.0).reasons == (HorizonReason.OLD_REPORT,)
    assert _outlook(30.0, above=9000.0).reasons == (HorizonReason.FAR_FROM_REPORT,)
    assert _outlook(30.0, ceiling=None).reasons == (HorizonReason.NO_CLOUDS,)
    # Dark is dark, whatever the report.
    assert _outlook(-30.0, age=None).seen is none
