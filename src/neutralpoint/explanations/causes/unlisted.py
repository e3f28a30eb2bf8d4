"""A cause that is not listed."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause
from neutralpoint.vocabulary import CauseName

UNLISTED = Cause(
    name=CauseName.UNLISTED,
    mechanism="Something that this list does not hold; its probability never reaches zero.",
    changes=(),
    parameters=(),
    cannot_explain=(),
    evidence=("anything that none of the listed causes would leave",),
    not_separable=("every listed cause that the data cannot rule out",),
    act=None,
)
