"""Flights of what the list does not hold, for the blind test of the unlisted row alone.

Never learned from. All sizes are the analyst's.
"""

from __future__ import annotations

import jax.numpy as jnp

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations import CAUSES, Cause, Effect, Moment, Parameter, Prior
from neutralpoint.explanations.cause import after, ramp
from neutralpoint.explanations.causes.shared import START
from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName

FIRST = 100  # number of the first of them; the listed causes come before
SIDE = Parameter("side", "to which side", "", Prior("either", -1.0, 1.0))


def _share(low: float, high: float) -> Parameter:
    return Parameter("size", "how large", "", Prior("uniform", low, high))


def _asymmetric_flap(p: dict[str, Scalar], moment: Moment) -> Effect:
    """One flap goes or comes: half the flap, and the roll of the other half."""
    moved = p["size"] * ramp(moment.time, p["start"], 2.0)
    return Effect(flap=0.5 * moved, aileron=0.2 * p["side"] * moved, drag=1.0 + 0.3 * moved)


def _aileron_jam(p: dict[str, Scalar], moment: Moment) -> Effect:
    """The ailerons stick over; nobody can hold the bank."""
    begun = after(moment.time, p["start"])
    return Effect(aileron=p["side"] * p["size"] * 6.0 * DEGREE * begun, bank_care=1.0 - begun)


def _thrust_reverser(p: dict[str, Scalar], moment: Moment) -> Effect:
    """The thrust of one engine goes, and a brake comes in its place."""
    out = ramp(moment.time, p["start"], 1.0)
    return Effect(
        engine_out=(out, 0.0 * out), drag=1.0 + 2.0 * p["size"] * out, tail_loss=0.15 * out
    )


def _column_seized(p: dict[str, Scalar], moment: Moment) -> Effect:
    """Something holds the whole column, fore and aft and sideways, off its place."""
    begun = after(moment.time, p["start"])
    return Effect(
        jammed=begun, jam_angle=p["side"] * p["size"] * 3.0 * DEGREE, bank_care=1.0 - begun
    )


def _aerobatics(p: dict[str, Scalar], moment: Moment) -> Effect:
    """A roll on purpose, begun with the nose raised."""
    first = ramp(moment.time, p["start"], 2.0) - ramp(moment.time, p["start"] + 3.0, 2.0)
    rolling = after(moment.time, p["start"] + 3.0) - after(
        moment.time, p["start"] + 3.0 + 6.0 * p["size"]
    )
    return Effect(
        climb=25.0 * first, aileron=p["side"] * 12.0 * DEGREE * rolling, bank_care=1.0 - rolling
    )


def _emergency_descent(p: dict[str, Scalar], moment: Moment) -> Effect:
    """Power off, brakes out, nose down, in a turn, on purpose."""
    begun = ramp(moment.time, p["start"], 5.0)
    return Effect(
        lever=-begun,
        drag=1.0 + begun,
        climb=-30.0 * p["size"] * begun,
        aileron=0.05 * p["side"] * begun,
    )


def _wake(p: dict[str, Scalar], moment: Moment) -> Effect:
    """Across the wake of a larger airplane: a roll one way and back, and a jolt."""
    share = jnp.clip((moment.time - p["start"]) / (1.0 + 3.0 * p["size"]), 0.0, 1.0)
    inside = (share > 0.0) * (share < 1.0)
    return Effect(
        aileron=p["side"] * 20.0 * DEGREE * p["size"] * jnp.sin(2.0 * jnp.pi * share) * inside,
        downdraught=8.0 * p["size"] * jnp.sin(jnp.pi * share) * inside,
    )


KINDS_OFF = {
    "asymmetric flap": (_asymmetric_flap, 0.4, 1.0),
    "aileron jam": (_aileron_jam, 0.2, 1.0),
    "thrust reverser": (_thrust_reverser, 0.4, 1.0),
    "column seized": (_column_seized, 0.2, 1.0),
    "aerobatics": (_aerobatics, 0.3, 1.0),
    "emergency descent": (_emergency_descent, 0.5, 1.2),
    "wake": (_wake, 0.3, 1.0),
}


def _cause(act, low: float, high: float) -> Cause:
    return Cause(
        name=CauseName.UNLISTED,
        mechanism="Not on the list.",
        changes=(),
        parameters=(START, SIDE, _share(low, high)),
        cannot_explain=(),
        evidence=(),
        not_separable=(),
        act=act,
    )


OFF_LIST = (CAUSES[CauseName.NO_FAILURE], *(_cause(*given) for given in KINDS_OFF.values()))
NUMBERS = (0, *range(FIRST, FIRST + len(KINDS_OFF)))
