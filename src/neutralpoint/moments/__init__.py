"""What the motion took, and who could supply it.

What comes in: sample paths of the motion and an airplane with drawn uncertainty. What goes out: the
pitching moment required beyond the last trimmed flight, what each control, the load or the engines
alone would have needed, how well these data separate them, and a judgement of each cause. It is
assumed that the airplane flew without sideslip, near wings level or turning steadily, and below the
stall.
"""

from neutralpoint.moments.energy import Energy, PowerChange, energy, power_change
from neutralpoint.moments.flight import MotionFlight, flight_from_paths, with_gusts
from neutralpoint.moments.judgement import (
    Ability,
    ComparedQuantity,
    Comparison,
    Grant,
    GrantedCondition,
    Hands,
    Judgement,
    Miss,
    NotJudged,
    ValueBand,
    Word,
)
from neutralpoint.moments.loads import ItemReach, LoadReach, load_reach
from neutralpoint.moments.needed import FEWEST, Judged, Needed, judged_part, needed_history
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
from neutralpoint.moments.strength import TimeAbove, times_above
from neutralpoint.moments.trim_rate import TrimRate, trim_rate
from neutralpoint.moments.trimmed import (
    Reference,
    Window,
    compared_span,
    compared_windows,
    held_force,
    last_trimmed,
    references,
    safe_reference,
)
from neutralpoint.moments.verdicts import judge_causes

__all__ = [
    "FEWEST",
    "LAWS",
    "Ability",
    "ComparedQuantity",
    "Comparison",
    "Configuration",
    "Energy",
    "Grant",
    "GrantedCondition",
    "Hands",
    "ItemReach",
    "Judged",
    "Judgement",
    "LoadReach",
    "Miss",
    "MotionFlight",
    "Needed",
    "NotJudged",
    "PowerChange",
    "Powers",
    "Reference",
    "Required",
    "Scaling",
    "TimeAbove",
    "TrimRate",
    "ValueBand",
    "Window",
    "Word",
    "batched",
    "compared_span",
    "compared_windows",
    "energy",
    "flight_from_paths",
    "held_force",
    "judge_causes",
    "judged_part",
    "last_trimmed",
    "load_reach",
    "needed_history",
    "power_change",
    "references",
    "required_moment",
    "safe_reference",
    "scaling_test",
    "times_above",
    "trim_rate",
    "with_fuel_burnt",
    "with_gusts",
    "with_power_effect",
]
