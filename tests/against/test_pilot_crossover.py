"""Pitch loops of drawn pilots against what people do: McRuer and Krendel, AGARDograph 188 (1974).

Ranges are from memory and stand in benchmarks/pilots.py, which opens the loop at the column; the
page is benchmarks/results/pilots.md.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from pilots import CROSSOVER, MARGIN, STARTS, drawn, margins, one_of, tracked

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.dynamics.air import make_air
from neutralpoint.explanations import trimmed_setting

COUNT, SEED = 6, 3
# A pilot of one in twenty at either end of the draws may be outside; none may be near unstable.
LEAST_MARGIN = 10.0  # deg


QUICK = "ostrel-7"  # the others in `make slow`


@pytest.mark.parametrize(
    "name",
    [QUICK, *(pytest.param(n, marks=pytest.mark.slow) for n in sorted(STARTS) if n != QUICK)],
)
def test_loops_of_drawn_pilots_are_those_of_people(name):
    """Source: McRuer and Krendel, AGARDograph 188 (1974), ranges from memory."""
    setting = trimmed_setting(load_airplane(name).airplane, make_air(), STARTS[name])
    pilots = tracked(drawn(np.random.default_rng(SEED), COUNT))
    found = np.array(
        [margins(dataclasses.replace(setting, pilot=one_of(pilots, k))) for k in range(COUNT)]
    )
    assert np.all(np.isfinite(found[:, :2]))
    assert found[:, 1].min() > LEAST_MARGIN
    for column, (low, high) in ((0, CROSSOVER), (1, MARGIN)):
        assert np.mean((found[:, column] >= low) & (found[:, column] <= high)) > 0.5
        assert low < np.median(found[:, column]) < high
