"""What is printed of a flown cause: its first sign, its column force, its misfit."""

from __future__ import annotations

from neutralpoint.quantities import POUND_FORCE
from neutralpoint.vocabulary import QUANTITIES

CAUTION = "Not for flight. A flown cause shows what it would look like; no blame is found."
HEADS = ("quantity", "leaves trim after", "misfit, standard deviations")


def quantity_words(name: str) -> str:
    """A quantity as people write it, such as `vertical speed`."""
    title = QUANTITIES[name].title if name in QUANTITIES else name.replace("_", " ")
    return title[:1].lower() + title[1:]


def when_words(time: float) -> str:
    """A time after the start of the flight, or that it does not come."""
    return f"{time:.1f} s" if time < float("inf") else "not within this flight"


def first_sign(signs: dict[str, float]) -> str:
    """The quantity that leaves its trimmed value first.

    Args:
        signs: When each does, s; infinite: not within the flight.

    Returns:
        A sentence; empty where none does.
    """
    first = min(signs, key=lambda name: signs[name], default="")
    if not first or signs[first] == float("inf"):
        return ""
    return f"First sign: {quantity_words(first)}, {when_words(signs[first])}."


def holding_words(level: float, time: float) -> str:
    """When holding level flight would take more than a column force.

    Args:
        level: N.
        time: s after the start.

    Returns:
        A sentence.
    """
    pull = f"{level / POUND_FORCE:.0f} lb ({level:.0f} N)"
    return f"Column pull to hold level flight exceeds {pull}: {when_words(time)}."


def misfit_words(misfit: float, compared: float) -> str:
    """How far a flown cause lies from the recorded flight.

    Args:
        misfit: Standard deviations, root mean square.
        compared: s.

    Returns:
        Two sentences.
    """
    return (
        f"Misfit {misfit:.1f} standard deviations (root mean square) over the first "
        f"{compared:.0f} s. A small misfit does not make it the cause."
    )
