"""Numbers that the motion gives do not move unnoticed."""

from __future__ import annotations

import known_motion
from known_answers import differences

# A search for the noise ends where rounding lets it: other processors differ by up to 1.6e-3
# (kernels of OpenBLAS and instruction sets of NumPy and XLA were tried, three of each).
TOLERANCE = 5e-3


def test_what_the_motion_makes_of_invented_records_is_what_it_was():
    """Meant: run `python benchmarks/known_answers.py motion` and say in the change log why."""
    assert differences(known_motion, TOLERANCE) == []
