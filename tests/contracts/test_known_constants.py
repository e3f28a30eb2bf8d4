"""A constant of the computing packages moves on purpose, never by a slip."""

from __future__ import annotations

import known_constants
from known_answers import differences


def test_constants_and_defaults_are_those_kept():
    """Meant: run `python benchmarks/known_answers.py constants` and say in the change log why."""
    assert differences(known_constants) == []
