"""Evidence other than the track, as log likelihood of each cause.

Every item carries a doubt: the probability that what was found says nothing of the flight, because
the impact moved it, a note is wrong, or marks mislead. The doubt mixes the likelihood towards one
that is the same for every cause, so no item alone excludes anybody. Where simulated flights show
the quantity they are asked, weighted by how well they follow the track; where they do not, a table
of the analyst's is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from neutralpoint.errors import NeutralPointError
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.strength import ONE_HAND
from neutralpoint.weighing.value import Item

# Most that a note of strain in a voice may move the odds between two causes: the upper end of "not
# worth more than a bare mention" (Kass and Raftery 1995). Force was used, by somebody, against
# something; where the note was made by ear even that is doubtful.
VOICE_CAP = 3.0
# P(strain is noted | flight): pull above `STRAIN_FORCE` around the time, and below it. Analyst's
# estimate.
STRAIN_NOTED, STRAIN_IMAGINED = 0.5, 0.2
STRAIN_FORCE = ONE_HAND.force
# P(parts come off in flight | cause); a dive that passes the strength lets parts go under any
# cause. Analyst's estimate.
LETS_GO = {"structural-failure": 0.95, "separation": 0.7}
LETS_GO_OTHERS = 0.03
MARGIN = 0.5  # by which the range of all flights is widened for "any value is as likely"; analyst's


@dataclass(frozen=True)
class Contribution:
    """What one item of evidence adds.

    Attributes:
        name: Of the item, in words.
        log_likelihood: ln p(found | cause), up to one constant, shape (C,).
        doubt: Probability that it says nothing of the flight.
        caution: What the finding does not say.
        source: Where it is recorded.
    """

    name: str
    log_likelihood: Array
    doubt: float
    caution: str = ""
    source: str = ""

    def nats(self, prior: Array) -> Array:
        """Nats for (positive) or against each cause, counted from what all causes expect together.

        Args:
            prior: Sums to 1, shape (C,).

        Returns:
            Shape (C,).
        """
        return self.log_likelihood - np.asarray(logsumexp(self.log_likelihood, b=prior))


def with_doubt(log_likelihood: Array, doubt: float, flat: float) -> Array:
    """Mix a likelihood with one that is the same for every cause.

    Args:
        log_likelihood: If the finding is of the flight, shape (C,).
        doubt: Probability that it is not.
        flat: ln p(found) then.

    Returns:
        Shape (C,).

    Raises:
        NeutralPointError: `argument-invalid` for a doubt outside 0 to 1.
    """
    if not 0.0 <= doubt <= 1.0:
        raise NeutralPointError(
            "argument-invalid",
            f"The chance given that it says nothing is {doubt:g}.",
            where="evidence.doubt",
            hint="It is the probability, 0 to 1, that the finding says nothing of the flight.",
        )
    with np.errstate(divide="ignore"):
        return np.logaddexp(np.log1p(-doubt) + log_likelihood, np.log(doubt) + flat)


def capped(log_likelihood: Array, most: float) -> Array:
    """Hold the Bayes factor between any two causes down.

    Args:
        log_likelihood: Shape (C,).
        most: Largest Bayes factor, above 1.

    Returns:
        The middle of the range kept, what lies further out drawn in, shape (C,).
    """
    middle = 0.5 * (log_likelihood.max() + log_likelihood.min())
    half = 0.5 * np.log(most)
    return np.clip(log_likelihood - middle, -half, half)


def smoothing(values: Array, weight: Array) -> Array:
    """Kernel width that a density from so few weighted flights needs.

    Args:
        values: Shape (n, K).
        weight: Sums to 1, shape (n,).

    Returns:
        Standard deviation of the kernel in each quantity, shape (K,).

    Source: Scott, Multivariate Density Estimation (1992), eq. 6.42, with the effective number of
    flights 1 / sum of squared weights.
    """
    effective = 1.0 / np.sum(weight**2)
    centred = values - weight @ values
    spread = np.sqrt(weight @ centred**2)
    return spread * effective ** (-1.0 / (values.shape[1] + 4))


def flown_likelihood(
    flights: list[Array], weights: list[Array], found: Array, sigma: Array
) -> Array:
    """ln p(found | cause) of values that the simulated flights show.

    Args:
        flights: The same K quantities of the flights of each cause, each shape (n, K).
        weights: How well each flight follows the track, each sums to 1, shape (n,).
        found: Shape (K,).
        sigma: Standard deviation of what was found, shape (K,).

    Returns:
        Shape (C,), one entry for each of `flights`.

    Source: kernel density over importance-weighted draws; a normal kernel of `smoothing`.
    """
    rows = []
    for values, weight in zip(flights, weights, strict=True):
        width = np.sqrt(sigma**2 + smoothing(values, weight) ** 2) + 1e-12
        residual = (found - values) / width
        each = -0.5 * np.sum(residual**2, axis=1) - np.sum(np.log(width))
        with np.errstate(divide="ignore"):
            rows.append(logsumexp(each + np.log(weight)))
    return np.array(rows) - 0.5 * found.size * np.log(2.0 * np.pi)


def any_value(flights: list[Array], found: Array) -> float:
    """ln p(found) where any value is as likely: uniform over the range of all flights, widened.

    Args:
        flights: As for `flown_likelihood`.
        found: What was found; the range is made to hold it, shape (K,).

    Returns:
        Log density.
    """
    together = np.concatenate([*flights, found[None]])
    span = np.ptp(together, axis=0) * (1.0 + 2.0 * MARGIN)
    return -float(np.sum(np.log(np.maximum(span, 1e-12))))


def from_flights(
    flights: list[Array],
    weights: list[Array],
    found: Array,
    sigma: Array,
    doubt: float,
    *,
    broken: list[Flags] | None = None,
) -> Array:
    """Log likelihood of a measured finding, an unlisted cause last.

    An unlisted cause says nothing of the value: any is as likely. Neither does a flight that has
    passed ultimate load before: what is left of that airplane is not the one that was flown.

    Args:
        flights: As for `flown_likelihood`.
        weights: As for `flown_likelihood`.
        found: Shape (K,).
        sigma: Shape (K,).
        doubt: Probability that the finding says nothing of the flight.
        broken: True for flights that are not trusted at that moment, each shape (n,); None: none.

    Returns:
        Shape (C + 1,).
    """
    flat = any_value(flights, found)
    listed = flown_likelihood(flights, weights, found, sigma)
    if broken is not None:
        whole = [w * ~b for w, b in zip(weights, broken, strict=True)]
        listed = _partly_broken(flights, whole, found, sigma, flat)
    return with_doubt(np.append(listed, flat), doubt, flat)


def _partly_broken(
    flights: list[Array], whole: list[Array], found: Array, sigma: Array, flat: float
) -> Array:
    """ln p(found | cause) where the weight of flights that broke says nothing of the value."""
    share = np.array([float(weight.sum()) for weight in whole])
    even = [np.full(weight.size, 1.0 / weight.size) for weight in whole]
    each = zip(whole, share, even, strict=True)
    kept = [weight / part if part > 0.0 else other for weight, part, other in each]
    listed = flown_likelihood(flights, kept, found, sigma)
    with np.errstate(divide="ignore"):
        return np.logaddexp(np.log(share) + listed, np.log(np.maximum(1.0 - share, 0.0)) + flat)


def from_table(item: Item, causes: tuple[str, ...], outcome: str, doubt: float) -> Array:
    """Log likelihood of an outcome by the item's table, an unlisted cause last.

    Args:
        item: The item; a cause that it does not name has its `otherwise`.
        causes: Listed causes, C of them.
        outcome: One of the item's.
        doubt: Probability that the finding says nothing of the flight.

    Returns:
        Shape (C + 1,).

    Raises:
        NeutralPointError: `argument-invalid` for an outcome that the item does not have.
    """
    if outcome not in item.outcomes:
        raise NeutralPointError(
            "argument-invalid",
            f"{outcome!r} is no outcome of {item.name!r}.",
            where=f"evidence.{item.key}",
            hint=f"Give one of: {', '.join(item.outcomes)}.",
        )
    listed = item.table(causes)[:, item.outcomes.index(outcome)]
    mean = float(listed.mean())
    with np.errstate(divide="ignore"):
        return with_doubt(np.log(np.append(listed, mean)), doubt, np.log(mean))


def parts_likelihood(causes: tuple[str, ...], in_flight: float, doubt: float) -> Array:
    """Log likelihood of the places where parts were found, an unlisted cause last.

    Args:
        causes: Listed causes, C of them.
        in_flight: ln of the Bayes factor of parts that came off in flight over parts that were
            carried to the ground.
        doubt: Probability that the places mislead.

    Returns:
        Shape (C + 1,).

    Source: the law of total probability, with `LETS_GO` for each cause.
    """
    chance = np.array([LETS_GO.get(str(cause), LETS_GO_OTHERS) for cause in causes])
    listed = np.logaddexp(np.log(chance) + in_flight, np.log1p(-chance))
    mean = float(np.asarray(logsumexp(listed))) - np.log(len(listed))
    return with_doubt(np.append(listed, mean), doubt, mean)


def seen_in_part(
    item: Item, causes: tuple[str, ...], chance: tuple[float, ...], doubt: float
) -> Array:
    """Log likelihood of a finding that is itself uncertain, an unlisted cause last.

    Args:
        item: The item; a cause that it does not name has its `otherwise`.
        causes: Listed causes, C of them.
        chance: How well each outcome of the item fits what was measured, any scale.
        doubt: Probability that the finding says nothing of the flight.

    Returns:
        Shape (C + 1,).

    Source: the law of total probability over the outcomes (Jeffrey's rule).
    """
    listed = item.table(causes) @ np.array(chance)
    mean = float(listed.mean())
    with np.errstate(divide="ignore"):
        return with_doubt(np.log(np.append(listed, mean)), doubt, np.log(mean))


def stated_likelihood(causes: tuple[str, ...], given: dict[str, float], doubt: float) -> Array:
    """Log likelihood that the analyst states by cause or mechanism, an unlisted cause last.

    Args:
        causes: Listed causes, C of them.
        given: Likelihood over that of what is not named, by cause or mechanism.
        doubt: Probability that what was found says nothing of the cause.

    Returns:
        Shape (C + 1,).

    Source: the law of total probability, with 1 for what is not named and for the doubt.
    """
    rows = (*causes, CauseName.UNLISTED)
    each = [given.get(name, given.get(CauseName(name).mechanism, 1.0)) for name in rows]
    return with_doubt(np.log(each), doubt, 0.0)


def strain_likelihood(forces: list[Array], weights: list[Array], *, noted: bool) -> Array:
    """Log likelihood of a note on effort in a voice, capped, an unlisted cause last.

    Args:
        forces: Largest column force around the time of the note by cause, N, each shape (n,).
        weights: As for `flown_likelihood`.
        noted: Whether strain was noted; False where its absence was.

    Returns:
        Shape (C + 1,).
    """
    share = np.array([w @ (np.abs(f) > STRAIN_FORCE) for f, w in zip(forces, weights, strict=True)])
    chance = STRAIN_NOTED * share + STRAIN_IMAGINED * (1.0 - share)
    chance = np.append(chance, chance.mean())
    return capped(np.log(chance if noted else 1.0 - chance), VOICE_CAP)


def strain_in_part(
    forces: list[Array], weights: list[Array], *, raised: float, doubt: float
) -> Array:
    """Log likelihood of a pitch that may be raised, capped, an unlisted cause last.

    Args:
        forces: As for `strain_likelihood`.
        weights: As for `flown_likelihood`.
        raised: Probability that effort is in the voice.
        doubt: Probability that the pitch says nothing of effort.

    Returns:
        Shape (C + 1,).

    Source: as `seen_in_part`.
    """
    share = np.array([w @ (np.abs(f) > STRAIN_FORCE) for f, w in zip(forces, weights, strict=True)])
    chance = STRAIN_NOTED * share + STRAIN_IMAGINED * (1.0 - share)
    listed = raised * chance + (1.0 - raised) * (1.0 - chance)
    mean = float(listed.mean())
    return capped(with_doubt(np.log(np.append(listed, mean)), doubt, np.log(mean)), VOICE_CAP)


def drift_after(
    north: Array, east: Array, *, last: int, then: int, heading: float, drift: tuple[float, float]
) -> Array:
    """Where flights come down, counted from the last place that the track shows.

    Each flight is turned about the vertical so that it leaves the last place in the heading that
    was seen there, and is carried by the wind.

    Args:
        north: m, shape (n, m).
        east: m, shape (n, m).
        last: Record of the last place that the track shows.
        then: Record of the moment looked at.
        heading: Of the air velocity at the last place, from north, rad.
        drift: Of the wind in between, m towards north and east.

    Returns:
        m north and east of the last place, shape (n, 2).
    """
    before = max(last - 1, 0)
    own = np.arctan2(east[:, before + 1] - east[:, before], north[:, before + 1] - north[:, before])
    turn = heading - own
    ahead, right = north[:, then] - north[:, last], east[:, then] - east[:, last]
    return np.stack(
        [
            ahead * np.cos(turn) - right * np.sin(turn) + drift[0],
            ahead * np.sin(turn) + right * np.cos(turn) + drift[1],
        ],
        axis=1,
    )
