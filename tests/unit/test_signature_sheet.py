"""The sheet of flights beside the data: ends of its axes."""

import numpy as np
import pytest

from neutralpoint.quantities import KNOT
from neutralpoint.report.figures.signature_sheet import Kept, shown_limits

TIME = np.arange(0.0, 4.0)


def kept(seen: np.ndarray) -> Kept:
    """Flights of two causes, hands off and with a pilot, at 80 to 99 m/s."""
    flown = np.linspace(80.0, 99.0, 4) + np.zeros((2, 2, 3, 4))
    name = "calibrated_airspeed"
    return Kept(TIME, {name: flown}, {name: flown[:, 0, 1]}, {name: seen}, ["jam", "trim"])


def test_axes_stand_about_the_data():
    low, high = shown_limits("calibrated_airspeed", kept(np.full((3, 4), 150.0) + TIME))
    assert low * KNOT < 150.0 < 153.0 < high * KNOT
    assert low * KNOT > 99.0


def test_data_that_show_nothing_leave_the_axes_to_the_flights():
    """A track without a wind: its airspeed is nowhere observable."""
    low, high = shown_limits("calibrated_airspeed", kept(np.full((3, 4), np.nan)))
    assert low * KNOT < 80.0
    assert high * KNOT > 99.0
    assert (high - low) * KNOT == pytest.approx(19.0, abs=20.0)
