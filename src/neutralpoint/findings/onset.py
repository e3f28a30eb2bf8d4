"""The headline of the onset: whether one was found, and what results count from.

`Findings.onset` is one of five words, so that report, sheet, terminal and workbench say the same:

- `found`: the motion left ordinary flight, and it is clear when;
- `unclear`: it did, but not surely, or the 90% interval is wide;
- `none`: no departure is more likely than one;
- `stated`: the case states the onset, and the motion shows one;
- `stated-not-shown`: the case states the onset, and the motion by itself shows none.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from neutralpoint.findings.moments import MomentsFindings
from neutralpoint.findings.motion import MotionFindings, OnsetFindings
from neutralpoint.findings.part import Fraction, Part

SURE = 0.9  # below it, that there was an upset at all is a finding to be warned of; analyst's
WIDE = 30.0  # s of the 90% interval from which on one is told to state the onset; analyst's

OnsetWord = Literal["found", "unclear", "none", "stated", "stated-not-shown"]


class OnsetHeadline(Part):
    """Whether an onset was found, in one word."""

    word: OnsetWord
    probability: Fraction = Field(description="That the record holds a departure.")
    stated: float | None = Field(default=None, description="As the case states it, s.")


def is_clear(found: OnsetFindings) -> bool:
    """Whether an onset that was found is sure and narrow.

    Args:
        found: What the motion shows.

    Returns:
        False where a reader is warned.
    """
    return found.probability >= SURE and found.left[-1] - found.left[0] <= WIDE


def onset_headline(
    motion: MotionFindings | None, moments: MomentsFindings | None
) -> OnsetHeadline | None:
    """The headline of a document.

    Args:
        motion: What the motion shows.
        moments: Holds an onset that the case states.

    Returns:
        The headline; None for documents that hold no onset.
    """
    shown = None if motion is None else motion.onset
    if shown is None:
        return None
    given = None if moments is None else moments.stated_onset
    word: OnsetWord
    if given is not None:
        word = "stated" if shown.found else "stated-not-shown"
    elif not shown.found:
        word = "none"
    else:
        word = "found" if is_clear(shown) else "unclear"
    return OnsetHeadline(word=word, probability=shown.probability, stated=given)
