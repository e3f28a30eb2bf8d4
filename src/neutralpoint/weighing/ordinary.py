"""Ordinary flying: who flies, what the air does and what is done on purpose, whatever else happens.

Turns, climbs, power and flap changes, and less often hills, go-arounds, descents at idle, and
power that is taken off or set in full for a while.

Every cause is flown with it, so that no cause owes its odds to a turn, a climb or a power change.
All priors are the analyst's and drawn wide; who flies is drawn from `explanations.behaviour`.
"""

from __future__ import annotations

from dataclasses import replace

import jax.numpy as jnp
from jax import Array

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations import (
    BEHAVIOURS,
    Autopilot,
    Moment,
    Parameter,
    Pilot,
    Prior,
    pilot_of,
)
from neutralpoint.explanations.cause import Effect, ramp
from neutralpoint.quantities import DEGREE, GRAVITY

# Gusts: the spread covers light to severe of MIL-F-8785C, figure 7; the median is an analyst's
# estimate.
AIR = Prior("lognormal", 0.7, 0.9)
# Static source: 30 ft per 100 kt, 14 CFR 23.1325(e) and 25.1325(e), is 0.027 of the dynamic
# pressure at 250 kt; taken as two standard deviations.
STATIC = Prior("normal", 0.0, 0.014)
# Ultimate load is 1.5 times limit load, 14 CFR 23.303 and 25.303; flutter is excluded up to 1.2
# times a dive speed that is at least 1.25 times cruise speed, 23.335 and 23.629. Spread, and what
# then parts: analyst's estimates.
MARGIN = Prior("lognormal", 1.6, 0.12)
GIVING_WAY, TAIL_TOO, DRAG_THEN = 20.0, 0.7, 5.0  # share per unit beyond; of the tail; of the drag
MOST_BANK = 60.0 * DEGREE  # more is no ordinary flight; analyst's
MOST_CLIMB = 20.0  # m/s, change of climb; analyst's
MOST_HILL = 45.0 * DEGREE  # path angle of a hill; zero-g flights reach 40 to 50 deg, analyst's
STEEP = 5.0 * DEGREE  # path angle from which all power or none is set for it; analyst's
CLEAN_UP = 0.4  # share of full flap that goes in with a go-around; analyst's
FULL_CLIMB = 10.0  # m/s of climb that all of the power gives, for power that follows it; analyst's
TURN = 2.0 * jnp.pi  # rad
# From a hand that was waiting to one that was elsewhere and is startled; analyst's estimate.
# Certification assumes 1 s in a climb or cruise and 3 s hands off, AC 25.1329-1C and AC 23-8C, from
# memory.
TAKEOVER = Prior("lognormal", 2.0, 0.6)
NEVER = 1e6  # N: a servo load that is never reached
_SHARE = Prior("uniform", 0.0, 1.0)

ORDINARY: tuple[Parameter, ...] = (
    *BEHAVIOURS,
    Parameter("engaged", "autopilot on at the start", "", Prior("either", 0.0, 1.0)),
    Parameter("air", "standard deviation of each gust component", "m/s", AIR),
    Parameter("static", "static-source error over dynamic pressure", "", STATIC),
    Parameter("margin", "speed or load over its limit at which structure gives way", "", MARGIN),
    Parameter("parted", "share of the wing's lift that goes then", "", Prior("uniform", 0.2, 0.7)),
    Parameter("lopsided", "roll of what is left, as aileron", "rad", Prior("normal", 0.0, 0.12)),
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
    Parameter("hills", "above 0.9 a hill: up and over, or down and back up", "", _SHARE),
    Parameter("hill", "steepest path of it, up first positive", "rad", Prior("normal", 0.0, 0.3)),
    Parameter("hill_lasts", "how long it takes", "s", Prior("lognormal", 22.0, 0.4)),
    Parameter("hill_at", "when, share of the flight", "", _SHARE),
    Parameter(
        "steeps", "above 0.92 a go-around, or a descent at idle with what brakes", "", _SHARE
    ),
    Parameter(
        "steep", "its path angle, a go-around positive", "rad", Prior("uniform", -0.25, 0.10)
    ),
    Parameter("brakes", "zero-lift drag in it over before", "", Prior("uniform", 1.0, 2.5)),
    Parameter("steep_at", "when, share of the flight", "", _SHARE),
    Parameter("cuts", "above 0.9 power goes to idle or to full, path held", "", _SHARE),
    Parameter("cut", "lever change", "", Prior("either", -1.0, 1.0)),
    Parameter("cut_at", "when, share of the flight", "", _SHARE),
    Parameter("cut_lasts", "for how long", "s", Prior("lognormal", 15.0, 0.6)),
    Parameter("sway", "bank that hands let wander", "rad", Prior("lognormal", 2.0 * DEGREE, 0.7)),
    Parameter("sway_period", "how slowly", "s", Prior("lognormal", 20.0, 0.5)),
    Parameter("sway_begin", "where in it the flight begins", "", _SHARE),
    Parameter("heave", "climb that hands let wander", "m/s", Prior("lognormal", 0.5, 0.7)),
    Parameter("heave_period", "how slowly", "s", Prior("lognormal", 25.0, 0.5)),
    Parameter("heave_begin", "where in it the flight begins", "", _SHARE),
    Parameter("takeover", "from the autopilot's disconnect to a hand", "s", TAKEOVER),
    Parameter("noticing", "what is noticed over what is usual", "", Prior("lognormal", 1.0, 0.4)),
    Parameter("servo", "most the autopilot's servo gives", "N", Prior("lognormal", 180.0, 0.35)),
    Parameter("loops", "its loops over the usual ones", "", Prior("lognormal", 1.0, 0.25)),
    Parameter("retrims", "below 0.8 the autopilot trims its load away", "", _SHARE),
)


