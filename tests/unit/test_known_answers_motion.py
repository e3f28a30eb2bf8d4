"""Numbers that the motion give do not move unnoticed."""

from __future__ import annotations

import known_motion
from known_answers import differences


def test_what_the_motion_make_of_an_invented_flight_is_what_it_was():
    """Meant: run `python benchmarks/known_answers.py motion` and say in the change log why."""
    assert differences(known_motion) == []
