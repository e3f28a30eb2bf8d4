"""What the motion took, and who could supply it.

What comes in: sample paths of the motion and an airplane with drawn uncertainty. What goes out: the
pitching moment required beyond the last trimmed flight, what each single carrier would have needed,
how well these data separate them, and a verdict for each family of causes. It is assumed that the
airplane flew without sideslip, near wings level or turning steadily, and below the stall.
"""

from neutralpoint.moments.energy import Energy, PowerChange, energy, power_change
from neutralpoint.moments.families import spiral, verdicts, wing_stall
from neutralpoint.moments.feasible import Miss, Needed, closest, needed_history
from neutralpoint.moments.flight import Flight, flight_from_paths, with_gusts
from neutralpoint.moments.loads import ItemReach, LoadReach, load_reach
from neutralpoint.moments.required import (
    Configuration,
    Powers,
    Required,
    batched,
    required_moment,
    with_fuel_burnt,
    with_power_effect,
)
from neutralpoint.moments.scaling import LAWS, Scaling, scaling_test
from neutralpoint.moments.strength import LIMITS, ForceLimit, TimeAbove, times_above
from neutralpoint.moments.trim_rate import TrimRate, trim_rate
from neutralpoint.moments.trimmed import last_trimmed
from neutralpoint.moments.verdicts import Verdict, carrier, knots_of, window_of

__all__ = [
    "LAWS",
    "LIMITS",
    "Configuration",
    "Energy",
    "Flight",
    "ForceLimit",
    "ItemReach",
    "LoadReach",
    "Miss",
    "Needed",
    "PowerChange",
    "Powers",
    "Required",
    "Scaling",
    "TimeAbove",
    "TrimRate",
    "Verdict",
    "batched",
    "carrier",
    "closest",
    "energy",
    "flight_from_paths",
    "knots_of",
    "last_trimmed",
    "load_reach",
    "needed_history",
    "power_change",
    "required_moment",
    "scaling_test",
    "spiral",
    "times_above",
    "trim_rate",
    "verdicts",
    "window_of",
    "wing_stall",
    "with_fuel_burnt",
    "with_gusts",
    "with_power_effect",
]
