"""What the motion took, and who could supply it.

What comes in: sample paths of the motion and an airplane with drawn uncertainty. What goes out: the
pitching moment required beyond the last trimmed flight, what each single carrier would have needed,
how well these data separate them, and a verdict for each family of causes. It is assumed that the
airplane flew without sideslip, near wings level or turning steadily, and below the stall.
"""

from neutralpoint.moments.energy import Energy, PowerChange, energy, power_change
from neutralpoint.moments.feasible import Miss, Needed, closest, needed_history
from neutralpoint.moments.flight import Flight, flight_from_paths
from neutralpoint.moments.loads import ItemReach, LoadReach, load_reach
from neutralpoint.moments.required import (
    Configuration,
    Required,
    batched,
    required_moment,
    with_mass,
)
from neutralpoint.moments.scaling import LAWS, Scaling, scaling_test
from neutralpoint.moments.strength import LIMITS, ForceLimit, TimeAbove, times_above
from neutralpoint.moments.trimmed import last_trimmed
from neutralpoint.moments.verdicts import Verdict, knots_of, verdicts, window_of

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
    "Required",
    "Scaling",
    "TimeAbove",
    "Verdict",
    "batched",
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
    "times_above",
    "verdicts",
    "window_of",
    "with_mass",
]
