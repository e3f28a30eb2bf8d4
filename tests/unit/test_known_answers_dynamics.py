"""Numbers that the dynamics gives do not move unnoticed."""

from __future__ import annotations

import known_dynamics
import pytest
from known_answers import differences


@pytest.mark.slow  # compiles flights, a quarter of a minute; the other sets stay
def test_what_the_dynamics_makes_of_invented_input_is_what_it_was():
    """Meant: run `python benchmarks/known_answers.py dynamics` and say in the change log why."""
    assert differences(known_dynamics) == []
