"""What the odds of the leader hang on: one assumption moved at a time, everything else as it is."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from neutralpoint.findings import PRIOR_FACTORS, SwayEnd, SwayRow
from neutralpoint.numerics.arrays import Array
from neutralpoint.study.weighing.moved import Moved
from neutralpoint.study.weighing.work_out import Weighing
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing.mechanism import CHANCES, grouped_prior
from neutralpoint.weighing.odds import NOTHING, Odds
from neutralpoint.weighing.weigh import reweigh


def sway_rows(found: Weighing) -> list[SwayRow]:
    """How far the odds of the most probable cause hang on each assumption.

    Args:
        found: What was found.

    Returns:
        One row an assumption, the one that moves the logarithm of the leader's odds most first.
    """
    place = found.odds.order()[0]
    rows = [*_priors(found, place), *_weights(found)]
    rows += [*_evidence(found, place), _networks(found, place)]
    rows += list(_tracks(found, place))
    return sorted(rows, key=lambda row: -_reach(row, float(found.odds.probability[place])))


def ranges(found: Weighing, rows: list[SwayRow]) -> dict[CauseName, tuple[float, float]]:
    """How far the odds of every cause hang on the assumptions, one moved at a time.

    Args:
        found: What was found.
        rows: Of `sway_rows`; the prior weight of each other cause is moved here as well.

    Returns:
        Lowest and highest by cause, the odds as they stand among them.
    """
    told = {}
    for place, name in enumerate(map(CauseName, found.odds.causes)):
        held = [end.odds[name] for row in rows for end in row.ends if name in end.odds]
        if name != NOTHING:
            weighed = [_weighed(found, _heavier(found.odds.prior, place, factor))
                       for factor in PRIOR_FACTORS]  # fmt: skip
            held += [min(float(odds.probability[place]), 1.0) for odds in weighed]
        held.append(min(float(found.odds.probability[place]), 1.0))
        told[name] = min(held), max(held)
    return told


def _reach(row: SwayRow, stands: float) -> float:
    """Largest change of the leader's log odds."""
    return max(abs(_logit(end.probability) - _logit(stands)) for end in row.ends)


def _logit(probability: float) -> float:
    held = min(max(probability, 1e-9), 1.0 - 1e-9)
    return float(np.log(held / (1.0 - held)))


def _end(odds: Odds, place: int, setting: float | None) -> SwayEnd:
    return SwayEnd(
        setting=setting,
        leader=CauseName(odds.causes[odds.order()[0]]),
        probability=min(float(odds.probability[place]), 1.0),
        odds={
            CauseName(name): min(float(value), 1.0)
            for name, value in zip(odds.causes, odds.probability, strict=True)
        },
    )


def _weighed(found: Weighing, prior: Array) -> Odds:
    return reweigh(found.odds.causes, prior, found.track.runs, found.beside)


def _priors(found: Weighing, place: int) -> Iterator[SwayRow]:
    """The chance that something failed."""
    names = found.odds.causes
    weights = {s.cause: s.weight for s in found.belief.stated if s.cause != NOTHING}
    if NOTHING in names:
        ends = [
            _end(_weighed(found, grouped_prior(names, chance, weights)), place, chance)
            for chance in (CHANCES[0], CHANCES[-1])
        ]
        yield SwayRow(assumption="failed", ends=ends)


def _weights(found: Weighing) -> Iterator[SwayRow]:
    """The prior weight of the leader, and that of the next, which moves the leader about as far."""
    first, second = found.odds.order()[:2]
    for place, factors in ((first, PRIOR_FACTORS), (second, PRIOR_FACTORS[::-1])):
        if found.odds.causes[place] == NOTHING:
            continue
        ends = [
            _end(_weighed(found, _heavier(found.odds.prior, place, factor)), first, factor)
            for factor in factors
        ]
        name = "" if place == first else found.odds.causes[place]
        yield SwayRow(assumption="weight", name=name, ends=ends)


def _heavier(prior: Array, place: int, factor: float) -> Array:
    moved = prior.copy()
    moved[place] *= factor
    return moved / moved.sum()


def _evidence(found: Weighing, place: int) -> Iterator[SwayRow]:
    """Each item beside the track left out."""
    for item in found.evidence:
        beside = found.beside - item.log_likelihood
        odds = reweigh(found.odds.causes, found.odds.prior, found.track.runs, beside)
        yield SwayRow(assumption="evidence", name=item.name, ends=[_end(odds, place, None)])


def _networks(found: Weighing, place: int) -> SwayRow:
    """The network that gives the leader least, and the one that gives it most."""
    names, prior = found.odds.causes, found.odds.prior
    each = [reweigh(names, prior, run[None], found.beside) for run in found.track.runs]
    each.sort(key=lambda odds: float(odds.probability[place]))
    return SwayRow(
        assumption="networks", ends=[_end(odds, place, None) for odds in (each[0], each[-1])]
    )


def _tracks(found: Weighing, place: int) -> Iterator[SwayRow]:
    """What the track says with wind, loading or start moved."""
    told: dict[Moved, None] = dict.fromkeys(track.assumption for track in found.moved)
    for assumption in told:
        tracks = [track for track in found.moved if track.assumption == assumption]
        ends = [
            _end(
                reweigh(found.odds.causes, found.odds.prior, track.runs, found.beside),
                place,
                track.setting,
            )
            for track in sorted(tracks, key=lambda track: track.setting)
        ]
        yield SwayRow(assumption=assumption, ends=ends)
