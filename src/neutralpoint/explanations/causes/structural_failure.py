"""Structural failure: wing, tail or skin parts with, and what is left flies on."""

from __future__ import annotations

import jax.numpy as jnp

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, ramp
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName

# How fast the loss follows once a limit is passed by more than the margin: shares of loss per
# unit of what is passed beyond it. A break takes tenths of a second; analyst's estimate.
GIVING_WAY = 20.0


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Take lift, tail and symmetry, at a time or once speed or load have passed the margin.

    Args:
        parameters: By name.
        moment: Now; what has been passed so far counts.

    Returns:
        What changes.
    """
    p = parameters
    passed = jnp.clip(GIVING_WAY * (moment.passed - p["margin"]), 0.0, 1.0)
    # By itself at a time, or by a limit that is passed: whichever takes more.
    share = jnp.maximum(ramp(moment.time, p["start"], p["snap"]), passed)
    return Effect(
        wing_loss=p["wing_lost"] * share,
        tail_loss=p["tail_lost"] * share,
        drag=1.0 + (p["drag"] - 1.0) * share,
        aileron=p["lopsided"] * share,
    )


STRUCTURAL_FAILURE = Cause(
    name=CauseName.STRUCTURAL_FAILURE,
    mechanism=(
        "Part of wing or tail fails, by itself or because speed or load passed its strength; lift "
        "and stability are lost, drag grows."
    ),
    changes=("aerodynamics",),
    parameters=(
        START,
        Parameter(
            "wing_lost", "share of the wing's lift that is lost", "", Prior("uniform", 0.0, 0.7)
        ),
        Parameter(
            "tail_lost", "share of the tail's lift that is lost", "", Prior("uniform", 0.0, 1.0)
        ),
        Parameter("drag", "zero-lift drag over before", "", Prior("lognormal", 3.0, 0.7)),
        Parameter(
            "lopsided",
            "aileron that would roll as much as the loss does, right aileron down positive",
            "rad",
            Prior("normal", 0.0, 8.0 * DEGREE),
        ),
        Parameter("snap", "how long it takes", "s", Prior("lognormal", 0.3, 0.5)),
        Parameter(
            "margin",
            "speed over never-exceed speed, or load factor over its limit, at which it gives way",
            "",
            Prior("lognormal", 1.5, 0.12),
            "ultimate load is 1.5 times limit load, 14 CFR 23.303 and 25.303; spread: analyst's "
            "estimate",
        ),
    ),
    cannot_explain=(
        "a controlled path afterwards, or corrections that succeed",
        "speed that builds up after the wing has gone",
    ),
    evidence=(
        "parts found back along the path; primary radar returns of parts",
        "fracture surfaces; order of failure",
        "speed and load factor before the path broke",
    ),
    not_separable=(
        "a wing stall, unless the lift before it is known",
        "separation of the trim or elevator",
    ),
    act=act,
)
