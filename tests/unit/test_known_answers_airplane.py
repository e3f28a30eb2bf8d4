"""Numbers that the airplanes of the catalogue come to do not move unnoticed."""

from __future__ import annotations

import known_airplane
from known_answers import differences


def test_what_the_files_of_the_catalogue_come_to_is_what_it_was():
    """Meant: run `python benchmarks/known_answers.py airplane` and say in the change log why."""
    assert differences(known_airplane) == []
