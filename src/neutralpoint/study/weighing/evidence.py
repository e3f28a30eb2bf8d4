"""Evidence of the case other than the track, held against the simulated flights."""

from __future__ import annotations

import numpy as np

from neutralpoint.case import Case, track_seconds
from neutralpoint.case.evidence_entries import (
    FindingEntry,
    ImpactEntry,
    TreeCutsEntry,
    TrimPositionEntry,
    VoiceEntry,
    WordsEntry,
)
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import HistoryFindings
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.felt.causes import LeftOf, left_of
from neutralpoint.study.heard.work_out import NOTHING_HEARD, Telling
from neutralpoint.study.weighing.earlier import earlier_contribution, given_by, stated
from neutralpoint.study.weighing.held import HORIZON, Held
from neutralpoint.study.weighing.marks import impact, tree_cuts
from neutralpoint.study.weighing.recorded import given_by_sound, recorded
from neutralpoint.vocabulary.light import HorizonSeen
from neutralpoint.weighing.evidence import (
    VOICE_CAP,
    Contribution,
    from_flights,
    from_table,
    parts_likelihood,
    stated_likelihood,
    strain_likelihood,
)
from neutralpoint.weighing.items import ACTUATOR, PARTS, find_item

SEPARATION = "separation"  # leaves the actuator where it was
# Probability that parts lie where they do for another reason: moved, or another airplane's.
# Analyst's estimate.
PLACES_MISLEAD = 0.1
# Probability that what two models perceive says nothing of the person who flew: instruments were
# looked at or not, tilts scatter between pilots by half of their mean (J. Vestibular Research 2022,
# doi 10.3233/VES-220016), and models agree on an illusion but not on its size (Groen et al., Safety
# 8 (2022) 85). Analyst's estimate.
PERCEPTION_MISLEADS = 0.4
LEAST_SHARE = 0.005  # of flights, below which so few cannot tell; analyst's
# Probability that light or clouds along the path were not those of report and sun: a surface report
# is of another place. Analyst's estimate.
SKY_MISLEADS = 0.3
PERCEPTION = "perception: two models of the vestibular organs"
MARKS = "A position as found is not one in flight until marks agree."


def items_given(
    case: Case,
    earlier: HistoryFindings | None = None,
    horizon: HorizonSeen = HorizonSeen.UNKNOWN,
    heard: Telling = NOTHING_HEARD,
) -> tuple[str, ...]:
    """Keys of the list of items that the case has spoken of.

    Args:
        case: The case.
        earlier: Of earlier flights; None where they were not looked at.
        horizon: Of `horizon_then`.
        heard: What recordings say.

    Returns:
        One entry a finding; the actuator where a trim position is given.
    """
    keys = list(given_by(earlier))
    if case.document.facts.sky is not None or horizon is not HorizonSeen.UNKNOWN:
        keys.append(HORIZON)
    keys += given_by_sound(heard)
    keys += [PARTS] if case.document.debris else []
    for entry in case.document.evidence:
        if isinstance(entry, FindingEntry):
            keys.append(entry.item)
        elif isinstance(entry, TrimPositionEntry):
            keys.append(ACTUATOR)
    return tuple(keys)


def contributions(
    held: Held, earlier: HistoryFindings | None = None
) -> tuple[tuple[Contribution, ...], tuple[NeutralPointError, ...]]:
    """What each item of evidence of the case adds.

    Args:
        held: What it is held against.
        earlier: Of earlier flights; None where they were not looked at.

    Returns:
        One entry an item that could be used, and why others could not.
    """
    case = held.case
    found, unused = [], []
    if held.in_flight is not None and not _says(case, PARTS):
        found.append(_parts(held.in_flight, held))
    found += recorded(held.heard, list(held.causes), held.weights, held.forces)
    found += _perception(held)
    found += [] if held.horizon is HorizonSeen.UNKNOWN else [_horizon(held)]
    for number, entry in enumerate(case.document.evidence, start=1):
        where = f"case.toml: evidence[{number}]"
        try:
            found.append(_of(entry, held, where))
        except NeutralPointError as error:
            unused.append(error)
    if earlier is not None and not stated(case):
        more = earlier_contribution(earlier.evidence, held.causes, earlier.tracks)
        found += [more] if more is not None else []
    return tuple(found), tuple(unused)


def _says(case: Case, item: str) -> bool:
    """Whether the case itself says what an item shows: then that counts, and once."""
    given = case.document.evidence
    return any(isinstance(entry, FindingEntry) and entry.item == item for entry in given)


