"""When the upset began, as the findings document holds it, and what is warned of it."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from neutralpoint.findings import OnsetFindings, Warned
from neutralpoint.findings.onset import SURE, WIDE
from neutralpoint.motion import Onsets, fault_begin

LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
STATE = "State `analysis.onset` in the case file where it is known from elsewhere."


def onset_findings(found: Onsets) -> OnsetFindings:
    """The onset and the begin of its cause.

    Args:
        found: What the motion shows.

    Returns:
        Their quantiles; none where no departure is found.
    """
    probability = float(np.clip(1.0 - found.none, 0.0, 1.0))
    if not found.found:
        return OnsetFindings(probability=probability, found=False)
    begun = fault_begin(found)
    return OnsetFindings(
        probability=probability,
        found=True,
        left=[found.quantile(level) for level in LEVELS],
        begun=[begun.quantile(level) for level in LEVELS],
    )


def onset_warnings(found: Onsets, epoch: datetime) -> tuple[Warned, ...]:
    """What a reader must know before results that count from an onset that nobody stated.

    Args:
        found: What the motion shows.
        epoch: UTC time of second 0.

    Returns:
        At most one warning.
    """
    chance = f"{100.0 * min(max(1.0 - found.none, 0.01), 0.99):.0f}%"
    if not found.found:
        text = f"No departure from ordinary flight was found; the probability of one is {chance}."
        return (_warned("onset-none", text),)
    first, last = found.interval
    if 1.0 - found.none < SURE or last - first > WIDE:
        text = (
            f"The motion left ordinary flight between {_utc(epoch, first)} and "
            f"{_utc(epoch, last)} UTC (90%); the probability that it did at all is {chance}."
        )
        return (_warned("onset-unclear", text),)
    return ()


def _utc(epoch: datetime, time: float) -> str:
    tenths = epoch + timedelta(seconds=round(time, 1))
    return f"{tenths:%H:%M:%S}.{tenths.microsecond // 100_000}"


def _warned(code: str, text: str) -> Warned:
    return Warned(code=code, message=text, where="motion.nc: onset_weight", hint=STATE)
