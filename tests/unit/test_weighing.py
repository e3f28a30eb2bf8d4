"""Odds, scores and the value of evidence: small cases worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.weighing.odds import (
    bayes_factor_words,
    combine,
    equal_prior,
    posterior,
    prior_of_failure,
)
from neutralpoint.weighing.scores import (
    brier_score,
    credible_set_cover,
    interval_cover,
    log_score,
    reliability,
)
from neutralpoint.weighing.value import Item, entropy_bits, measured_table, rank, worth
from neutralpoint.weighing.weigh import TEMPERED, lapsed

CAUSES = ("a", "b", "c")


@pytest.mark.parametrize(
    ("factor", "word"),
    [(2.6, "bare mention"), (3.1, "positive"), (19, "positive"), (25, "strong"), (160, "very")],
)
def test_words_of_kass_and_raftery(factor, word):
    assert word in bayes_factor_words(np.log(factor))
    assert word in bayes_factor_words(-np.log(factor))


def test_posterior_by_hand():
    found = posterior(np.array([0.5, 0.25, 0.25]), np.log([0.2, 0.4, 0.8]))
    assert np.allclose(found, [0.25, 0.25, 0.5])


def test_the_chance_that_anything_failed_is_shared_out():
    names = ("no-failure", "a", "b")
    assert np.allclose(prior_of_failure(names, 0.1, {"a": 3.0}), [0.9, 0.075, 0.025])
    with pytest.raises(NeutralPointError):
        prior_of_failure(names, 1.0)
    with pytest.raises(NeutralPointError):
        prior_of_failure(("a", "b"), 0.1)


def test_a_lapse_makes_faults_more_alike_but_keeps_them_apart_from_ordinary_flying():
    names = ("no-failure", "a", "b", "unlisted")
    sure = np.log([[0.1, 0.9 - 2e-9, 1e-9, 1e-9], [0.8, 0.2 - 2e-9, 1e-9, 1e-9]])
    found = np.exp(lapsed(names, sure, 0.1, 0.0))
    assert np.allclose(found[:, 0], [0.1, 0.8])
    assert np.allclose(found[:, 1:].sum(axis=1), [0.9, 0.2])
    # 0.9 shared out by the power 0.4 of the networks' odds of 9e8 to 1 to 1: 1 part in 3819.
    assert TEMPERED == 0.4
    assert np.allclose(found[0, 2:], 0.1 * 0.9 / (9e8**0.4 + 2.0))
    assert np.exp(lapsed(names, sure, 0.0, 0.02))[1, 2] == pytest.approx(0.005)
    assert np.allclose(np.exp(lapsed(names, sure, 0.0, 0.0)), np.exp(sure))


def test_no_weight_is_no_chance():
    assert posterior(np.array([1.0, 0.0]), np.array([-800.0, 0.0]))[1] == 0.0


def test_the_band_is_the_spread_of_the_runs():
    odds = combine(CAUSES, equal_prior(CAUSES), np.log([[0.5, 0.3, 0.2], [0.7, 0.2, 0.1]]))
    assert np.allclose(odds.probability, [0.6, 0.25, 0.15])
    assert np.allclose((odds.low[0], odds.high[0]), (0.5, 0.7))
    assert odds.order() == [0, 1, 2]
    factor = odds.log_evidence[1] - odds.log_evidence[0]
    assert factor == pytest.approx(0.5 * np.log(0.3 / 0.5 * 0.2 / 0.7))
    assert bayes_factor_words(factor) == "not worth more than a bare mention"


def test_prior_weights():
    assert np.allclose(equal_prior(CAUSES, {"b": 2.0}), [0.25, 0.5, 0.25])
    with pytest.raises(NeutralPointError, match="weight of -1"):
        equal_prior(CAUSES, {"b": -1.0})
    with pytest.raises(NeutralPointError, match="'d'"):
        equal_prior(CAUSES, {"d": 1.0})


def test_scores_by_hand():
    probability, truth = np.array([[0.8, 0.2], [0.4, 0.6]]), np.array([0, 0])
    assert np.allclose(log_score(probability, truth), np.log([0.8, 0.4]))
    assert np.allclose(brier_score(probability, truth), [0.08, 0.72])


def test_honest_probabilities_are_reliable_and_cover_as_stated():
    rng = np.random.default_rng(3)
    probability = rng.dirichlet(np.full(5, 0.4), 20000)
    truth = np.argmax(rng.uniform(size=(20000, 1)) < np.cumsum(probability, axis=1), axis=1)
    found = reliability(probability, truth)
    assert found.count.sum() == probability.size
    assert np.allclose(found.stated, found.happened, atol=0.02)
    assert credible_set_cover(probability, truth).mean() == pytest.approx(0.9, abs=0.01)
    sure = probability**3 / np.sum(probability**3, axis=1, keepdims=True)
    assert credible_set_cover(sure, truth).mean() < 0.85


def test_interval_cover():
    draws = np.linspace(0.0, 1.0, 101)
    assert interval_cover(draws, 0.5)
    assert not interval_cover(draws, 0.02)


def test_bits_of_a_decisive_and_of_a_mute_item():
    even = np.full(2, 0.5)
    decisive = Item("mark", "high", ("x", "y"), (0.0, 1.0), {"a": (1.0, 0.0)})
    mute = Item("rumour", "low", ("x", "y"), (0.3, 0.7))
    first, second = rank([mute, decisive], ("a", "b"), even)
    assert (first.item.name, first.bits) == ("mark", pytest.approx(1.0))
    assert second.bits == pytest.approx(0.0, abs=1e-12)
    assert np.allclose(first.odds_then, [[1.0, 0.0], [0.0, 1.0]])
    assert entropy_bits(even) == 1.0


def test_bits_of_a_noisy_channel():
    """Binary symmetric channel, error 0.1: 1 - H(0.1) = 0.531 bits (Shannon 1948)."""
    item = Item("line", "low", ("x", "y"), (0.1, 0.9), {"a": (0.9, 0.1)})
    found = worth(item, ("a", "b"), np.full(2, 0.5), np.array([[0.5, 0.5], [0.9, 0.1]]))
    assert found.bits == found.high == pytest.approx(0.5310, abs=1e-4)
    assert 0.0 < found.low < found.bits
    assert np.allclose(found.chance @ found.odds_then, 0.5)


def test_an_outcome_table_must_be_one():
    with pytest.raises(NeutralPointError, match="add up to 1"):
        Item("mark", "low", ("x", "y"), (0.5, 0.6)).table(CAUSES)


def test_a_measured_position_separates_as_its_error_allows():
    draws = [np.zeros(50), np.full(50, 1.0)]
    sharp = measured_table(draws, np.array([0.5]), 0.01, 0.0)
    spoiled = measured_table(draws, np.array([0.5]), 0.01, 1.0)
    assert np.allclose(sharp, [[1.0, 0.0], [0.0, 1.0]])
    assert np.allclose(spoiled, 0.5)
