"""Weather: interpolation, the error field, constructors, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.earth import atmosphere, weather
from neutralpoint.earth.weather import Weather
from neutralpoint.errors import NeutralPointError

LEVELS = np.array([0.0, 2000.0, 6000.0])


def profile(**changes):
    arguments = {
        "altitude": LEVELS,
        "wind_north": np.array([0.0, 10.0, -10.0]),
        "wind_east": np.array([5.0, 5.0, 15.0]),
        "temperature": atmosphere.temperature(LEVELS) + np.array([0.0, 4.0, 8.0]),
    }
    return Weather(**(arguments | changes))


def test_wind_is_interpolated_as_a_vector_and_temperature_as_a_deviation():
    north, east, temperature = profile().at([1000.0, 4000.0])
    np.testing.assert_allclose(north, [5.0, 0.0])
    np.testing.assert_allclose(east, [5.0, 10.0])
    expected = atmosphere.temperature([1000.0, 4000.0]) + np.array([2.0, 6.0])
    np.testing.assert_allclose(temperature, expected)


def test_ends_are_held():
    north, east, temperature = profile().at([-300.0, 9000.0])
    np.testing.assert_allclose(north, [0.0, -10.0])
    np.testing.assert_allclose(east, [5.0, 15.0])
    expected = atmosphere.temperature([-300.0, 9000.0]) + np.array([0.0, 8.0])
    np.testing.assert_allclose(temperature, expected)


def matern(distance):
    """Rasmussen and Williams (2006), eq. 4.17: the Matern-3/2 correlation."""
    return (1.0 + np.sqrt(3.0) * distance) * np.exp(-np.sqrt(3.0) * distance)


def test_error_field_has_the_stated_mean_spread_and_correlation():
    """Second route: the closed form of the correlation against many draws."""
    count = 6000
    time = np.array([0.0, 900.0, 1800.0])
    altitude = np.broadcast_to([3000.0, 3000.0, 4500.0], (count, 3))
    still = weather.constant(3.0, -2.0, sigma_wind=2.0, sigma_temperature=1.5)
    drawn = still.draw(np.random.default_rng(5), altitude, time)
    centre = still.at(altitude[0])
    for values, mean, sigma in zip(drawn, centre, (2.0, 2.0, 1.5), strict=True):
        error = (values - mean) / sigma
        # Four standard errors: of a mean 1/sqrt(N), of a standard deviation 1/sqrt(2N), of a
        # correlation at most 1/sqrt(N).
        np.testing.assert_allclose(error.mean(axis=0), 0.0, atol=4.0 / np.sqrt(count))
        np.testing.assert_allclose(error.std(axis=0), 1.0, atol=4.0 / np.sqrt(2.0 * count))
        found = np.corrcoef(error.T)
        assert found[0, 1] == pytest.approx(matern(0.5), abs=4.0 / np.sqrt(count))
        assert found[0, 2] == pytest.approx(matern(1.0) ** 2, abs=4.0 / np.sqrt(count))
    cross = np.corrcoef([values[:, 0] for values in drawn])
    np.testing.assert_allclose(cross, np.eye(3), atol=4.0 / np.sqrt(count))


def test_draws_repeat_with_the_same_seed_and_differ_between_paths():
    altitude = np.full((4, 5), 1500.0)
    first, second = (
        profile().draw(np.random.default_rng(9), altitude, np.arange(5.0)) for _ in range(2)
    )
    np.testing.assert_array_equal(first, second)
    assert len(np.unique(first[0][:, 0])) == 4


def test_spread_follows_the_levels():
    wide = profile(sigma_wind=np.array([0.0, 2.0, 8.0]), sigma_temperature=0.0)
    altitude = np.tile(LEVELS, (3000, 1))
    north, _, temperature = wide.draw(np.random.default_rng(3), altitude, np.zeros(3))
    # Four standard errors of a standard deviation.
    np.testing.assert_allclose(north.std(axis=0), [0.0, 2.0, 8.0], rtol=4.0 / np.sqrt(6000.0))
    np.testing.assert_allclose(temperature.std(axis=0), 0.0, atol=1e-9)


def test_surface_report_holds_the_deviation_and_widens():
    found = weather.from_surface_report(
        wind_north=-4.0,
        wind_east=1.0,
        temperature=298.15,
        elevation=200.0,
        altimeter_setting=102000.0,
    )
    station = 200.0 + float(atmosphere.pressure_altitude(102000.0))
    assert found.altitude[0] == pytest.approx(station)
    assert station < 200.0  # high pressure: the pressure altitude is lower
    deviation = found.temperature - atmosphere.temperature(found.altitude)
    np.testing.assert_allclose(deviation, 298.15 - atmosphere.temperature(station))
    assert np.all(np.diff(found.sigma_wind) > 0.0)


def test_wind_from_a_direction():
    """A wind from 270 deg blows to the east; from 360 deg, to the south."""
    north, east = weather.components([10.0, 10.0], np.radians([270.0, 360.0]))
    np.testing.assert_allclose(north, [0.0, -10.0], atol=1e-12)
    np.testing.assert_allclose(east, [10.0, 0.0], atol=1e-12)


def test_altimeter_setting():
    """ICAO Doc 7488: 1 hPa is 8.3 m (27 ft) near sea level; a standard setting changes nothing."""
    assert weather.indicated_altitude(1000.0, 101325.0) == pytest.approx(1000.0, abs=1e-6)
    assert weather.indicated_altitude(1000.0, 102325.0) == pytest.approx(1083.0, abs=0.6)


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"altitude": np.array([0.0, 2000.0, 2000.0])}, "altitude[2]"),
        ({"wind_east": np.array([1.0, 2.0])}, "wind_east"),
        ({"wind_north": np.array([1.0, np.nan, 2.0])}, "wind_north[1]"),
        ({"temperature": np.array([15.0, 2.0, -24.0])}, "temperature"),
        ({"sigma_wind": -1.0}, "sigma"),
        ({"height_scale": 0.0}, "scale"),
    ],
)
def test_refuses_what_cannot_be(changes, where):
    with pytest.raises(NeutralPointError) as caught:
        profile(**changes)
    assert caught.value.code == "weather-invalid"
    assert caught.value.where == where


def test_refuses_an_empty_profile():
    empty = np.zeros(0)
    with pytest.raises(NeutralPointError) as caught:
        Weather(empty, empty, empty, empty)
    assert caught.value.code == "weather-invalid"
