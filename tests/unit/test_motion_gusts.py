"""How rough the air is, from the load by quick movement."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.motion.gusts import LARGEST, LEAST, QUIET, RELIEF, roughness
from neutralpoint.motion.process import QUICK_TIME

LIFT = SimpleNamespace(wing_area=28.0, lift_slope=5.4, mass=5000.0)
SPEED, NODES = 80.0, 101


def flown(variance: np.ndarray) -> SimpleNamespace:
    """A level flight at sea level whose quick acceleration has this variance, (m/s^2)^2."""
    horizontal = np.zeros((NODES + 1, 6))
    horizontal[:, 1], horizontal[:, 4] = 0.6 * SPEED, 0.8 * SPEED
    vertical = SimpleNamespace(
        mean=np.zeros((NODES + 1, 4)), levels=SimpleNamespace(jerk=2.0 / QUICK_TIME)
    )
    return SimpleNamespace(quick=variance, chains=(SimpleNamespace(mean=horizontal), vertical))


def test_the_gust_is_the_sharp_one_of_the_load():
    """dn = rho V S C_La w / (2 m g) at sea level: a gust of 2 m/s, alleviated."""
    load_factor = 1.225 * SPEED * 28.0 * 5.4 * 2.0 / (2.0 * 5000.0 * 9.80665)
    variance = np.full(NODES, (load_factor * 9.80665 / RELIEF) ** 2)
    assert roughness(flown(variance), LIFT) == pytest.approx(2.0, rel=1e-6)


def test_the_quieter_part_tells_it_and_bounds_hold():
    load = 1.225 * SPEED * 28.0 * 5.4 / (2.0 * 5000.0)
    rising = (load * np.linspace(0.0, 4.0, NODES) / RELIEF) ** 2
    assert roughness(flown(rising), LIFT) == pytest.approx(4.0 * QUIET, rel=1e-6)
    assert roughness(flown(np.zeros(NODES)), LIFT) == LEAST
    assert roughness(flown(np.full(NODES, 1e6)), LIFT) == LARGEST
