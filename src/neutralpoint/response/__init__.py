"""Time and strength: how long something could still be done, and by how many.

What comes in: a setting, a cause with its parameters, and a population of pilots. What goes out:
outcomes over delay, height and trim rate, the latest safe action, the pull that holding on takes
and the share of people who have it. It is assumed that delays are stated by the analyst; lessons
are for design and training, nobody is blamed, and regulatory delays are settings, not people.
"""

from neutralpoint.response.force import pull_to_hold, without_hands
from neutralpoint.response.lessons import LESSONS, Lesson, lessons_for
from neutralpoint.response.maps import (
    REACTION,
    REACTION_SOURCE,
    REGULATORY_DELAYS,
    draw_pilots,
    fly_many,
    latest_safe_action,
    outcome_map,
    saved_over_height,
)
from neutralpoint.response.outcome import Outcome, fly_to_outcome, saved

__all__ = [
    "LESSONS",
    "REACTION",
    "REACTION_SOURCE",
    "REGULATORY_DELAYS",
    "Lesson",
    "Outcome",
    "draw_pilots",
    "fly_many",
    "fly_to_outcome",
    "latest_safe_action",
    "lessons_for",
    "outcome_map",
    "pull_to_hold",
    "saved",
    "saved_over_height",
    "without_hands",
]
