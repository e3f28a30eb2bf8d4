"""The shipped networks: the file, what they are shown, what they say, where they may be asked."""

from __future__ import annotations

from dataclasses import replace

import jax.numpy as jnp
import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.explanations import CAUSES
from neutralpoint.study.weighing import networks as networks_file
from neutralpoint.study.weighing.networks import load_shipped
from neutralpoint.weighing.amortised import (
    BEYOND_RARE,
    INSIDE,
    OUTSIDE,
    RARE,
    odds_of,
    parameter_draws,
    see,
    spread_of,
    standing_of,
    taken_in,
    track_evidence,
)
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.shipped import body
from neutralpoint.weighing.window import KNOTS, TYPICAL_WINDOW, channels, knot_weights

SINGLE = 2e-3  # of two ways to add up single precision over some thousand terms


@pytest.fixture(scope="module")
def networks():
    return load_shipped()


def steady(length: float, paths: int = 12) -> Course:
    """Level flight at 100 m/s with errors of a good track."""
    time = np.arange(0.0, length + 0.1, 0.5)
    rng = np.random.default_rng(2)
    middle = {"normal_load_factor": 1.0, "true_airspeed": 100.0, "altitude": 3000.0}
    sizes = (0.02, 0.01, 0.01, 0.8, 0.003, 1.5)
    return Course(
        time,
        **{
            name: middle.get(name, 0.0) + size * rng.standard_normal((paths, time.size))
            for name, size in zip(COLUMNS, sizes, strict=True)
        },
    )


def test_the_file_is_that_of_this_version_and_another_is_refused(networks, monkeypatch):
    assert len(networks.weights) >= 5
    assert set(networks.causes) == {str(name) for name in CAUSES}
    monkeypatch.setattr(networks_file, "DIGEST", "0" * 64)
    with pytest.raises(NeutralPointError) as refused:
        load_shipped.__wrapped__()
    assert refused.value.code == "networks-damaged"


def test_weights_of_the_knots_keep_a_straight_line():
    time = np.arange(0.0, 40.0, 0.5)
    weights = knot_weights(time, 38.0, 3.0)
    at = np.concatenate([[0.0], (np.arange(KNOTS) + 0.5) / KNOTS * 38.0])
    assert weights @ (2.0 + 0.3 * time) == pytest.approx(2.0 + 0.3 * at, abs=1e-9)
    assert (weights[:, time > 38.0] == 0.0).all()


def test_steady_flight_has_no_channels_but_the_lift_of_its_weight():
    course = steady(30.0, 2)
    columns = np.zeros((course.time.size, 6))
    columns[:, 0], columns[:, 3], columns[:, 5] = 1.0, 100.0, 3000.0
    found = channels(columns, knot_weights(course.time, 30.0, 2.0))
    assert found[:, 0] == pytest.approx(4.0)  # 1 g in quarters
    assert found[:, 1:] == pytest.approx(0.0, abs=1e-9)


def test_numpy_and_jax_give_one_answer(networks):
    seen, told = see(steady(40.0), 2.0), networks.centre
    context = np.concatenate([0.0 * told, seen.context]).astype(np.float32)[None]
    series = seen.series.astype(np.float32)[None]
    w = networks.weights[0]
    alone = body(w, series, context)
    other = body({k: jnp.asarray(v) for k, v in w.items()}, series, context, jnp)
    assert np.asarray(other) == pytest.approx(alone, abs=SINGLE * float(np.abs(alone).max()))


def test_steady_flight_is_one_on_which_nothing_failed(networks):
    names = tuple(networks.causes)
    runs = track_evidence(networks, see(steady(40.0), 2.0), networks.centre, names)
    assert np.exp(runs).sum(axis=1) == pytest.approx(1.0)
    assert names[int(np.exp(runs).mean(axis=0).argmax())] == "no-failure"
    again = track_evidence(networks, see(steady(40.0), 2.0), networks.centre, names)
    assert (runs == again).all()
    few = track_evidence(networks, see(steady(40.0), 2.0), networks.centre, names[:3])
    assert few - few[:, :1] == pytest.approx(runs[:, :3] - runs[:, :1])


def test_mixed_begins_lie_between_the_single_ones():
    first, second = np.log([[0.9, 0.1]]), np.log([[0.2, 0.8]])
    mixed = np.exp(odds_of([first, second], np.array([3.0, 1.0])))
    assert mixed == pytest.approx(np.array([[0.725, 0.275]]))


def test_a_stretch_below_ten_seconds_is_refused():
    with pytest.raises(NeutralPointError) as refused:
        see(steady(8.0), 2.0)
    assert refused.value.code == "track-too-short" and "10 s" in refused.value.message


def test_draws_are_normal_scores_of_the_asked_size(networks):
    rng = np.random.default_rng(1)
    hidden = taken_in(networks, see(steady(40.0), 2.0), networks.centre)
    found = parameter_draws(networks, hidden, "elevator-jam", size=2, count=300, rng=rng)
    assert found.shape == (300, 2) and np.abs(found).max() < 8.0


def test_what_was_learned_from_is_inside_and_what_no_airplane_is_lies_outside(networks):
    names = tuple(map(str, range(networks.centre.size)))
    learned = networks.centre + networks.scale * networks.near[7].astype(float)
    assert standing_of(networks, learned, names).verdict == INSIDE
    odd = learned + 30.0 * networks.scale * (np.arange(learned.size) == 4)
    there = standing_of(networks, odd, names)
    assert there.verdict == OUTSIDE and there.odd == "4"


def test_evidence_is_divided_by_more_where_fixes_are_rare(networks):
    assert networks.rarer > 1.0
    begun = np.zeros(8)
    windows = np.log(np.array([1.0, 2.0, 2.0 * RARE**0.5, 2.0 * RARE, 100.0]) / TYPICAL_WINDOW)
    spread = spread_of(1.1, 1.8, begun + np.eye(8)[1] * windows[:, None])
    assert spread == pytest.approx(1.1 * 1.8 ** np.array([0.0, 0.0, 0.5, 1.0, BEYOND_RARE]))


def test_rare_fixes_divide_the_evidence_of_a_stretch(networks):
    names = tuple(networks.causes)
    sharp = replace(networks, rarer=1.0)
    for window, shrinks in ((2.0, 1.0), (2.0 * RARE, networks.rarer)):
        seen = see(steady(40.0), window)
        told, raw = (track_evidence(n, seen, networks.centre, names) for n in (networks, sharp))
        assert np.ptp(raw, axis=1) / np.ptp(told, axis=1) == pytest.approx(shrinks, rel=1e-6)
