"""The limits of a studied case: said by its sample paths, and what breaks is not trusted."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.airplane_file.document import read_airplane
from neutralpoint.airplane_file.sections import LimitsSection
from neutralpoint.quantities import KNOT
from neutralpoint.weighing.evidence import from_flights


def test_flights_that_broke_say_nothing_of_what_was_found():
    rng = np.random.default_rng(3)
    near, far = rng.normal(0.0, 1.0, (200, 1)), rng.normal(30.0, 1.0, (200, 1))
    even = np.full(200, 1.0 / 200.0)
    found, sigma = np.array([0.0]), np.array([1.0])
    said = from_flights([near, far], [even, even], found, sigma, 0.1)
    assert said[0] - said[1] > 2.0
    none, all_ = np.zeros(200, bool), np.ones(200, bool)
    same = from_flights([near, far], [even, even], found, sigma, 0.1, broken=[none, none])
    assert np.allclose(same, said)
    # A cause whose flights all broke is as likely to leave any value as an unlisted one.
    silent = from_flights([near, far], [even, even], found, sigma, 0.1, broken=[none, all_])
    assert silent[1] == pytest.approx(silent[2]) and silent[0] == pytest.approx(said[0])


def test_design_speeds_that_no_file_states_are_the_bounds_of_the_rule():
    given = read_airplane("ostrel-7").limits.model_dump()
    limits = LimitsSection.model_construct(**given | {"never_exceed_speed": read_airplane(
        "ostrel-7").limits.never_exceed_speed})  # fmt: skip
    assert limits.dive == pytest.approx(275.0 * KNOT / 0.9)
    assert limits.cruise == pytest.approx(0.89 * 275.0 * KNOT)


def test_the_dive_speed_lies_above_the_cruise_speed():
    text = {
        "never_exceed_speed": "200 kt", "load_factor_max": "3.8", "load_factor_min": "-1.52",
        "cruise_speed": "230 kt",
    }  # fmt: skip
    with pytest.raises(ValueError, match="not above the cruise speed"):
        LimitsSection.model_validate(text)
    assert LimitsSection.model_validate(text | {"dive_speed": "260 kt"}).dive == 260.0 * KNOT
