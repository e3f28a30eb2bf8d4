"""Column forces of rules and measurements: the five limits that every table and figure has."""

from __future__ import annotations

from dataclasses import dataclass

from neutralpoint.quantities import POUND_FORCE


@dataclass(frozen=True)
class ForceLimit:
    """A column force with where it comes from.

    Attributes:
        name: What it is.
        force: N.
        source: Document.
    """

    name: str
    force: float
    source: str

    @property
    def pounds(self) -> float:
        """The force in pounds-force."""
        return self.force / POUND_FORCE


# Wheel control, pitch. The rule values are what may be asked of a pilot, not what a pilot can do.
PROLONGED = ForceLimit("prolonged", 10.0 * POUND_FORCE, "14 CFR 25.143, long term; 23.143(c)")
ONE_HAND = ForceLimit("short term, one hand", 50.0 * POUND_FORCE, "14 CFR 23.143(c), 25.143(d)")
TWO_HANDS = ForceLimit("short term, two hands", 75.0 * POUND_FORCE, "14 CFR 23.143(c), 25.143(d)")
AVERAGE = ForceLimit(
    "average measured, controls neutral",
    95.0 * POUND_FORCE,
    "NACA TN 550 (1936), Gough and Beard",
)
LARGEST = ForceLimit("largest measured", 200.0 * POUND_FORCE, "NACA TN 550 (1936), Gough and Beard")
STRENGTH_LIMITS = (PROLONGED, ONE_HAND, TWO_HANDS, AVERAGE, LARGEST)
