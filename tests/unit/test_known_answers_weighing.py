"""Numbers that the weighing gives do not move unnoticed."""

from __future__ import annotations

import known_weighing
from known_answers import differences


def test_what_the_weighing_makes_of_invented_input_is_what_it_was():
    """Meant: run `python benchmarks/known_answers.py weighing` and say in the change log why."""
    assert differences(known_weighing) == []
