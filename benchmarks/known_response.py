"""What is drawn and asked of the answers to faults, flights aside."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
from known_answers import digests

from neutralpoint.airplane_file.build import load_airplane
from neutralpoint.explanations import CAUSES
from neutralpoint.response import (
    Outcome,
    answers_to,
    draw_faults,
    draw_people,
    lessons_for,
    over_delays,
    over_rates,
    saved,
    saved_over_height,
    shaped,
    share_interval,
    trials_of,
    typical_fault,
    why_no_map,
    why_no_rate_map,
    works_the_trim,
)
from neutralpoint.response import answer as answer_of
from neutralpoint.response.maps import repeat

AIRPLANES = ("velmar-c7", "haldrey-d6", "tarnley-180")
PILOTS = SimpleNamespace(pilot=SimpleNamespace(crossover=2.5, delay=0.3))


def known() -> dict[str, Any]:
    """By airplane and cause; outcomes by themselves."""
    found: dict[str, Any] = {name: _of(name) for name in AIRPLANES}
    found = {name: {key: digests(of) for key, of in each.items()} for name, each in found.items()}
    return found | {"outcomes": _outcomes(), "people": _people()}


def _people() -> Any:
    people = draw_people(PILOTS, np.random.default_rng(909), 60)
    return people, repeat(people, 2)


def _of(name: str) -> dict[str, Any]:
    airplane = load_airplane(name).airplane
    found: dict[str, Any] = {}
    for key, cause in CAUSES.items():
        rng = np.random.default_rng(910)
        people = draw_people(PILOTS, rng, 4)
        said = [why_no_map(cause), why_no_rate_map(cause), works_the_trim(cause)]
        found[key] = {"said": said, "typical": [typical_fault(cause, nose=n) for n in (1, -1)]}
        if said[0] or not (steps := answers_to(cause, airplane)):
            continue
        faults = [draw_faults(cause, rng, 4, nose=n) for n in (1, -1)]
        answers = {name: answer_of(airplane, each) for name, each in steps.items()}
        first = next(iter(answers.values()))
        delays, rates = np.array([0.5, 3.0]), np.array([0.6, 1.0, 1.5])
        found[key] |= {
            "faults": faults,
            "answers": answers,
            "lessons": lessons_for(cause, airplane, steps),
            "trials": trials_of(cause, first, people, faults[1], reaction=1.5, act_at=9.0),
            "delays": over_delays(cause, first, people, faults[0], delays),
        }
        if not said[1]:
            found[key]["rates"] = over_rates(
                cause, first, people, faults[0], delay=delays, rate=rates
            )
    return found


def _outcomes() -> dict[str, Any]:
    rng = np.random.default_rng(911)
    drawn = {name: rng.uniform(0.0, 900.0, 24) for name in Outcome._fields}
    drawn["recovered"] = np.where(rng.random(24) < 0.3, np.inf, drawn["recovered"])
    outcome = Outcome(**drawn)
    heights = np.array([100.0, 400.0, 900.0])
    return {
        "saved": np.asarray(saved(outcome, 450.0)),
        "shaped": shaped(outcome, 4, 6),
        "over": saved_over_height(shaped(outcome, 4, 6), heights),
        "interval": share_interval(np.array([[0.0, 0.25], [0.5, 1.0]]), 24),
    }
