"""Incapacitation."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, after
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
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
    return Effect(hands_on=1.0 - begun, bank_care=1.0 - begun, body_force=p["force"] * begun)


INCAPACITATION = Cause(
    name=CauseName.INCAPACITATION,
    mechanism="Controls free; a body may lean against the column.",
    changes=("pilot",),
    parameters=(
        START,
        Parameter(
            "force", "column force of a body, pull positive", "N", Prior("uniform", -200.0, 50.0)
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
