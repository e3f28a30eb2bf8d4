"""The weighing of a case: flights of every cause, what the track says of them, prior, evidence.

The costly part, flights and networks, hangs on the track alone and is kept; prior weights and
evidence are joined to it anew each time.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.airplane.model import Airplane
from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import GAS_CONSTANT, HEAT_RATIO, LAPSE_RATE, SEA_LEVEL_TEMPERATURE
from neutralpoint.study.facts import facts_of, gated
from neutralpoint.study.moments.work_out import Moments
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.record import program_digest
from neutralpoint.study.weighing.at_once import FEW, look, units_of, weigh_at_once
from neutralpoint.study.weighing.evidence import Held, contributions, flown_until, items_given
from neutralpoint.study.weighing.flights import KeptFlights
from neutralpoint.study.weighing.kept import keep, kept
from neutralpoint.study.weighing.moved import EARLIER, LATER, MovedTrack, loaded, windy
from neutralpoint.study.weighing.nulls import load_nulls
from neutralpoint.study.weighing.prior import Belief, belief_of
from neutralpoint.study.weighing.score import kind_of_data
from neutralpoint.weighing.amortised import OUTSIDE, Standing, track_evidence
from neutralpoint.weighing.check import p_values
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.evidence import Contribution
from neutralpoint.weighing.flights import Flown, Start
from neutralpoint.weighing.odds import UNLISTED, Odds, equal_prior
from neutralpoint.weighing.predictive import Predictive, predict
from neutralpoint.weighing.simulate import (
    BEGIN_MOST,
    BEGIN_SHARE,
    CHUNK,
    flyable,
    simulate,
)
from neutralpoint.weighing.weigh import Weighed, reweigh, weigh
from neutralpoint.weighing.wider import wider_airplane
from neutralpoint.weighing.window import SHORTEST

Tell = Callable[[str, float], None]

LATEST = 0.98  # probability that the fault has begun at the end of its prior; analyst's
LEAST = SHORTEST  # s
FLIGHTS = 1000  # of each cause, where the shipped networks may not be asked
SEEDS = 5  # networks; the band of the odds is over them
ROUNDS, EACH = 6, 30  # of flights of each cause that are drawn closer to the one seen
FLIGHTS_SHARE = 0.7  # of the time of a weighing that the flights take, for the progress


@dataclass(frozen=True)
class Weighing:
    """What the stage found.

    Attributes:
        place: Whether the case lies inside what the shipped networks were learnt on.
        error: Of the data, over that of a track with a fix a second.
        begin: End of the reference, s after the track's epoch.
        observed: The part of the motion that was compared.
        flown: Simulated flights by cause.
        track: What the track alone says, with equal prior weights.
        p_values: How often a flight of each listed cause would speak as clearly against it; empty
            where the shipped networks may not be asked.
        predictive: Flights of each cause given what was seen.
        belief: Before the track.
        evidence: What other items add.
        unused: Why items were left out.
        given: Keys of the list of items that the case has spoken of.
        odds: Of track, prior and evidence together.
        twin: Cause of the nearest flight that the favourite did not make.
        gated: Title of each cause that airplane or facts exclude, and why.
        heard: Whether the case holds words from the radio or a recording.
        moved: The track asked again, with something that is taken as given moved.
        start: The steady flight that all flights start from.
        height_offset: Height above mean sea level less pressure altitude there, m.
    """

    place: Standing
    error: float
    begin: float
    observed: Course
    flown: list[Flown]
    track: Weighed
    p_values: dict[str, float]
    predictive: dict[str, Predictive]
    belief: Belief
    evidence: tuple[Contribution, ...]
    unused: tuple[NeutralPointError, ...]
    given: tuple[str, ...]
    odds: Odds
    twin: str
    gated: tuple[tuple[str, str], ...]
    heard: bool
    moved: tuple[MovedTrack, ...]
    start: Start
    height_offset: float

    @property
    def beside(self) -> Array:
        """ln p(evidence beside the track | cause), shape (C,)."""
        return sum((item.log_likelihood for item in self.evidence), np.zeros(len(self.odds.causes)))

    @property
    def listed(self) -> tuple[str, ...]:
        """Names of the causes that were flown."""
        return self.odds.causes[:-1]

    @property
    def leader(self) -> str:
        """The most probable of the causes that were flown."""
        return next(n for n in (self.odds.causes[i] for i in self.odds.order()) if n != UNLISTED)


def observed_course(motion: KeptMotion, moments: Moments) -> tuple[Course, float]:
    """The part of the motion that is compared.

    Args:
        motion: The motion.
        moments: Gives the last trimmed flight that surely lies before the fault.

    Returns:
        The part, and when it begins, s after the track's epoch.

    Raises:
        NeutralPointError: `track-too-short` where nothing is left after the reference.
    """
    begin, end = moments.compared
    return course_within(motion, begin, end), begin


def course_within(motion: KeptMotion, begin: float, end: float) -> Course:
    """A part of the motion as flights are compared with it.

    Args:
        motion: The motion.
        begin: First time, s after the track's epoch.
        end: Last time.

    Returns:
        The part.

    Raises:
        NeutralPointError: `track-too-short` where hardly anything lies between.
    """
    inside = ~motion.is_fix & (motion.time >= begin) & (motion.time <= end)
    if inside.sum() < 2 or np.ptp(motion.time[inside]) < LEAST:
        raise NeutralPointError(
            "track-too-short",
            f"Less than {LEAST:.0f} s of flight are left after the last trimmed flight.",
            where="track",
            hint="Give an earlier reference or onset in the case file.",
        )
    values = {name: motion.paths[name][:, inside] for name in COLUMNS}
    return Course(motion.time[inside] - motion.time[inside][0], **values)


def start_of(case: Case, motion: KeptMotion, begin: float) -> Start:
    """The steady flight that all flights start from.

    Args:
        case: The case.
        motion: Its motion.
        begin: End of the last trimmed flight, s after the track's epoch.

    Returns:
        The start, with what is not known of it.
    """
    near = ~motion.is_fix & (np.abs(motion.time - begin) <= 2.0)
    mean = {
        name: motion.paths[name][:, near].mean(axis=1)
        for name in ("true_airspeed", "flight_path_angle", "pressure_altitude", "mach")
    }
    altitude = float(np.median(mean["pressure_altitude"]))
    sound = mean["true_airspeed"] / mean["mach"]
    warmth = float(np.median(sound**2)) / (HEAT_RATIO * GAS_CONSTANT)
    return Start(
        speed=mean["true_airspeed"],
        path_angle=mean["flight_path_angle"],
        pressure_altitude=altitude,
        temperature_offset=warmth - (SEA_LEVEL_TEMPERATURE - LAPSE_RATE * altitude),
        flap=case.analysis.flap,
        gear=case.analysis.gear,
    )


def work_out_weighing(
    case: Case,
    motion: KeptMotion,
    moments: Moments,
    fly: KeptFlights,
    *,
    weights: dict[str, float],
    tell: Tell,
) -> Weighing:
    """Weigh the causes of a case.

    Args:
        case: The case; its airplane is known.
        motion: Its motion.
        moments: Gives the reference and the window.
        fly: Flies chunks of flights, or reads those that are kept.
        weights: Prior weights by cause that come before those of the case file.
        tell: Told in words what is being done, and the share that is done.

    Returns:
        What was found.

    Raises:
        NeutralPointError: `track-too-short` where nothing is left after the reference,
            `argument-invalid` for a prior weight of a cause that cannot act on the airplane.
    """
    airplane = moments.airplane.airplane
    observed, begin = observed_course(motion, moments)
    facts = facts_of(case, begin)
    causes = flyable(airplane, facts)
    belief = belief_of(case, weights, facts)
    names = belief.names
    last = float(observed.time[-1])
    rng = np.random.default_rng([case.document.seed, 5])
    start = start_of(case, motion, begin)
    given = look(airplane, start, observed, moments.window)
    full = given.place.verdict == OUTSIDE
    count = (FLIGHTS if full else FEW) * len(causes)
    fly.expected = -(-count // CHUNK) + ROUNDS * full
    flown = simulate(
        airplane,
        wider_airplane(moments.airplane.uncertainty).draw(rng, count),
        start,
        causes,
        rng=rng,
        duration=flown_until(case, begin, last),
        begin_within=(0.0, _latest_begin(moments, begin, last) if full else given.latest),
        units=None if full else units_of(given, causes, rng),
        fly=fly,
    )
    near = _near(observed, flown, moments.window, case.document.seed, fly, full=full)
    tell("Telling the causes apart", FLIGHTS_SHARE)
    if full:
        track = _track(observed, flown, fly, window=moments.window, names=names, rng=rng)
    else:
        track = weigh_at_once(given, observed, flown, window=moments.window, names=names, rng=rng)
    kind = kind_of_data(given.seen.error)
    checked = {} if full else p_values(load_nulls(), names, track.runs, kind)
    held = Held(begin, near, observed, motion)
    evidence, unused = contributions(case, held)
    beside = sum((item.log_likelihood for item in evidence), np.zeros(len(names)))
    odds = reweigh(names, belief.prior, track.runs, beside)
    leader = next(names[i] for i in odds.order() if names[i] != UNLISTED)
    twin = min((n for n in near if n != leader), key=lambda n: near[n].distance)
    return Weighing(
        given.place,
        given.seen.error,
        begin,
        observed,
        flown,
        track,
        checked,
        near,
        belief,
        evidence,
        unused,
        items_given(case),
        odds,
        twin,
        gated(airplane, facts),
        any(event.kind == "voice" for event in case.events),
        () if full else moved_tracks(case, motion, moments, names),
        start,
        float(np.median(observed.altitude[:, 0])) - start.pressure_altitude,
    )


def moved_tracks(
    case: Case, motion: KeptMotion, moments: Moments, names: tuple[str, ...]
) -> tuple[MovedTrack, ...]:
    """Ask the shipped networks again, with what is taken as given moved; nothing is flown.

    Args:
        case: The case.
        motion: Its motion.
        moments: Gives airplane, reference and window.
        names: Of the causes, the unlisted one last.

    Returns:
        One entry a setting.
    """
    begin, end = moments.compared
    window, fitted = moments.window, moments.airplane.airplane

    def asked(airplane: Airplane, first: float, course: Course) -> Array:
        given = look(airplane, start_of(case, motion, first), course, window)
        return track_evidence(given.networks, given.seen, given.told, names)

    observed = course_within(motion, begin, end)
    found = [
        MovedTrack("wind", speed, asked(fitted, begin, course))
        for speed, course in windy(motion, observed, begin, end)
    ]
    found += [
        MovedTrack(name, size, asked(airplane, begin, observed))
        for name, size, airplane in loaded(fitted, moments.airplane.uncertainty)
    ]
    for seconds in (-EARLIER, LATER):
        if begin + seconds > motion.time[0]:
            with suppress(NeutralPointError):  # too little is left after it
                course = course_within(motion, begin + seconds, end)
                found.append(
                    MovedTrack("reference", seconds, asked(fitted, begin + seconds, course))
                )
    return tuple(found)


def _latest_begin(moments: Moments, begin: float, last: float) -> float:
    """Latest begin of a fault, s after the reference: soon, or as late as the onset allows."""
    soon = min(BEGIN_SHARE * last, BEGIN_MOST)
    if not moments.onsets.weight.any():
        return soon
    return float(np.clip(moments.onsets.quantile(LATEST) - begin, soon, last))


def _near(
    observed: Course, flown: list[Flown], window: float, seed: int, fly: KeptFlights, *, full: bool
) -> dict[str, Predictive]:
    """Flights of each cause given what was seen.

    Weights and bands are those of the flights drawn at first: drawing closer soon leaves the
    descendants of a few. What is drawn closer shows where even the nearest flight fails.
    """

    def drawn(rounds: int) -> dict[str, Predictive]:
        rng = np.random.default_rng([seed, 5, 1])
        return predict(flown, observed, window=window, rng=rng, rounds=rounds, each=EACH, fly=fly)

    wide = drawn(0)
    if not full:
        return wide
    names = ("best", "misfit", "distance", "fails_in", "fails_at", "fails_by")
    return {
        cause: replace(wide[cause], **{name: getattr(close, name) for name in names})
        for cause, close in drawn(ROUNDS).items()
    }


def _track(
    observed: Course, flown: list[Flown], fly: KeptFlights, *, window, names, rng
) -> Weighed:
    """What the track alone says, read where it is kept."""
    digest = hashlib.sha256(program_digest().encode())
    digest.update(repr((sorted(fly.used), window, names, SEEDS)).encode())
    digest.update(np.ascontiguousarray(observed.time).tobytes())
    for name in COLUMNS:
        digest.update(np.ascontiguousarray(getattr(observed, name)).tobytes())
    results = fly.folder.parent
    found = kept(results, digest.hexdigest())
    if found is None:
        found = weigh(
            observed,
            flown,
            window=window,
            prior=equal_prior(names),
            rng=rng,
            seeds=SEEDS,
        )
        keep(found, results, digest.hexdigest())
    return found
