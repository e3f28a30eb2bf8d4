"""Steps of recorded channels, rounded as transponders and exports do. Needs recorded flights."""

from __future__ import annotations

import numpy as np
import pytest
from recorded import read_columns

from neutralpoint.track import quantization_step

WINDOWS = (60, 200, 600, 1500)  # s


@pytest.mark.recorded
@pytest.mark.parametrize(
    ("channel", "step", "unit", "digits"),
    [
        ("press_alt_ft", 25.0, 1.0, 0),
        ("press_alt_ft", 100.0, 0.3048, 1),
        ("press_alt_ft", 25.0, 0.3048, 2),
        ("alt_rate_fpm", 64.0, 1.0, 0),
        ("alt_rate_fpm", 64.0, 0.00508, 2),
    ],
)
def test_the_step_of_a_recorded_channel_is_found(recorded_flights, channel, step, unit, digits):
    """Windows of a minute to the whole flight, level and in zero-g parabolas.

    Source: steps of transponders and exports, seen in the recordings beside the project.
    """
    columns = read_columns(recorded_flights / "bizjet_04.csv.gz")
    cells = np.rint(columns[channel][::10] / step)
    printed = np.round(cells * step * unit, digits)
    rng = np.random.default_rng(1)
    starts = [(int(rng.integers(0, cells.size - w)), w) for w in WINDOWS for _ in range(15)]
    right = []
    for first, length in [(0, cells.size), *starts]:
        visited = np.unique(cells[first : first + length])
        if visited.size < 7:  # fewer levels show little
            continue
        true = step * unit * np.gcd.reduce(np.diff(visited).astype(int))
        found = quantization_step(printed[first : first + length])
        right.append(abs(found / true - 1.0) < 0.01)
    assert np.mean(right) >= 0.98  # measured: all of these, 1.000
