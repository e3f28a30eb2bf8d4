"""Evidence of the case other than the track, held against the simulated flights."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from neutralpoint.case import Case, track_seconds
from neutralpoint.case.evidence_entries import (
    IMPACT,
    FindingEntry,
    ImpactEntry,
    TreeCutsEntry,
    TrimPositionEntry,
    VoiceEntry,
    WordsEntry,
)
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import HistoryFindings
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.quantities import EARTH_RADIUS
from neutralpoint.study.felt.causes import LeftOf, left_of
from neutralpoint.study.felt.light import outlook_at
from neutralpoint.study.heard.work_out import NOTHING_HEARD, Telling
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.weighing.earlier import earlier_contribution, given_by, stated
from neutralpoint.study.weighing.endings import continued
from neutralpoint.study.weighing.recorded import given_by_sound, recorded
from neutralpoint.study.wreckage.work_out import without_debris
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.light import HorizonSeen
from neutralpoint.vocabulary.limit import ULTIMATE
from neutralpoint.weighing.course import Course
from neutralpoint.weighing.evidence import (
    VOICE_CAP,
    Contribution,
    drift_after,
    from_flights,
    from_table,
    parts_likelihood,
    stated_likelihood,
    strain_likelihood,
)
from neutralpoint.weighing.flights import Flown
from neutralpoint.weighing.items import ACTUATOR, find_item
from neutralpoint.weighing.predictive import Predictive

FURTHEST = 20.0  # s after the part that is compared; later a pilot's hands decide. Analyst's.
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
HORIZON = "horizon"
PERCEPTION = "perception: two models of the vestibular organs"
MARKS = "A position as found is not one in flight until marks agree."


@dataclass(frozen=True)
class Held:
    """What the evidence is held against.

    Attributes:
        begin: End of the reference, s after the track's epoch.
        near: Flights of each cause given what was seen.
        observed: The part of the motion that is compared.
        motion: The whole motion.
        in_flight: ln Bayes factor of parts that came off in flight; None where none were found.
        heard: What recordings say of the causes.
        horizon: Whether a natural horizon was in sight, where the case does not state it.
    """

    begin: float
    near: dict[str, Predictive]
    observed: Course
    motion: KeptMotion
    in_flight: float | None = None
    heard: Telling = NOTHING_HEARD
    horizon: HorizonSeen = HorizonSeen.UNKNOWN

    @property
    def flown(self) -> list[Flown]:
        """Flights by cause."""
        return [near.flown for near in self.near.values()]

    def forces(self, time: float, within: float) -> list[Array] | None:
        """Largest column force about a time by cause, N; None where no flight reaches it."""
        after = time - self.begin
        if not -1.0 <= after <= float(self.flown[0].course.time[-1]) + 0.5:
            return None
        first, last = (self.record(after + sign * within) for sign in (-1.0, 1.0))
        return [np.abs(f.column_force[:, first : last + 1]).max(axis=1) for f in self.flown]

    @property
    def weights(self) -> list[Array]:
        """How well each flight follows the track, by cause, each sums to 1."""
        return [near.weight for near in self.near.values()]

    @property
    def last(self) -> float:
        """End of what is compared, s after the reference."""
        return float(self.observed.time[-1])

    def record(self, time: float) -> int:
        """Record of the flights at a time after the reference."""
        axis = self.flown[0].course.time
        return int(np.clip(round((time - axis[0]) / (axis[1] - axis[0])), 0, axis.size - 1))


def flown_until(case: Case, begin: float, last: float) -> float:
    """How long flights must be flown for the evidence to be held against them.

    Args:
        case: The case.
        begin: End of the reference, s after the track's epoch.
        last: End of what is compared, s after the reference.

    Returns:
        s after the reference.
    """
    times = [
        track_seconds(entry.time, case.track) - begin
        for entry in case.document.evidence
        if isinstance(entry, ImpactEntry | VoiceEntry) and entry.time is not None
    ]
    wanted = [time for time in times if time <= last + FURTHEST]
    if not without_debris(case):
        wanted.append(last + FURTHEST)
    return max([last, *wanted])


def horizon_then(case: Case, motion: KeptMotion, time: float) -> HorizonSeen:
    """Whether a natural horizon was in sight, as far as sun, moon and reports bear it.

    Args:
        case: The case.
        motion: Its motion.
        time: s after the epoch.

    Returns:
        Cannot be said where the case itself speaks of it: then that counts, and once.
    """
    stated_item = any(
        isinstance(entry, FindingEntry) and entry.item == HORIZON
        for entry in case.document.evidence
    )
    if stated_item or case.document.facts.sky is not None:
        return HorizonSeen.UNKNOWN
    return outlook_at(case, motion, time).seen


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
    for entry in case.document.evidence:
        if isinstance(entry, FindingEntry):
            keys.append(entry.item)
        elif isinstance(entry, TrimPositionEntry):
            keys.append(ACTUATOR)
    return tuple(keys)


def contributions(
    case: Case, held: Held, earlier: HistoryFindings | None = None
) -> tuple[tuple[Contribution, ...], tuple[NeutralPointError, ...]]:
    """What each item of evidence of the case adds.

    Args:
        case: The case.
        held: What it is held against.
        earlier: Of earlier flights; None where they were not looked at.

    Returns:
        One entry an item that could be used, and why others could not.
    """
    found, unused = [], []
    if held.in_flight is not None:
        found.append(_parts(held.in_flight, held))
    found += recorded(held.heard, [flown.cause for flown in held.flown], held.weights, held.forces)
    found += _perception(case, held)
    found += [] if held.horizon is HorizonSeen.UNKNOWN else [_horizon(held)]
    for number, entry in enumerate(case.document.evidence, start=1):
        where = f"case.toml: evidence[{number}]"
        try:
            found.append(_of(entry, case, held, where))
        except NeutralPointError as error:
            unused.append(error)
    if earlier is not None and not stated(case):
        causes = tuple(flown.cause for flown in held.flown)
        more = earlier_contribution(earlier.evidence, causes, earlier.tracks)
        found += [more] if more is not None else []
    return tuple(found), tuple(unused)


def _of(entry, case: Case, held: Held, where: str) -> Contribution:
    if isinstance(entry, ImpactEntry):
        return _impact(entry, case, held, where)
    if isinstance(entry, TreeCutsEntry):
        return _tree_cuts(entry, case, held, where)
    if isinstance(entry, VoiceEntry):
        return _voice(entry, case, held, where)
    if isinstance(entry, TrimPositionEntry):
        return _trim(entry, case, held, where)
    if isinstance(entry, WordsEntry):
        return _words(entry, held)
    return _finding(entry, held)


def _parts(in_flight: float, held: Held) -> Contribution:
    causes = tuple(flown.cause for flown in held.flown)
    return Contribution(
        "debris: places of the parts",
        parts_likelihood(causes, in_flight, PLACES_MISLEAD),
        PLACES_MISLEAD,
        "Parts that came off in flight do not say what broke first, nor why.",
        "places and drag of the parts, by the wind of the case",
    )


def _perception(case: Case, held: Held) -> list[Contribution]:
    """What the observers leave of the causes that take an illusion as given."""
    left = left_of(held.near, np.random.default_rng([case.document.seed, 22]))
    if not left:
        return []
    causes = tuple(flown.cause for flown in held.flown)
    given = {str(one.cause): max(one.share, LEAST_SHARE) for one in left}
    return [
        Contribution(
            PERCEPTION,
            stated_likelihood(causes, given, PERCEPTION_MISLEADS),
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
    causes = tuple(flown.cause for flown in held.flown)
    item = find_item(HORIZON)
    return Contribution(
        f"{item.name}: {held.horizon}",
        from_table(item, causes, str(held.horizon), SKY_MISLEADS),
        SKY_MISLEADS,
        item.caution,
        "height of sun and moon, clouds and visibility of the surface report",
    )


def _after(time: float, held: Held, where: str) -> float:
    """A time after the reference that the flights reach."""
    after, reach = time - held.begin, float(held.flown[0].course.time[-1])
    if not -1.0 <= after <= reach + 0.5:
        raise NeutralPointError(
            "argument-invalid",
            f"The item lies {after:.0f} s after the last trimmed flight, where no flight is "
            "simulated; it is left out.",
            where=where,
            hint=f"Items from 0 to {held.last + FURTHEST:.0f} s can be used.",
        )
    return after


def _impact(entry: ImpactEntry, case: Case, held: Held, where: str) -> Contribution:
    if entry.time is None:
        after = held.last
    else:
        after = _after(track_seconds(entry.time, case.track), held, where)
    at = held.record(after)
    columns = {
        "pitch": [f.pitch[:, at] for f in held.flown],
        "bank": [f.course.bank_angle[:, at] for f in held.flown],
        "path_angle": [f.course.flight_path_angle[:, at] for f in held.flown],
        "speed": [f.course.true_airspeed[:, at] for f in held.flown],
        "altitude": [f.course.altitude[:, at] for f in held.flown],
    }
    names = [key for key in IMPACT if getattr(entry, key) is not None]
    found = [getattr(entry, key).value for key in names]
    sigma = [getattr(entry, key).sigma for key in names]
    if entry.bank is not None:  # on the turn that is nearest to what was found
        wanted = entry.bank.value
        columns["bank"] = [b + 2 * np.pi * np.round((wanted - b) / (2 * np.pi)) for b in
                           columns["bank"]]  # fmt: skip
    shown = [np.stack([columns[key][c] for key in names], axis=1) if names
             else np.zeros((len(f.unit), 0)) for c, f in enumerate(held.flown)]  # fmt: skip
    if entry.place_error is not None:
        places, spread = _places(held, at)
        there = _from_last(entry, held)
        found, sigma = [*found, *there], [*sigma, *np.hypot(entry.place_error.value / 2.0, spread)]
        shown = [np.concatenate([s, p], axis=1) for s, p in zip(shown, places, strict=True)]
        names = [*names, "place"]
    return Contribution(
        f"impact: {', '.join(names).replace('_', ' ')}",
        from_flights(
            shown,
            held.weights,
            np.array(found),
            np.array(sigma),
            entry.doubt,
            broken=[_broken(flown, at) for flown in held.flown],
        ),
        entry.doubt,
        "Attitude from marks is that of the last instant, after any break-up.",
        entry.source,
    )


def _tree_cuts(entry: TreeCutsEntry, case: Case, held: Held, where: str) -> Contribution:
    """The path angle that cuts show, against the paths continued to the ground."""
    if reason := without_debris(case):
        raise NeutralPointError(
            "argument-invalid",
            "The paths cannot be continued to the ground; the item is left out.",
            where=where,
            hint=reason,
        )
    angle, sigma = entry.path_angle
    names = [flown.cause for flown in held.flown]
    endings = continued(case, held.motion, held.begin, held.near, names)
    shown = [endings[name].path_angle[:, None] for name in names]
    even = [np.full(len(values), 1.0 / len(values)) for values in shown]
    up = [~endings[name].reached for name in names]  # these say nothing of the ground
    return Contribution(
        "impact: cuts in trees",
        from_flights(shown, even, np.array([angle]), np.array([sigma]), entry.doubt, broken=up),
        entry.doubt,
        "Cuts show the path of the last instant, after any break-up.",
        entry.source,
    )


def _broken(flown: Flown, at: int) -> Flags:
    """Flights that have passed ultimate load before a record, shape (n,).

    Those of a structural failure break by their own cause and go on being flown.
    """
    load = flown.course.normal_load_factor[:, : at + 1]
    if flown.cause == CauseName.STRUCTURAL_FAILURE:
        return np.zeros(len(load), bool)
    limits = flown.plan.airplane.limits
    high, low = (ULTIMATE * float(x) for x in (limits.load_factor_max, limits.load_factor_min))
    return np.any((load > high) | (load < low), axis=1)


def _last_moment(held: Held) -> int:
    """Index of the end of what is compared, in the whole motion."""
    time = held.motion.time
    return int(np.argmin(np.abs(time - (held.begin + held.last))))


def _from_last(entry: ImpactEntry, held: Held) -> Array:
    """Place of the entry, m north and east of the last place that is compared."""
    at, paths = _last_moment(held), held.motion.paths
    latitude = float(np.median(paths["latitude"][:, at]))
    longitude = float(np.median(paths["longitude"][:, at]))
    if entry.latitude is None or entry.longitude is None:  # the file's own check refuses half
        raise ValueError("an entry with the error of a place has no place")
    east = (entry.longitude.value - longitude + np.pi) % (2 * np.pi) - np.pi
    return EARTH_RADIUS * np.array([entry.latitude.value - latitude, east * np.cos(latitude)])


def _places(held: Held, at: int) -> tuple[list[Array], Array]:
    """Where each flight is then, m from the last place that is compared, and how well that lies."""
    moment, paths = _last_moment(held), held.motion.paths
    last = held.record(held.last)
    axis = held.flown[0].course.time
    span = float(axis[at] - axis[last])
    north, east = (float(np.median(paths[n][:, moment])) for n in ("wind_north", "wind_east"))
    drift = (span * north, span * east)
    heading = float(np.angle(np.exp(1j * paths["heading_of_air_velocity"][:, moment]).mean()))
    places = [
        drift_after(f.north, f.east, last=last, then=at, heading=heading, drift=drift)
        for f in held.flown
    ]
    spread = EARTH_RADIUS * np.array(
        [
            paths["latitude"][:, moment].std(),
            paths["longitude"][:, moment].std() * np.cos(paths["latitude"][0, moment]),
        ]
    )
    return places, spread


def _voice(entry: VoiceEntry, case: Case, held: Held, where: str) -> Contribution:
    after = _after(track_seconds(entry.time, case.track), held, where)
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
    causes = tuple(flown.cause for flown in held.flown)
    return Contribution(
        f"words: {entry.words!r}",
        stated_likelihood(causes, {entry.cause: entry.likelihood}, entry.doubt),
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


def _trim(entry: TrimPositionEntry, case: Case, held: Held, where: str) -> Contribution:
    drive = case.described.airplane.trim_drive
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
    causes = tuple(flown.cause for flown in held.flown)
    return Contribution(
        f"{item.name}: {entry.found}",
        from_table(item, causes, entry.found, entry.doubt),
        entry.doubt,
        item.caution,
        entry.source,
    )
