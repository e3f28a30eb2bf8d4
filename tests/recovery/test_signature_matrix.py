"""The trade's signature matrix holds for at least 95 % of the draws of each cause.

The rules stand in benchmarks/signatures.py, the shares of many draws and two airplanes in
benchmarks/results/world_judged.md. Here fewer draws are flown, and a share may lie below 95 % by
what chance does to so few.
"""

from __future__ import annotations

import pytest
from scipy.stats import binom
from signatures import MATRIX, judged
from world_judged import fly_world

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.explanations import CAUSES

pytestmark = pytest.mark.slow

AIRPLANE, DRAWS, SEED = "velmar-c7", 25, 5
CHANCE = 0.01  # that a rule which holds in 95 % of draws is refused


@pytest.fixture(scope="module")
def batches():
    return fly_world(AIRPLANE, DRAWS, SEED)


@pytest.fixture(scope="module")
def found(batches):
    return judged(batches, load_airplane(AIRPLANE).airplane)


def test_every_cause_that_can_be_flown_has_its_rules():
    assert set(MATRIX) == {name for name, cause in CAUSES.items() if cause.act is not None}


@pytest.mark.parametrize("name", [name for name in MATRIX if name != "tab-runaway"])
def test_the_signature_holds_for_the_draws_of_a_cause(found, name):
    for rule, share, of in found[name]:
        kept = round(share * of)
        assert binom.cdf(kept, of, 0.95) > CHANCE or share >= 0.95, (rule.says, share, of)


def test_a_rule_can_fail(batches):
    """The other load shift breaks the rule of this one, so the rules can tell."""
    airplane = load_airplane(AIRPLANE).airplane
    swapped = batches | {"load-shift-aft": batches["load-shift-forward"]}
    _, share, of = judged(swapped, airplane)["load-shift-aft"][0]
    assert of > 5 and share < 0.5
