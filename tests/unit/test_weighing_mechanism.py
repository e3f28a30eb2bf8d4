"""Priors and odds by mechanism."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.vocabulary import Mechanism
from neutralpoint.weighing.evidence import stated_likelihood
from neutralpoint.weighing.mechanism import (
    by_mechanism,
    grouped_prior,
    mechanisms_of,
    own_weights,
)
from neutralpoint.weighing.odds import posterior

CAUSES = (
    "no-failure",
    "stabilizer-runaway",
    "intermittent-runaway",
    "elevator-jam",
    "wind-shear",
    "unlisted",
)


def test_rows_of_one_mechanism_are_one_answer():
    assert mechanisms_of(CAUSES) == (
        Mechanism.NO_FAILURE,
        Mechanism.TRIM_DRIVE,
        Mechanism.CONTROL_RUN,
        Mechanism.AIR,
        Mechanism.UNLISTED,
    )
    summed = by_mechanism(CAUSES, np.array([0.05, 0.48, 0.31, 0.1, 0.04, 0.02]))
    np.testing.assert_allclose(summed, [0.05, 0.79, 0.1, 0.04, 0.02])


def test_another_row_leaves_the_prior_of_its_mechanism():
    """One more row of a mechanism takes nothing from the other mechanisms."""
    few = tuple(c for c in CAUSES if c != "intermittent-runaway")
    for failed in (None, 0.95):
        more = by_mechanism(CAUSES, grouped_prior(CAUSES, failed))
        np.testing.assert_allclose(more, by_mechanism(few, grouped_prior(few, failed)))
    assert grouped_prior(CAUSES, 0.95)[0] == pytest.approx(0.05)
    assert grouped_prior(CAUSES, 0.95).sum() == pytest.approx(1.0)


def test_a_row_twice_over_does_not_move_the_odds_of_its_mechanism():
    """Two rows that say the same share what one had."""
    few = tuple(c for c in CAUSES if c != "intermittent-runaway")
    said = {"stabilizer-runaway": 2.0, "intermittent-runaway": 2.0, "elevator-jam": 1.0}
    odds = [
        by_mechanism(c, posterior(grouped_prior(c, 0.5), np.array([said.get(n, 0.0) for n in c])))
        for c in (few, CAUSES)
    ]
    np.testing.assert_allclose(*odds)


def test_weights_multiply_the_share_of_a_cause_or_of_a_mechanism():
    even = grouped_prior(CAUSES, None)
    jam = grouped_prior(CAUSES, None, {"elevator-jam": 3.0})
    assert jam[3] / jam[4] == pytest.approx(3.0 * even[3] / even[4])
    trim = grouped_prior(CAUSES, None, {"trim-drive": 3.0})
    np.testing.assert_allclose(trim[1:3] / trim[4], 3.0 * even[1:3] / even[4])
    null = grouped_prior(CAUSES, None, {"no-failure": 2.0})  # names a cause and its mechanism
    assert null[0] / null[3] == pytest.approx(2.0)
    for name, weight in (("rain", 1.0), ("loading", 1.0), ("elevator-jam", 0.0)):
        with pytest.raises(NeutralPointError, match="prior weight"):
            grouped_prior(CAUSES, None, {name: weight})
    with pytest.raises(NeutralPointError, match="chance"):
        grouped_prior(CAUSES, 1.0)


@pytest.mark.parametrize("failed", [None, 0.01, 0.95])
def test_weights_of_a_page_make_the_same_prior(failed):
    prior = grouped_prior(CAUSES, failed, {"elevator-jam": 3.0})
    weights = own_weights(CAUSES, prior)
    np.testing.assert_allclose(grouped_prior(CAUSES, None, weights), prior, rtol=1e-6)
    assert weights["wind-shear"] == 1.0


def test_words_count_by_what_is_stated_of_them():
    given = {"trim-drive": 3.0, "elevator-jam": 2.0}
    log = stated_likelihood(CAUSES[:-1], given, 0.3)
    np.testing.assert_allclose(np.exp(log), [1.0, 2.4, 2.4, 1.7, 1.0, 1.0])
    nothing = stated_likelihood(CAUSES[:-1], {"trim-drive": 1000.0}, 1.0 - 1e-9)
    assert np.ptp(nothing) < 1e-5
