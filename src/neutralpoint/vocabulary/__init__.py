"""The names that every package shares: causes and their mechanisms.

Nothing comes in and nothing is computed. What goes out are enums with their titles in the words
of the trade, so that one thing has one name from the required moment to the page. It is assumed
that whoever adds a cause adds its name and mechanism here first.
"""

from neutralpoint.vocabulary.cause import CauseName, Mechanism

__all__ = ["CauseName", "Mechanism"]
