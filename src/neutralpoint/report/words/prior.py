"""What is said of the prior: what was believed before the track was looked at."""

from __future__ import annotations

from neutralpoint.findings import PriorFindings, PriorReading, PriorWeight
from neutralpoint.vocabulary import CauseName

UNSAVED = (
    "Prior weights of this page, not saved: [[prior]] in the case file is where they are stated, "
    "with a reason."
)


def prior_sentence(prior: PriorFindings) -> str:
    """What the odds assume before the track.

    Args:
        prior: Of the weighing.

    Returns:
        One or two sentences.
    """
    return f"{_of_failure(prior)} {_of_weights(prior)}".strip()


def _of_failure(prior: PriorFindings) -> str:
    if prior.failed is None:
        return ""
    if prior.failed_stated:
        return f"Prior that something failed: {prior.failed:g}, stated in the case."
    return (
        f"Prior that something failed: {prior.failed:g}, that of a flight of which nothing is "
        "known. State something_failed in the case; the odds are shown for other priors too."
    )


def _of_weights(prior: PriorFindings) -> str:
    among = "" if prior.failed is None else " among what can fail"
    if not prior.weights:
        return (
            f"Every mechanism{among} has the same prior weight, shared equally by its causes (the "
            "analyst stated no other)."
        )
    listed = "; ".join(f"{_of(one)} {one.weight:g} ({one.reason})" for one in prior.weights)
    return (
        f"Prior weights{among} stated by the analyst, all others 1, shared equally by the causes "
        f"of a mechanism: {listed}."
    )


def _of(weight: PriorWeight) -> str:
    if isinstance(weight.of, CauseName):
        return weight.of.spoken
    return f"every cause of the group {weight.of.title.lower()}"


def reading_title(reading: PriorReading) -> str:
    """Under which prior the odds are read."""
    if reading.kind == "chance":
        return f"prior of a failure {reading.chance:g}"
    return "as stated" if reading.kind == "stated" else "equal weights of the mechanisms"
