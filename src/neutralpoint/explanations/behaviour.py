"""Pilots as a population of behaviours: loops, looks, habits, training, startle and strength."""

from __future__ import annotations

from collections.abc import Mapping

from neutralpoint.dynamics.vectors import Scalar
from neutralpoint.explanations.pilot import Pilot
from neutralpoint.explanations.prior import Parameter, Prior
from neutralpoint.explanations.strength import POPULATION, Population, draw_strength

_SHARE = Prior("uniform", 0.0, 1.0)
_LOOPS = (
    "analyst's estimate; crossover and margin of the drawn loops are checked against McRuer and "
    "Krendel"
)

# All priors are analyst's estimates. Who is drawn below a share has the habit: nobody has counted
# how many pilots do.
BEHAVIOURS: tuple[Parameter, ...] = (
    Parameter("crossover", "pitch loop", "rad/s", Prior("lognormal", 0.8, 0.2), _LOOPS),
    Parameter("outer", "vertical-speed loop", "rad/s", Prior("lognormal", 0.12, 0.3), _LOOPS),
    Parameter("holding", "steady force", "rad/s", Prior("lognormal", 0.2, 0.3), _LOOPS),
    Parameter("delay", "from eye to hand", "s", Prior("lognormal", 0.25, 0.2)),
    Parameter("lead", "how far ahead pitch is read", "s", Prior("uniform", 0.3, 0.7), _LOOPS),
    Parameter("glance", "from one look to the next", "s", Prior("lognormal", 1.0, 0.5)),
    Parameter("indifference", "vertical speed let be", "m/s", Prior("lognormal", 0.5, 0.5)),
    Parameter("strength", "place in the population", "", _SHARE),
    Parameter("trims", "trims forces away", "", Prior("either", 0.0, 1.0)),
    Parameter("speeds", "below 0.9 minds the airspeed", "", _SHARE),
    Parameter("margin", "slowest speed over the stall", "", Prior("uniform", 1.15, 1.4)),
    Parameter("stalls", "below 0.85 gives way at the stall warning", "", _SHARE),
    Parameter("powers_up", "below 0.8 works the power for speed", "", _SHARE),
    Parameter("adapts", "below 0.7 flies without a column that does nothing", "", _SHARE),
    Parameter("realises", "until then", "s", Prior("lognormal", 3.0, 0.6)),
    Parameter("startle", "hand stays as it is once surprised", "s", Prior("lognormal", 0.4, 0.8)),
    Parameter("reaction", "to a lost engine", "s", Prior("lognormal", 3.0, 0.5)),
)


def pilot_of(drawn: Mapping[str, Scalar], population: Population = POPULATION) -> Pilot:
    """The pilot of a draw.

    Args:
        drawn: Values of `BEHAVIOURS` by name; others are not read.
        population: Of strength.

    Returns:
        The pilot.
    """
    d = drawn
    same = ("crossover", "outer", "holding", "delay", "lead", "glance", "indifference", "trims")
    same += ("margin", "realises", "startle", "reaction")
    return Pilot(
        **{name: d[name] for name in same},
        strength=draw_strength(population, d["strength"]),
        # Uniform draws against the share of pilots who do so.
        minds_speed=(d["speeds"] < 0.9) * 1.0,
        minds_stall=(d["stalls"] < 0.85) * 1.0,
        works_power=(d["powers_up"] < 0.8) * 1.0,
        adapts=(d["adapts"] < 0.7) * 1.0,
    )
