"""Ordinary flying: who flies, what the air does and what is done on purpose, whatever else happens.

Every cause is flown with it, so that no cause owes its odds to a turn, a climb or a power change.
All priors are the analyst's and drawn wide; the middles of the pilot are those of
`explanations.Pilot`: with a crossover of 1 rad/s and 0.5 rad/s of holding half of all hands
oscillated by more than 1 g in smooth air, which no ordinary pilot does.
"""

from __future__ import annotations

import jax.numpy as jnp
from jax import Array

from neutralpoint.explanations import Moment, Parameter, Prior
from neutralpoint.explanations.cause import Effect, ramp
from neutralpoint.quantities import DEGREE

# Gusts: the spread covers light to severe of MIL-F-8785C, figure 7; the median is the analyst's.
AIR = Prior("lognormal", 0.7, 0.9)
MOST_BANK = 60.0 * DEGREE  # more is no ordinary flight; analyst's
MOST_CLIMB = 20.0  # m/s, change of climb; analyst's
FULL_CLIMB = 10.0  # m/s of climb that all of the power gives, for power that follows it; analyst's
TURN = 2.0 * jnp.pi  # rad
_SHARE = Prior("uniform", 0.0, 1.0)

ORDINARY: tuple[Parameter, ...] = (
    Parameter("crossover", "pitch loop", "rad/s", Prior("lognormal", 0.6, 0.3)),
    Parameter("outer", "vertical-speed loop", "rad/s", Prior("lognormal", 0.15, 0.4)),
    Parameter("holding", "steady force", "rad/s", Prior("lognormal", 0.25, 0.4)),
    Parameter("delay", "from eye to hand", "s", Prior("lognormal", 0.3, 0.25)),
    Parameter("indifference", "vertical speed let be", "m/s", Prior("lognormal", 0.5, 0.5)),
    Parameter("strength", "place in the population", "", _SHARE),
    Parameter("trims", "trims forces away", "", Prior("either", 0.0, 1.0)),
    Parameter("engaged", "autopilot on at the start", "", Prior("either", 0.0, 1.0)),
    Parameter("air", "standard deviation of each gust component", "m/s", AIR),
    Parameter("activity", "size of all that is meant", "", Prior("lognormal", 1.0, 0.6)),
    Parameter("hurry", "how long a change takes", "s", Prior("lognormal", 4.0, 0.6)),
    Parameter("climbs", "above 0.65 one change of climb, above 0.85 two", "", _SHARE),
    Parameter("climb", "first change of climb", "m/s", Prior("normal", 0.0, 4.0)),
    Parameter("climb_at", "when, share of the flight", "", _SHARE),
    Parameter("level", "climb after the second change", "m/s", Prior("normal", 0.0, 3.0)),
    Parameter("level_at", "when, share of the rest of the flight", "", _SHARE),
    Parameter("turns", "above 0.7 a turn, above 0.85 with its roll-out", "", _SHARE),
    Parameter("bank", "of the turn", "rad", Prior("normal", 0.0, 18.0 * DEGREE)),
    Parameter("bank_at", "when, share of the flight", "", _SHARE),
    Parameter("out_at", "roll-out, share of the rest of the flight", "", _SHARE),
    Parameter("powers", "above 0.65 the power is changed", "", _SHARE),
    Parameter("power", "lever change", "", Prior("normal", 0.0, 0.35)),
    Parameter("matched", "above 0.5 power follows the changes of climb", "", _SHARE),
    Parameter("power_at", "when, share of the flight", "", _SHARE),
    Parameter("flaps", "above 0.93 the flaps are moved", "", _SHARE),
    Parameter("flap", "flap change, share of full", "", Prior("uniform", -0.4, 0.4)),
    Parameter("flap_at", "when, share of the flight", "", _SHARE),
    Parameter("sway", "bank that hands let wander", "rad", Prior("lognormal", 2.0 * DEGREE, 0.7)),
    Parameter("sway_period", "how slowly", "s", Prior("lognormal", 20.0, 0.5)),
    Parameter("sway_begin", "where in it the flight begins", "", _SHARE),
    Parameter("heave", "climb that hands let wander", "m/s", Prior("lognormal", 0.5, 0.7)),
    Parameter("heave_period", "how slowly", "s", Prior("lognormal", 25.0, 0.5)),
    Parameter("heave_begin", "where in it the flight begins", "", _SHARE),
)


def meant(ordinary: dict[str, Array], moment: Moment, duration: Array, roll: Array) -> Effect:
    """What is done on purpose at one instant.

    Args:
        ordinary: Values of `ORDINARY` by name.
        moment: Now.
        duration: Of the flight that is compared, s.
        roll: Aileron that holds a bank of 1 rad against somebody who levels the wings.

    Returns:
        Changes of climb, aileron, lever and flap.
    """
    o, time = ordinary, moment.time
    size, hurry = o["activity"], o["hurry"]

    def done(share, begin=0.0):
        return ramp(time, (begin + (1.0 - begin) * share) * duration, hurry)

    first = (o["climbs"] > 0.65) * done(o["climb_at"])
    second = (o["climbs"] > 0.85) * done(o["level_at"], o["climb_at"])
    climb = first * o["climb"] + second * (o["level"] - o["climb"])
    rolled = (o["turns"] > 0.7) * done(o["bank_at"])
    rolled = rolled - (o["turns"] > 0.85) * done(o["out_at"], o["bank_at"])
    bank = rolled * jnp.clip(size * o["bank"], -MOST_BANK, MOST_BANK)
    climb = jnp.clip(size * climb, -MOST_CLIMB, MOST_CLIMB)
    lever = (o["powers"] > 0.65) * done(o["power_at"]) * size * o["power"]
    lever = lever + (o["matched"] > 0.5) * climb / FULL_CLIMB
    by_hand = 1.0 - o["engaged"]

    def wander(name):
        share = time / o[f"{name}_period"] + o[f"{name}_begin"]
        begun = jnp.sin(TURN * o[f"{name}_begin"])
        return by_hand * o[name] * (jnp.sin(TURN * share) - begun)

    return Effect(
        climb=climb + wander("heave"),
        aileron=(bank + wander("sway")) * roll,
        lever=lever,
        flap=(o["flaps"] > 0.93) * done(o["flap_at"]) * o["flap"],
    )
