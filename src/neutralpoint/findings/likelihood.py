"""The one scale of words: likelihood with its number, confidence apart from it.

Source: Mastrandrea et al., Guidance Note for Lead Authors of the IPCC Fifth Assessment Report on
Consistent Treatment of Uncertainties (2010), table 1 and its footnote (likelihood), figure 1
(confidence from evidence and agreement).
"""

from __future__ import annotations

from typing import Literal

Evidence = Literal["limited", "medium", "robust"]
Agreement = Literal["low", "medium", "high"]

# Word, lower and upper end of the probability; narrow ones first, so that the first that holds a
# number says most. "More likely than not" reaches to 1 in the note; "likely" comes before it.
LIKELIHOOD: tuple[tuple[str, float, float], ...] = (
    ("virtually certain", 0.99, 1.0),
    ("exceptionally unlikely", 0.0, 0.01),
    ("extremely likely", 0.95, 1.0),
    ("extremely unlikely", 0.0, 0.05),
    ("very likely", 0.90, 1.0),
    ("very unlikely", 0.0, 0.10),
    ("likely", 0.66, 1.0),
    ("unlikely", 0.0, 0.33),
    ("about as likely as not", 0.33, 0.66),
    ("more likely than not", 0.50, 1.0),
)
# The note leaves the way from evidence and agreement to a level open ("the relationship is
# flexible"). Ours counts steps from the lower left to the upper right of its figure 1.
EVIDENCE: tuple[Evidence, ...] = ("limited", "medium", "robust")
AGREEMENT: tuple[Agreement, ...] = ("low", "medium", "high")
CONFIDENCE = ("very low", "low", "medium", "high", "very high")


def likelihood_word(probability: float) -> str:
    """The narrowest published word for a probability.

    Args:
        probability: 0 to 1.

    Returns:
        The word.
    """
    return next(word for word, low, high in LIKELIHOOD if low <= probability <= high)


def said_likelihood(probability: float) -> str:
    """Word and number together, such as `very likely (0.93)`."""
    return f"{likelihood_word(probability)} ({printed_probability(probability)})"


def printed_probability(probability: float) -> str:
    """A probability in two digits that never reads as certainty."""
    if probability > 0.99:
        return "more than 0.99"
    if probability < 0.01:
        return "less than 0.01"
    return f"{probability:.2f}"


def word_allows(word: str, probability: float) -> bool:
    """Whether a published word may stand for a probability.

    Args:
        word: One of `LIKELIHOOD`.
        probability: 0 to 1.

    Returns:
        True where the word's range holds it.
    """
    return any(w == word and low <= probability <= high for w, low, high in LIKELIHOOD)


def confidence_word(evidence: Evidence, agreement: Agreement) -> str:
    """Level of confidence, which says how well founded a claim is, not how probable.

    Args:
        evidence: How much and how good.
        agreement: Of the lines of evidence with one another.

    Returns:
        One of `CONFIDENCE`.
    """
    return CONFIDENCE[EVIDENCE.index(evidence) + AGREEMENT.index(agreement)]
