"""Parameters that several causes have."""

from __future__ import annotations

from neutralpoint.explanations.prior import Parameter, Prior

# The analyst replaces this by the window that the track leaves open.
START = Parameter("start", "when it begins, from the start", "s", Prior("uniform", 0.0, 60.0))
DIRECTION = Parameter("direction", "1 nose down, -1 nose up", "", Prior("either", -1.0, 1.0))
RATE_SHARE = Parameter(
    "rate_share",
    "rate over the motor's own, beside what the load of the air takes",
    "",
    Prior("lognormal", 0.97, 0.15),
    "analyst's estimate; voltage, temperature, and a rate that is read off a document",
)
RUN = Parameter(
    "run", "how long it runs unless it meets its stop", "s", Prior("lognormal", 25.0, 0.8)
)
DECAY = Parameter("decay", "how long the loss takes", "s", Prior("lognormal", 1.5, 0.5))
