"""Tail stall in ice."""

from __future__ import annotations

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters, ramp
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Separate the flow at the tail.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    share = ramp(moment.time, p["start"], p["snap"])
    # The flaps begin to run 4 s before: it is their downwash that stalls an iced tail.
    return Effect(
        tail_loss=p["loss"] * share,
        hinge=p["hinge"] * share,
        flap=p["flap"] * ramp(moment.time, p["start"] - 4.0, 4.0),
    )


TAILPLANE_STALL = Cause(
    name=CauseName.TAILPLANE_STALL,
    mechanism=(
        "Flow separates below an iced tailplane; it loses lift and the elevator is "
        "sucked trailing edge down."
    ),
    changes=("aerodynamics",),
    parameters=(
        START,
        Parameter(
            "loss", "share of the tail's lift that separates", "", Prior("uniform", 0.1, 0.4)
        ),
        Parameter("snap", "how long it takes", "s", Prior("lognormal", 0.4, 0.5)),
        Parameter(
            "hinge",
            "hinge moment coefficient added, trailing edge down",
            "",
            Prior("lognormal", 0.03, 0.5),
            "analyst's estimate: some 75 lb of column force, commuter at 165 kt; 100 lb and more "
            "are reported of tailplane stalls, common practice, no source",
        ),
        Parameter("flap", "flaps run with it, share of full", "", Prior("uniform", 0.0, 1.0)),
    ),
    cannot_explain=(
        "clear warm air",
        "a slow straight growth of the needed moment",
    ),
    evidence=(
        "ice reports, de-icing boots, flap position",
        "buffet felt in the column, not the airframe",
    ),
    not_separable=("separation of the elevator's drive",),
    act=act,
)
