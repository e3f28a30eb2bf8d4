"""The names that every package shares: causes, their mechanisms, quantities, limits of strength.

Nothing comes in and nothing is computed. What goes out are enums with their titles in the words
of the trade, and one registry of quantities with unit, title and limits, so that one thing has one
name from the reading to the page. It is assumed that whoever adds a cause or a quantity adds it
here first.
"""

from neutralpoint.vocabulary.cause import CauseName, Mechanism
from neutralpoint.vocabulary.quantity import CIRCULAR, QUANTITIES, Quantity, ReaderUnit
from neutralpoint.vocabulary.strength import STRENGTH_LIMITS, ForceLimit

__all__ = [
    "CIRCULAR",
    "QUANTITIES",
    "STRENGTH_LIMITS",
    "CauseName",
    "ForceLimit",
    "Mechanism",
    "Quantity",
    "ReaderUnit",
]
