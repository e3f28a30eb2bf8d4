"""What recordings say of the causes: propellers, a trim heard to move, the pitch of a voice."""

from __future__ import annotations

from collections.abc import Callable

from neutralpoint.numerics.arrays import Array
from neutralpoint.study.heard.work_out import Telling
from neutralpoint.weighing.evidence import (
    VOICE_CAP,
    Contribution,
    seen_in_part,
    strain_in_part,
)
from neutralpoint.weighing.items import find_item

AUDIO_LINE, SOUND = "audio-line", "sound"
# Probability that a line that was followed is of another machine. Analyst's estimate.
LINE_MISLEADS = 0.15
# Probability that a tone of that frequency is another's, or masked. Analyst's estimate.
TONE_MISLEADS = 0.15
# Probability that the pitch of a voice says nothing of effort. Analyst's estimate.
PITCH_MISLEADS = 0.5
EFFORT_WITHIN = 5.0  # s about the later calls in which a force counts; analyst's
BY_ITEM = "P(outcome | cause) as the list of items has it"

Forces = Callable[[float, float], list[Array] | None]


def given_by_sound(heard: Telling) -> list[str]:
    """Keys of the items that recordings have spoken of."""
    return [AUDIO_LINE] * bool(heard.lines) + [SOUND] * bool(heard.trim or heard.efforts)


def recorded(
    heard: Telling, causes: list[str], weights: list[Array], forces: Forces
) -> list[Contribution]:
    """What recordings add to the odds.

    Args:
        heard: What they say.
        causes: Listed causes.
        weights: How well each flight follows the track, by cause.
        forces: Largest column force by cause about a time; None where no flight reaches it.

    Returns:
        One entry a recording and item.
    """
    names = tuple(causes)
    found = [_line(name, changed, names) for name, changed in heard.lines]
    found += [_trim(name, moved, names) for name, moved in heard.trim]
    for one in heard.efforts:
        there = forces(one.time, EFFORT_WITHIN)
        if there is not None:
            found.append(_effort(one.speaker, one.raised, there, weights))
    return found


def _line(name: str, changed: float, causes: tuple[str, ...]) -> Contribution:
    item = find_item(AUDIO_LINE)
    return Contribution(
        f"recording: blade rate in {name}",
        seen_in_part(item, causes, (1.0 - changed, changed, 0.0), LINE_MISLEADS),
        LINE_MISLEADS,
        item.caution,
        f"blade rate followed in the recording; {BY_ITEM}",
    )


def _trim(name: str, moved: float, causes: tuple[str, ...]) -> Contribution:
    chance = (1.0 - moved, moved, 1.0 - moved)
    return Contribution(
        f"recording: tone of the trim in {name}",
        seen_in_part(find_item(SOUND), causes, chance, TONE_MISLEADS),
        TONE_MISLEADS,
        "A tone of that frequency may be another's; one not heard may have been masked.",
        f"tone of the airplane file in the recording; {BY_ITEM}",
    )


def _effort(speaker: str, raised: float, forces: list[Array], weights: list[Array]) -> Contribution:
    return Contribution(
        f"recording: pitch of {speaker}",
        strain_in_part(forces, weights, raised=raised, doubt=PITCH_MISLEADS),
        PITCH_MISLEADS,
        "Weak: a voice is raised for many reasons. It says nothing of who spoke, of emotion or of "
        f"intent, and moves the odds between two causes by a factor of {VOICE_CAP:g} at most.",
        "pitch of the speaker's calls after the onset against those before",
    )
