"""Incapacitation."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, after
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Take the pilot away.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    begun = after(moment.time, p["start"])
    # Right wing down needs the right aileron up, which is negative.
    return Effect(
        hands_on=1.0 - begun,
        bank_care=1.0 - begun,
        aileron=-p["lean"] * begun,
        body_force=p["leans"] * p["force"] * begun,
    )


INCAPACITATION = Cause(
    name=CauseName.INCAPACITATION,
    mechanism="Controls free; a body may lean against the column.",
    changes=("pilot",),
    parameters=(
        START,
        Parameter(
            "force", "column force of a body, pull positive", "N", Prior("uniform", -200.0, 50.0)
        ),
        Parameter(
            "leans",
            "1 where a body leans against the column, else 0",
            "",
            Prior("either", 0.0, 1.0),
        ),
        Parameter(
            "lean",
            "aileron out of rig that nobody corrects, right positive",
            "rad",
            Prior("normal", 0.0, 0.3 * DEGREE),
            "analyst's estimate: fuel, loading and rig that a hand holds without thinking",
        ),
    ),
    cannot_explain=(
        "corrections",
        "more than one step of moment",
    ),
    evidence=("medical findings, cabin pressure, radio silence",),
    not_separable=("an autopilot that holds the last mode",),
    act=act,
)
