"""How far chances may be trusted beyond what the flights themselves show.

A chance of one in 100,000 from thirty flights is the word of a shape, not of the flights: where the
true tails are heavier than every shape that is tried, far too many flights have such chances. The
other airplanes of the fleet tell: the sizes of their small chances, `-ln p`, would fall off at the
rate 1 if the shapes were right, and fall off more slowly where tails are heavier.
"""

from __future__ import annotations

import numpy as np

from neutralpoint.numerics.arrays import Array, Flags, Index

# A chance below this is a small one, whose size is asked about. Common practice for a tail:
# one in ten.
SMALL = 0.1
# What is held of the rate at which sizes fall off, before the others are seen: 1, as if so many
# small chances had shown it. A spread of a third either way; analyst's estimate.
HELD = 9.0
# Share of the small chances whose sizes are looked at, from the least: the rest may be faults, and
# counts as if it ended there. Analyst's choice.
TRUSTED = 0.75
FEWEST = 30  # flights of other airplanes below which the own others are asked; analyst's


def calibrated(chance: Array, group: Index, groups: int) -> Array:
    """Chances, none smaller than the small chances of the other airplanes bear out.

    Args:
        chance: That an ordinary flight lies as far out; NaN where not known, shape (n,).
        group: Airplane of each flight, shape (n,).
        groups: How many there are.

    Returns:
        The same shape; no chance is made smaller.

    Source: exceedances over a threshold are exponential in `-ln p` for tails of a power or an
        exponential (Pickands, Ann. Stat. 3 (1975) 119-131); the rate from the lesser sizes alone,
        the rest censored (Epstein and Sobel, J. Am. Stat. Assoc. 48 (1953) 486-502); with a gamma
        prior of the rate the next one is Lomax distributed (Gelman et al., Bayesian Data Analysis
        (2013), section 2.6).
    Checked against: tests/unit/test_history_tails.py; benchmarks/history_screen.py.
    """
    known = np.isfinite(chance)
    small = known & (np.nan_to_num(chance, nan=1.0) < SMALL)
    size = np.where(small, np.log(SMALL) - np.log(np.clip(chance, 1e-300, 1.0)), 0.0)
    found = chance.copy()
    for number in range(groups):  # over airplanes
        own = group == number
        others = ~own if known[~own].sum() >= FEWEST else own
        share, shown, total = _rate(known[others], small[others], size[others])
        borne = share * (1.0 + size[own] / (HELD + total)) ** -(HELD + shown)
        mine = small[own]
        found[own] = np.where(mine, np.maximum(chance[own], borne), chance[own])
    return found


def _rate(known: Flags, small: Flags, size: Array) -> tuple[float, int, float]:
    """Share of small chances, how many sizes were looked at, and the sum that they stand for."""
    each = np.sort(size[small])
    shown = int(np.ceil(TRUSTED * each.size))
    kept = each[:shown]
    total = float(kept.sum() + (each.size - shown) * (kept[-1] if shown else 0.0))
    share = (each.size + HELD * SMALL) / (known.sum() + HELD)
    return max(float(share), SMALL), shown, total
