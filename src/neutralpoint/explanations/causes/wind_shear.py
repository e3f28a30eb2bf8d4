"""Wind shear."""

from __future__ import annotations

import jax.numpy as jnp

from neutralpoint.explanations.cause import Cause, Effect, Moment, Parameters
from neutralpoint.explanations.causes.shared import START
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.vocabulary import CauseName


def act(parameters: Parameters, moment: Moment) -> Effect:
    """Move the air.

    Args:
        parameters: By name.
        moment: Now.

    Returns:
        What changes.
    """
    p = parameters
    # One sine over the crossing: headwind, then as much tailwind; the downdraught is largest
    # between.
    way = jnp.clip((moment.time - p["start"]) / p["crossing"], 0.0, 1.0)
    return Effect(
        tailwind=-p["tailwind"] * jnp.sin(2.0 * jnp.pi * way),
        downdraught=p["downdraught"] * jnp.sin(jnp.pi * way) ** 2,
    )


WIND_SHEAR = Cause(
    name=CauseName.WIND_SHEAR,
    mechanism="The airplane crosses a downburst: headwind, downdraught, tailwind.",
    changes=("air",),
    parameters=(
        START,
        Parameter(
            "tailwind",
            "largest change of the wind along the path to either side",
            "m/s",
            Prior("uniform", 0.0, 25.0),
        ),
        Parameter("downdraught", "largest", "m/s", Prior("uniform", 0.0, 12.0)),
        Parameter("crossing", "how long the crossing takes", "s", Prior("lognormal", 25.0, 0.4)),
    ),
    cannot_explain=(
        "a lasting change of moment",
        "a descent that other airplanes nearby did not meet",
    ),
    evidence=("surface wind, radar, other airplanes",),
    not_separable=("a change of power, from one airplane's ground speed alone",),
    act=act,
)
