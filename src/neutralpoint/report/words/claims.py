"""What stands against a claim, in sentences."""

from __future__ import annotations

from pydantic import Field

from neutralpoint.findings import CheckedClaim, Doubt
from neutralpoint.vocabulary import QUANTITIES, CauseName

OBJECTIONS = {
    "source-unknown": "{about} is no file of the case or its results.",
    "results-changed": "{about} has changed since the claim was agreed: check the claim again.",
    "likelihood-of-fact": "A fact was received or recorded; it has no likelihood.",
    "likelihood-missing": "A derived or inferred claim needs a likelihood.",
    "confidence-missing": "Confidence needs both evidence and agreement.",
    "quantity-unknown": "The flight path holds no {about} at that time.",
    "not-observable": "{About} is not observable at that time: state no value.",
    "outside-band": "The value stated lies outside the 90% band of the findings.",
    "likelihood-too-high": "The findings support {found:.2f} for that interval, not {stated:.2f}.",
    "cause-unknown": "The findings hold nothing on the cause {about}.",
    "verdict-against": "The verdict is \u201ccannot\u201d; {stated:.2f} claims more.",
    "cause-without-odds": "The findings hold no odds for this cause: state whether it is possible, "
    "not how likely it is.",
    "outside-odds": "The odds of this cause are {found:.2f} ({lowest:.2f} to {highest:.2f} over "
    "the networks).",
    "contradicts": "It contradicts the claim \u201c{about}\u201d.",
    "wording": "\u201c{about}\u201d: {why}",
}


class WordedObjection(Doubt):
    """An objection with its sentence."""

    sentence: str


class WordedClaim(CheckedClaim):
    """A checked claim whose objections can be read."""

    doubts: list[WordedObjection] = Field(default=[])  # pyright: ignore[reportIncompatibleVariableOverride]


def worded_claim(checked: CheckedClaim) -> WordedClaim:
    """A checked claim with its objections in sentences.

    Args:
        checked: As the findings judge it.

    Returns:
        The same to be read.
    """
    doubts = [
        WordedObjection(**one.model_dump(), sentence=objection(one)) for one in checked.doubts
    ]
    held = {name: getattr(checked, name) for name in CheckedClaim.model_fields if name != "doubts"}
    return WordedClaim(**held, doubts=doubts)


def objection(doubt: Doubt) -> str:
    """What stands against a claim.

    Args:
        doubt: Its kind and numbers.

    Returns:
        A sentence.
    """
    about = _spoken(doubt.about)
    numbers = doubt.model_dump(exclude={"about"})
    return OBJECTIONS[doubt.code].format(
        about=about, About=about[:1].upper() + about[1:], **numbers
    )


def _spoken(about: str) -> str:
    if about in QUANTITIES:
        title = QUANTITIES[about].title
        return title[:1].lower() + title[1:]
    return CauseName(about).spoken if about in set(CauseName) else about
