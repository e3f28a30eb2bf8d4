"""Numbers that the answers to faults come to do not move unnoticed."""

from __future__ import annotations

import known_response
from known_answers import differences


def test_what_is_drawn_and_asked_of_answers_is_what_it_was():
    """Meant: run `python benchmarks/known_answers.py response` and say in the change log why."""
    assert differences(known_response) == []
