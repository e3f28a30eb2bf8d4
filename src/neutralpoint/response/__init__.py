"""Time and strength: how long something could still be done, and by how many.

What comes in: a setting, a cause with its parameters, and a population of pilots. What goes out:
outcomes over delay, height and trim rate, the latest safe action, the pull that holding on takes
and the share of people who have it. It is assumed that delays are stated by the analyst; lessons
are for design and training, nobody is blamed, and regulatory delays are settings, not people.
"""

from neutralpoint.response.answers import (
    COLUMN_ALONE,
    Answer,
    answer,
    answers_to,
    why_no_map,
    why_no_rate_map,
    works_the_trim,
)
from neutralpoint.response.faults import START, draw_faults, typical_fault
from neutralpoint.response.force import pull_to_hold, without_hands
from neutralpoint.response.lessons import LESSONS, Lesson, lessons_for, reference_procedure
from neutralpoint.response.maps import (
    REACTION,
    REACTION_SOURCE,
    REGULATORY_DELAYS,
    People,
    draw_people,
    latest_safe_action,
    over_delays,
    over_rates,
    saved_over_height,
    shaped,
    share_interval,
    trials_of,
)
from neutralpoint.response.outcome import (
    LEVEL_BANK,
    LEVEL_CLIMB,
    LEVEL_RISE,
    LEVEL_TIME,
    Outcome,
    saved,
)
from neutralpoint.response.trials import Trials, fly_trials, join

__all__ = [
    "COLUMN_ALONE",
    "LESSONS",
    "LEVEL_BANK",
    "LEVEL_CLIMB",
    "LEVEL_RISE",
    "LEVEL_TIME",
    "REACTION",
    "REACTION_SOURCE",
    "REGULATORY_DELAYS",
    "START",
    "Answer",
    "Lesson",
    "Outcome",
    "People",
    "Trials",
    "answer",
    "answers_to",
    "draw_faults",
    "draw_people",
    "fly_trials",
    "join",
    "latest_safe_action",
    "lessons_for",
    "over_delays",
    "over_rates",
    "pull_to_hold",
    "reference_procedure",
    "saved",
    "saved_over_height",
    "shaped",
    "share_interval",
    "trials_of",
    "typical_fault",
    "why_no_map",
    "why_no_rate_map",
    "without_hands",
    "works_the_trim",
]