def _of(entry, held: Held, where: str) -> Contribution:
    if isinstance(entry, ImpactEntry):
        return impact(entry, held, where)
    if isinstance(entry, TreeCutsEntry):
        return tree_cuts(entry, held, where)
    if isinstance(entry, VoiceEntry):
        return _voice(entry, held, where)
    if isinstance(entry, TrimPositionEntry):
        return _trim(entry, held, where)
    if isinstance(entry, WordsEntry):
        return _words(entry, held)
    return _finding(entry, held)


def _parts(in_flight: float, held: Held) -> Contribution:
    return Contribution(
        "debris: places of the parts",
        parts_likelihood(held.causes, in_flight, PLACES_MISLEAD),
        PLACES_MISLEAD,
        "Parts that came off in flight do not say what broke first, nor why.",
        "places and drag of the parts, by the wind of the case",
    )


def _perception(held: Held) -> list[Contribution]:
    """What the observers leave of the causes that take an illusion as given."""
    left = left_of(held.near, np.random.default_rng([held.case.document.seed, 22]))
    if not left:
        return []
    given = {str(one.cause): max(one.share, LEAST_SHARE) for one in left}
    return [
        Contribution(
            PERCEPTION,
            stated_likelihood(held.causes, given, PERCEPTION_MISLEADS),
            PERCEPTION_MISLEADS,
            "It can only take from these causes, which are flown as if the illusion were whole. "
            "Nobody knows what anyone looked at or felt.",
            f"flights of the causes: {'; '.join(map(_left_said, left))}",
        )
    ]


def _left_said(left: LeftOf) -> str:
    low, high = sorted(left.models)
    return f"{left.cause.spoken} supplied on {100 * low:.0f} to {100 * high:.0f}% by the two models"


def _horizon(held: Held) -> Contribution:
    item = find_item(HORIZON)
    return Contribution(
        f"{item.name}: {held.horizon}",
        from_table(item, held.causes, str(held.horizon), SKY_MISLEADS),
        SKY_MISLEADS,
        item.caution,
        "height of sun and moon, clouds and visibility of the surface report",
    )


def _voice(entry: VoiceEntry, held: Held, where: str) -> Contribution:
    after = held.after(track_seconds(entry.time, held.case.track), where)
    first, last = (held.record(after + sign * entry.error.value) for sign in (-1.0, 1.0))
    forces = [np.abs(f.column_force[:, first : last + 1]).max(axis=1) for f in held.flown]
    return Contribution(
        "voice: strain noted" if entry.strain else "voice: no strain noted",
        strain_likelihood(forces, held.weights, noted=entry.strain),
        0.0,
        "Weak: strain says that force was used, not by whom nor against what. Whatever it says, "
        f"it moves the odds between two causes by a factor of {VOICE_CAP:g} at most.",
        entry.source,
    )


def _words(entry: WordsEntry, held: Held) -> Contribution:
    return Contribution(
        f"words: {entry.words!r}",
        stated_likelihood(held.causes, {entry.cause: entry.likelihood}, entry.doubt),
        entry.doubt,
        "Words name what was felt, not what was wrong; the likelihood is the analyst's estimate.",
        entry.source,
    )


def trim_ends(held: Held) -> list[Array]:
    """Where each flight leaves the trim drive, rad, by cause.

    Args:
        held: Gives the flights.

    Returns:
        One array a cause. A surface that came off its drive leaves the drive where it was.
    """
    return [f.trim[:, 0 if f.cause == SEPARATION else -1] for f in held.flown]


def _trim(entry: TrimPositionEntry, held: Held, where: str) -> Contribution:
    drive = held.case.described.airplane.trim_drive
    if drive.kind == "none":
        raise NeutralPointError(
            "argument-invalid",
            "The airplane has no pitch trim; the item is left out.",
            where=where,
            hint="Leave the trim position out, or describe the trim drive.",
        )
    low, high = float(drive.travel_min), float(drive.travel_max)
    if not low - entry.angle.sigma <= entry.angle.value <= high + entry.angle.sigma:
        raise NeutralPointError(
            "argument-invalid",
            f"The trim was found at {np.degrees(entry.angle.value):.1f} deg, beyond its travel of "
            f"{np.degrees(low):.1f} to {np.degrees(high):.1f} deg; the item is left out.",
            where=where,
            hint="Count it as the airplane file does.",
        )
    return Contribution(
        f"{drive.kind} as found",
        from_flights(
            [ends[:, None] for ends in trim_ends(held)],
            held.weights,
            np.array([entry.angle.value]),
            np.array([entry.angle.sigma]),
            entry.share_moved,
        ),
        entry.share_moved,
        MARKS,
        entry.source,
    )


def _finding(entry: FindingEntry, held: Held) -> Contribution:
    item = find_item(entry.item)
    return Contribution(
        f"{item.name}: {entry.found}",
        from_table(item, held.causes, entry.found, entry.doubt),
        entry.doubt,
        item.caution,
        entry.source,
    )
