"""Which limits of an airplane a flight passed: how probably, by when, and for how long.

Sample paths of speed, Mach number, load factor and stall margin come in with the limits of the
airplane; what each path passed goes out, jointly, with the diagram of speed and load factor and the
power that was left. It is assumed that the paths are resolved as finely as the limits are asked:
what is quicker than their window is averaged.
"""

from neutralpoint.limits.diagram import Design, Diagram, load_diagram
from neutralpoint.limits.excess import Excess, specific_excess
from neutralpoint.limits.passing import (
    Margin,
    Passing,
    passed_any,
    passed_together,
    passing,
    trusted_until,
)

__all__ = [
    "Design",
    "Diagram",
    "Excess",
    "Margin",
    "Passing",
    "load_diagram",
    "passed_any",
    "passed_together",
    "passing",
    "specific_excess",
    "trusted_until",
]
