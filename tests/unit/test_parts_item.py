"""Places of parts stand among what would settle a case, until the case gives them."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.case.evidence_entries import FindingEntry
from neutralpoint.study.heard.work_out import NOTHING_HEARD
from neutralpoint.study.weighing.evidence import contributions, items_given
from neutralpoint.vocabulary.light import HorizonSeen
from neutralpoint.weighing.evidence import parts_likelihood
from neutralpoint.weighing.items import PARTS, find_item

CAUSES = ("structural-failure", "separation", "spiral-dive")
STATED = FindingEntry.model_validate(
    {"kind": "finding", "item": PARTS, "found": "together", "source": "x", "doubt": "0.1"}
)


def _case(*evidence, debris=()):
    facts = SimpleNamespace(sky=None)
    document = SimpleNamespace(debris=debris, evidence=evidence, facts=facts, seed=1)
    return SimpleNamespace(document=document)


def test_parts_are_asked_for_until_they_are_given():
    assert PARTS not in items_given(_case())
    assert PARTS in items_given(_case(debris=("a part",)))


def test_the_table_is_that_of_parts_whose_places_are_sure():
    """Of a factor that says all, the likelihood of places is that of the table."""
    sure = parts_likelihood(CAUSES, 40.0, 0.0)[:3]
    table = find_item(PARTS).table(CAUSES)[:, 1]
    assert np.exp(sure - sure[0]) == pytest.approx(table / table[0], rel=1e-6)


def test_what_the_case_says_of_them_counts_once():
    held = SimpleNamespace(
        case=_case(STATED, debris=("a part",)), in_flight=40.0, causes=CAUSES,
        heard=NOTHING_HEARD, near={}, weights=[], forces=None,
        horizon=HorizonSeen.UNKNOWN,
    )  # fmt: skip
    (found,), unused = contributions(held)
    assert not unused and "together" in found.name
    held.case = _case(debris=("a part",))
    (found,), _ = contributions(held)
    assert found.name == "debris: places of the parts"
