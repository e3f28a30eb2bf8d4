"""Facts of a case that exclude causes."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.case import load_case
from neutralpoint.explanations import Facts
from neutralpoint.study.facts import facts_of, gated

EXAMPLE = Path(__file__).parents[2] / "examples" / "quorleigh"


@pytest.fixture(scope="module")
def case():
    return load_case(EXAMPLE)


def stated(case, **keys):
    """The case with facts in its document, as pydantic would read them."""
    document = case.document.model_copy(
        update={"facts": type(case.document.facts).model_validate(keys)}
    )
    return dataclasses.replace(case, document=document)


def test_a_case_that_states_nothing_knows_its_temperature_alone(case):
    facts = facts_of(case)
    altitude = case.track.pressure_altitude.value
    flown = case.weather.at(np.linspace(altitude.min(), altitude.max(), 30))[2]
    assert facts == Facts(coldest=facts.coldest)
    assert flown.min() - 10.0 < facts.coldest < flown.min()


def test_what_is_stated_is_taken(case):
    facts = facts_of(
        stated(
            case,
            crew=1,
            autopilot="none",
            light="day",
            sky="clear",
            dew_point_spread="8 K",
            load_moves="aft",
            fuel="200 kg",
        )
    )
    assert facts == Facts(facts.coldest, 8.0, True, False, 1, False, "aft", 200.0, None)


def test_time_since_takeoff_counts_to_the_upset(case):
    first = case.track.span()[0]
    start = (case.track.epoch).replace(microsecond=0)
    facts = facts_of(stated(case, takeoff=start), upset=first + 400.0)
    assert facts.trimmed_for == pytest.approx(first + 400.0, abs=1.0)


def test_what_is_excluded_is_said_with_its_reason():
    single = load_airplane("tarnley-180").airplane
    told = dict(gated(single, Facts(coldest=278.0)))
    assert "no motor" in told["Intermittent trim runaway"]
    assert "no ice" in told["Ice-contaminated tailplane stall"]
    assert "Unlisted cause" not in told and "Elevator jam" not in told
