"""The weighing of a case: flights of every cause, what the track says of them, prior, evidence.

The costly part, flights and networks, hangs on the track alone and is kept; prior weights and
evidence are joined to it anew each time.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from neutralpoint.case import Case
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import HistoryFindings
from neutralpoint.moments import Window
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.facts import facts_of, gated
from neutralpoint.study.heard.work_out import NOTHING_HEARD, Telling
from neutralpoint.study.moments.looked_at import LookedAt
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.record import program_digest
from neutralpoint.study.weighing.at_once import FEW, look, units_of, weigh_at_once
from neutralpoint.study.weighing.evidence import contributions, items_given
from neutralpoint.study.weighing.flights import KeptFlights
from neutralpoint.study.weighing.held import Held, flown_until, horizon_then
from neutralpoint.study.weighing.kept import keep, kept
from neutralpoint.study.weighing.moved import MovedTrack, moved_tracks
from neutralpoint.study.weighing.nulls import load_nulls
from neutralpoint.study.weighing.prior import Belief, belief_of
from neutralpoint.study.weighing.score import kind_of_data
from neutralpoint.study.weighing.windows import (
    Inquiry,
    WindowAsked,
    mean_over,
    mixed,
    observed_course,
    over_windows,
    start_of,
)
from neutralpoint.weighing.amortised import OUTSIDE, Standing
from neutralpoint.weighing.check import p_listed, p_values
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

Tell = Callable[[str, float], None]

LATEST = 0.98  # probability that the fault has begun at the end of its prior; analyst's
FLIGHTS = 1000  # of each cause, where the shipped networks may not be asked
SEEDS = 5  # networks; the band of the odds is over them
ROUNDS, EACH = 6, 30  # of flights of each cause that are drawn closer to the one seen
FLIGHTS_SHARE = 0.7  # of the time of a weighing that the flights take, for the progress


@dataclass(frozen=True)
class Weighing:
    """What the stage found.

    Attributes:
        place: Whether the case lies inside what the shipped networks were learned on.
        error: Of the data, over that of a track with a fix a second.
        begin: End of the reference that flights are flown from, s after the track's epoch: the
            latest that surely lies before the fault.
        observed: The part of the motion that they are compared with.
        windows: What the track says counted from each reference; one where causes were flown anew.
        flown: Simulated flights by cause.
        track: What the track alone says, with equal prior weights.
        p_values: How often a flight of each listed cause would speak as clearly against it; empty
            where the shipped networks may not be asked.
        p_listed: How often a flight of a listed cause would leave the unlisted one as large a share
            as this track does; None where the shipped networks may not be asked.
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
    windows: tuple[WindowAsked, ...]
    flown: list[Flown]
    track: Weighed
    p_values: dict[str, float]
    p_listed: float | None
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


def work_out_weighing(
    case: Case,
    motion: KeptMotion,
    looked_at: LookedAt,
    fly: KeptFlights,
    *,
    weights: dict[str, float],
    tell: Tell,
    earlier: HistoryFindings | None = None,
    in_flight: float | None = None,
    heard: Telling = NOTHING_HEARD,
) -> Weighing:
    """Weigh the causes of a case.

    Args:
        case: The case; its airplane is known.
        motion: Its motion.
        looked_at: Gives the reference and the window.
        fly: Flies chunks of flights, or reads those that are kept.
        weights: Prior weights by cause that come before those of the case file.
        tell: Told in words what is being done, and the share that is done.
        earlier: Of earlier flights; None where they were not looked at.
        in_flight: ln Bayes factor of parts that came off in flight; None where none were found.
        heard: What recordings say of the causes.

    Returns:
        What was found.

    Raises:
        NeutralPointError: `track-too-short` where nothing is left after the reference,
            `argument-invalid` for a prior weight of a cause that cannot act on the airplane.
    """
    airplane = looked_at.airplane.airplane
    observed, begin = observed_course(motion, looked_at)
    facts = facts_of(case, begin)
    causes = flyable(airplane, facts)
    belief = belief_of(case, weights, facts)
    names = belief.names
    last = float(observed.time[-1])
    rng = np.random.default_rng([case.document.seed, 5])
    start = start_of(case, motion, begin)
    given = look(airplane, start, observed, looked_at.window)
    inquiry = Inquiry(case, motion, looked_at.window, names)
    full = given.place.verdict == OUTSIDE
    count = (FLIGHTS if full else FEW) * len(causes)
    fly.expected = -(-count // CHUNK) + ROUNDS * full
    flown = simulate(
        airplane,
        wider_airplane(looked_at.airplane.uncertainty).draw(rng, count),
        start,
        causes,
        rng=rng,
        duration=flown_until(case, begin, last),
        begin_within=(0.0, _latest_begin(looked_at, begin, last) if full else given.latest),
        units=None if full else units_of(given, causes, rng),
        fly=fly,
    )
    near = _near(observed, flown, looked_at.window, case.document.seed, fly, full=full)
    tell("Telling the causes apart", FLIGHTS_SHARE)
    if full:
        track = _track(observed, flown, fly, window=looked_at.window, names=names, rng=rng)
        windows = [WindowAsked(Window(*looked_at.compared, 1.0), track.runs)]
    else:
        windows = over_windows(inquiry, airplane, looked_at.windows)
        track = weigh_at_once(
            given, observed, flown, mixed(windows), window=looked_at.window, names=names, rng=rng
        )
    kind = kind_of_data(given.seen.error)
    checked, listed = {}, None
    if not full:
        nulls = load_nulls()
        checked = mean_over(windows, lambda runs: p_values(nulls, names, runs, kind))
        # The unlisted cause stands for all listed ones: how far the track is from any of them.
        away = mean_over(windows, lambda runs: {UNLISTED: p_listed(nulls, names, runs, kind)})
        listed = away[UNLISTED]
    horizon = horizon_then(case, motion, begin)
    held = Held(case, begin, near, observed, motion, in_flight, heard, horizon)
    evidence, unused = contributions(held, earlier)
    beside = sum((item.log_likelihood for item in evidence), np.zeros(len(names)))
    odds = reweigh(names, belief.prior, track.runs, beside)
    leader = next(names[i] for i in odds.order() if names[i] != UNLISTED)
    twin = min((n for n in near if n != leader), key=lambda n: near[n].distance)
    return Weighing(
        given.place,
        given.seen.error,
        begin,
        observed,
        tuple(windows),
        flown,
        track,
        checked,
        listed,
        near,
        belief,
        evidence,
        unused,
        items_given(case, earlier, horizon, heard),
        odds,
        twin,
        gated(airplane, facts),
        any(event.kind == "voice" for event in case.events),
        () if full else moved_tracks(inquiry, looked_at),
        start,
        float(np.median(observed.altitude[:, 0])) - start.pressure_altitude,
    )


def _latest_begin(looked_at: LookedAt, begin: float, last: float) -> float:
    """Latest begin of a fault, s after the reference: soon, or as late as the onset allows."""
    soon = min(BEGIN_SHARE * last, BEGIN_MOST)
    if not looked_at.onsets.weight.any():
        return soon
    return float(np.clip(looked_at.onsets.quantile(LATEST) - begin, soon, last))


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
    found = kept(fly.store, digest.hexdigest())
    if found is None:
        found = weigh(
            observed,
            flown,
            window=window,
            prior=equal_prior(names),
            rng=rng,
            seeds=SEEDS,
        )
        keep(found, fly.store, digest.hexdigest())
    return found
