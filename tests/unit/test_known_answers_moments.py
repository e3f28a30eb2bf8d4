"""Numbers that the moments give do not move unnoticed."""

from __future__ import annotations

import known_moments
from known_answers import differences


def test_what_the_moments_make_of_an_invented_flight_is_what_it_was():
    """Meant: run `python benchmarks/known_answers.py moments` and say in the change log why."""
    assert differences(known_moments) == []