def who_flies(ordinary: dict[str, Array]) -> tuple[Pilot, Autopilot]:
    """The pilot and the autopilot of a draw.

    Args:
        ordinary: Values of `ORDINARY` by name.

    Returns:
        Both.
    """
    o, usual, servo = ordinary, pilot_of(ordinary), Autopilot()
    pilot = replace(
        usual,
        takeover=o["takeover"],
        notice_force=o["noticing"] * usual.notice_force,
        notice_climb=o["noticing"] * usual.notice_climb,
        notice_load=o["noticing"] * usual.notice_load,
    )
    autopilot = replace(
        servo,
        engaged=o["engaged"],
        force=o["servo"],
        trim_force=jnp.where(o["retrims"] < 0.8, servo.trim_force, NEVER),
        crossover=o["loops"] * servo.crossover,
        outer=o["loops"] * servo.outer,
        holding=o["loops"] * servo.holding,
    )
    return pilot, autopilot


def meant(ordinary: dict[str, Array], moment: Moment, duration: Array, roll: Array) -> Effect:
    """What is done on purpose at one instant.

    Args:
        ordinary: Values of `ORDINARY` by name.
        moment: Now.
        duration: Of the flight that is compared, s.
        roll: Aileron that holds a bank of 1 rad against somebody who levels the wings.

    Returns:
        Changes of climb, aileron, lever, flap and drag.
    """
    o, time = ordinary, jnp.asarray(moment.time)
    size, hurry = o["activity"], o["hurry"]

    def done(share: Scalar, begin: Scalar = 0.0) -> Scalar:
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

    steep = (o["steeps"] > 0.92) * done(o["steep_at"])
    up = jnp.where(o["steep"] > 0.0, steep, 0.0)
    speed = _speed(moment)
    path = _hill(o, time, duration, speed) * by_hand + steep * o["steep"]
    lever = lever + steep * jnp.clip(o["steep"] / STEEP, -1.0, 1.0) + _cut(o, time, duration)
    return Effect(
        climb=climb + wander("heave") + speed * jnp.sin(path),
        aileron=(bank + wander("sway")) * roll,
        lever=lever,
        flap=(o["flaps"] > 0.93) * done(o["flap_at"]) * o["flap"] - CLEAN_UP * up,
        drag=1.0 + (steep - up) * (o["brakes"] - 1.0),
    )


def given_way(ordinary: dict[str, Array], moment: Moment, effect: Effect) -> Effect:
    """The effect of a cause, with structure that gives way once speed or load passed its margin.

    No airplane flies on at twice its limit speed or load, whatever brought it there.

    Args:
        ordinary: Values of `ORDINARY` by name.
        moment: Now; what has been passed so far counts.
        effect: Of the cause.

    Returns:
        The effect.
    """
    share = jnp.clip(GIVING_WAY * (moment.passed - ordinary["margin"]), 0.0, 1.0)
    return effect._replace(
        wing_loss=jnp.maximum(effect.wing_loss, share * ordinary["parted"]),
        tail_loss=jnp.maximum(effect.tail_loss, share * TAIL_TOO),
        drag=effect.drag * (1.0 + (DRAG_THEN - 1.0) * share),
        aileron=effect.aileron + share * ordinary["lopsided"],
    )


def _speed(moment: Moment) -> Array:
    """Over the ground, m/s."""
    s = moment.state
    return jnp.sqrt(s.velocity_north**2 + s.velocity_east**2 + s.velocity_down**2)


def _hill(o: dict[str, Array], time: Array, duration: Array, speed: Array) -> Array:
    """Path angle beside that of the task, rad: one period of a sine.

    Nobody flies a hill higher than the speed carries: half a period T of a sine of angle a climbs
    a V T / pi, which is kept below half of V^2 / 2g, so a below pi V / (4 g T). Source: energy.
    """
    way = jnp.clip((time - o["hill_at"] * duration) / o["hill_lasts"], 0.0, 1.0)
    most = jnp.minimum(jnp.pi * speed / (4.0 * GRAVITY * o["hill_lasts"]), MOST_HILL)
    angle = jnp.clip(o["activity"] * o["hill"], -most, most)
    return (o["hills"] > 0.9) * angle * jnp.sin(TURN * way)


def _cut(o: dict[str, Array], time: Array, duration: Array) -> Array:
    """Lever change of power that is taken off, or set in full, for a while."""
    begin = o["cut_at"] * duration
    on = ramp(time, begin, o["hurry"]) - ramp(time, begin + o["cut_lasts"], o["hurry"])
    return (o["cuts"] > 0.9) * o["cut"] * on
