"""The check of each cause: how often its own flights would speak as clearly against it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from neutralpoint.numerics.arrays import Floats, Index
from neutralpoint.vocabulary import CauseName

# P-value below which a cause is excluded: the least that still excludes half of the wrong causes at
# a fix a second. The true one is to be excluded on at most 0.5 % of flights; on those of the
# project's own equations it is on 0.1 %, and the rest is kept for worlds that are not this one: of
# upsets of another simulator (benchmarks/onset_odds.py) it excludes the true cause of 8 %, and with
# 0.003 of 12 %. Analyst's choice; measured in benchmarks/results/one_judgement.md.
EXCLUDED = 0.001


@dataclass(frozen=True)
class Nulls:
    """How high the networks rate a cause on flights that it made.

    Attributes:
        causes: Names, C of them.
        levels: Of the quantiles, rising, shape (L,).
        quantiles: Of the logarithm of the share given to the true cause, shape (C, L).
        steep: Power of the share with which the p-value falls below the first level, shape (C,).
        shift: Added to the quantiles by kind of data, fine to coarse, shape (3, L).
        beyond: Levels, falling, at which the share of the unlisted cause is tabled, shape (B,).
        unlisted: Logarithm of the share that the unlisted cause exceeds at these levels on flights
            of listed causes, by kind of data, shape (3, B).
    """

    causes: tuple[str, ...]
    levels: Floats
    quantiles: Floats
    steep: Floats
    shift: Floats
    beyond: Floats
    unlisted: Floats


def p_values_of(nulls: Nulls, share: Floats, stratum: Index) -> Floats:
    """How often a flight of each cause would be rated as low for it, or lower.

    Args:
        nulls: The table.
        share: Logarithm of the share of each cause, shape (n, C), in the order of the table.
        stratum: Of the data of each flight, shape (n,).

    Returns:
        Shape (n, C).
    """
    found = np.empty_like(share)
    for kind in np.unique(stratum):
        mine = stratum == kind
        table = np.maximum.accumulate(nulls.quantiles + nulls.shift[kind], axis=1)
        for number, rows in enumerate(table):
            own = share[mine, number]
            tail = nulls.levels[0] * np.exp(nulls.steep[number] * np.minimum(own - rows[0], 0.0))
            found[mine, number] = np.where(own < rows[0], tail, np.interp(own, rows, nulls.levels))
    return found


def p_values(nulls: Nulls, names: tuple[str, ...], runs: Floats, stratum: int) -> dict[str, float]:
    """The check of each listed cause of a case.

    The statistic is the share that a cause is given beside all others, equal prior weights, the
    mean over the networks: of all tests of one cause against the mixture of the others the ratio
    of likelihoods excludes most, Neyman and Pearson, Phil. Trans. A 231 (1933) 289-337.

    Args:
        nulls: The table.
        names: Of the causes that can act, C of them, the unlisted one among them.
        runs: Log evidence of the track from each network, shape (R, C).
        stratum: Of the data.

    Returns:
        By name; the unlisted cause has none.
    """
    mean = _mean_share(runs)
    share = np.full((1, len(nulls.causes)), 0.0)
    for name, value in zip(names, mean, strict=True):
        if name in nulls.causes:
            share[0, nulls.causes.index(name)] = np.log(max(value, 1e-300))
    found = p_values_of(nulls, share, np.array([stratum]))[0]
    return {name: float(found[nulls.causes.index(name)]) for name in names if name in nulls.causes}


def p_listed(nulls: Nulls, names: tuple[str, ...], runs: Floats, stratum: int) -> float:
    """How often a flight of a listed cause would leave the unlisted one as large a share.

    Below the last level the probability falls with the odds of the share, as it does where the
    shares are calibrated.

    Args:
        nulls: The table.
        names: Of the causes that can act, C of them, the unlisted one among them.
        runs: Log evidence of the track from each network, shape (R, C).
        stratum: Of the data.

    Returns:
        0 to 1, with equal weights of the listed causes.
    """
    share = float(_mean_share(runs)[names.index(CauseName.UNLISTED)])
    rows = nulls.unlisted[stratum]
    level = float(np.log(np.clip(share, 1e-300, 1.0 - 1e-12)))
    if level <= rows[-1]:
        return float(np.interp(level, rows, nulls.beyond))
    odds = np.exp(level) / -np.expm1(level)
    last = np.exp(rows[-1]) / -np.expm1(rows[-1])
    return float(nulls.beyond[-1] * last / odds)


def _mean_share(runs: Floats) -> Floats:
    """Share of each cause beside all others, the mean over the networks, shape (C,)."""
    return np.exp(runs - np.asarray(logsumexp(runs, axis=1, keepdims=True))).mean(axis=0)
