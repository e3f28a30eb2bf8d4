"""Load shift, aft and forward."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, ramp
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName


def act_aft(parameters: Parameters, moment: Moment) -> Effect:
    """Move the centre of gravity aft.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    share = ramp(moment.time, p["start"], p["slide"])
    return Effect(cg_shift=p["moved"] * p["distance"] * share)


def act_forward(parameters: Parameters, moment: Moment) -> Effect:
    """Move the centre of gravity forward.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    return Effect(cg_shift=-act_aft(parameters, moment).cg_shift)


def _load_shift(way: str, act, *, never: str) -> Cause:
    return Cause(
        name=CauseName(f"load-shift-{way}"),
        mechanism=f"Load slides {way} and takes the center of gravity with it.",
        changes=("loading",),
        parameters=(
            START,
            Parameter(
                "moved",
                "mass that moves over the airplane's mass",
                "",
                Prior("lognormal", 0.02, 0.7),
            ),
            Parameter("distance", "how far it moves", "m", Prior("uniform", 0.5, 4.0)),
            Parameter(
                "slide",
                "how long it slides",
                "s",
                Prior("lognormal", 1.5, 0.5),
                "1 to 3 s, common practice, no source",
            ),
        ),
        cannot_explain=(
            "a moment that grows with dynamic pressure at unchanged load factor",
            never,
            "more than the load on board can do",
        ),
        evidence=(
            "marks on bulkheads, straps, nets, load sheets",
            "what was on board and how it was tied down",
        ),
        not_separable=(
            "a tab that floats",
            "wrong takeoff trim",
        ),
        act=act,
    )


LOAD_SHIFT_AFT = _load_shift("aft", act_aft, never="a nose that goes down by itself")
LOAD_SHIFT_FORWARD = _load_shift("forward", act_forward, never="a nose that goes up by itself")
