"""Candidate causes, and a pilot with limits who meets them.

What comes in: an airplane in steady flight, air, a pilot with a procedure, and a cause with its
parameters. What goes out: the flight that follows, with the force that was asked of the column. It
is assumed that one cause acts, that priors are the analyst's where they say so, and that a pilot
is a delay, a gain, muscles that tire and a clock; nobody's intent is inferred.
"""

from neutralpoint.explanations.autopilot import Autopilot
from neutralpoint.explanations.behaviour import BEHAVIOURS, pilot_of
from neutralpoint.explanations.cause import Cause, Effect, Moment
from neutralpoint.explanations.causes import CAUSES, find_cause
from neutralpoint.explanations.facts import NOTHING_KNOWN, Facts
from neutralpoint.explanations.flight import (
    CauseFlight,
    felt_by_motor,
    fly,
    one_step,
    record_of,
    start_flight,
)
from neutralpoint.explanations.gate import why_not
from neutralpoint.explanations.pilot import Pilot
from neutralpoint.explanations.prior import Parameter, Prior, draw_parameters
from neutralpoint.explanations.procedure import Action, procedures_of, timetable
from neutralpoint.explanations.setting import (
    Setting,
    make_setting,
    trimmed_setting,
    with_procedure,
)
from neutralpoint.explanations.strength import POPULATION, Population, share_able

__all__ = [
    "BEHAVIOURS",
    "CAUSES",
    "NOTHING_KNOWN",
    "POPULATION",
    "Action",
    "Autopilot",
    "Cause",
    "CauseFlight",
    "Effect",
    "Facts",
    "Moment",
    "Parameter",
    "Pilot",
    "Population",
    "Prior",
    "Setting",
    "draw_parameters",
    "felt_by_motor",
    "find_cause",
    "fly",
    "make_setting",
    "one_step",
    "pilot_of",
    "procedures_of",
    "record_of",
    "share_able",
    "start_flight",
    "timetable",
    "trimmed_setting",
    "why_not",
    "with_procedure",
]
