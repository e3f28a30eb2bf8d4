"""What the weighing makes of invented courses, of networks with drawn weights, and of findings."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
from scipy.special import ndtr

from neutralpoint.airplane.uncertainty import Uncertainty
from neutralpoint.explanations.cause import Moment
from neutralpoint.vocabulary import CauseName
from neutralpoint.weighing import (
    amortised,
    evidence,
    features,
    items,
    nearest,
    network,
    parameters,
    shipped,
    value,
    window,
)
from neutralpoint.weighing import ordinary as flying
from neutralpoint.weighing.blind import judge, other_airplane
from neutralpoint.weighing.check import Nulls, p_listed, p_values
from neutralpoint.weighing.compare import beside, noisy, traces
from neutralpoint.weighing.course import COLUMNS, Course
from neutralpoint.weighing.mechanism import by_mechanism, grouped_prior, own_weights
from neutralpoint.weighing.odds import combine, equal_prior, prior_of_failure
from neutralpoint.weighing.scores import brier_score, credible_set_cover, log_score, reliability

CAUSES = tuple(str(n) for n in list(CauseName)[:6])
LISTED = (*CAUSES, str(CauseName.UNLISTED))


def known() -> dict[str, Any]:
    """By part of the package."""
    rng = np.random.default_rng(808)
    parts = (_networks, _features, _learned, _parameters, _evidence, _worth, _odds, _meant)
    return {part.__name__.strip("_"): part(rng) for part in parts}


def _course(rng: np.random.Generator, paths: int = 16, length: float = 40.0) -> Course:
    time = np.arange(0.0, length + 0.1, 0.5)
    swing = np.sin(0.21 * time)
    middle = {
        "normal_load_factor": 1.0 + 0.3 * swing, "longitudinal_load_factor": 0.05 - 0.02 * swing,
        "bank_angle": 0.4 * swing, "true_airspeed": 95.0 + 0.3 * time,
        "flight_path_angle": -0.1 * swing, "altitude": 3000.0 - 2.0 * time,
    }  # fmt: skip
    sizes = dict(zip(COLUMNS, (0.03, 0.01, 0.03, 0.8, 0.005, 2.0), strict=True))
    noise = {n: s * rng.standard_normal((paths, time.size)).cumsum(1) for n, s in sizes.items()}
    return Course(time, **{name: middle[name] + 0.4 * noise[name] for name in COLUMNS})


def _networks(rng: np.random.Generator) -> dict[str, Any]:
    """With weights that are drawn: those shipped may be learned anew."""
    told = rng.standard_normal(9)
    seen = amortised.see(_course(rng), 3.0)
    named = shipped.shapes(seen.series.shape[1], 9 + seen.context.size, len(LISTED), 4)
    weights = tuple(
        {n: (rng.standard_normal(s) / np.sqrt(s[0])).astype(np.float32) for n, s in named.items()}
        for _ in range(2)
    )
    near = rng.standard_normal((30, 9))
    made = amortised.Shipped(
        weights, LISTED, 0.1 + 0.0 * told, 1.3 + 0.0 * told, near, (0.9, 1.6), 1.2, 1.7, -1.0
    )
    hidden = amortised.taken_in(made, seen, told)
    names = LISTED[1:]
    runs = amortised.track_evidence(made, seen, told, names)
    return {
        "seen": seen,
        "short": amortised.see(_course(rng), 5.0, 22.0),
        "hidden": hidden,
        "evidence": runs,
        "odds": amortised.odds_of([runs, runs + 0.3], np.array([0.4, 1.2])),
        "draws": amortised.parameter_draws(
            made, hidden, names[0], size=3, count=40, rng=np.random.default_rng(3)
        ),
        "mixture": shipped.mixture(weights[0], hidden[0], np.array([1, 2])),
        "standing": [
            amortised.standing_of(made, far * told, tuple("abcdefghi")) for far in (0.2, 1.0, 4.0)
        ],
        "spread": [amortised.spread_of(1.1, 1.8, np.array([0.0, x])) for x in (-2.0, 0.5, 3.0)],
        "errors": window.channel_errors(rng.uniform(0.01, 1.0, (2, 48, 6)), np.array([80.0, 90.0])),
        "shapes": named,
    }


def _flown(rng: np.random.Generator) -> list[Any]:
    null = str(CauseName.NO_FAILURE)
    return [
        SimpleNamespace(cause=name, course=_course(rng, 24), twin=np.arange(24) % 20)
        for name in (CAUSES[0], null, CAUSES[2])
    ]


def _features(rng: np.random.Generator) -> dict[str, Any]:
    course, flown = _course(rng), _flown(rng)
    at = features.knots(40.0, 3.0)
    simulated = [features.features(one.course, at, 3.0) for one in flown]
    compared = beside(course, flown, simulated, at, 3.0)
    scale = compared.scale
    near = nearest.near(simulated[0], compared.observed, scale)
    return {
        "knots": [features.knots(t, w) for t, w in ((40.0, 3.0), (9.0, 1.0), (120.0, 12.0))],
        "made": simulated,
        "mirrored": features.mirrored(5),
        "unlisted": features.unlisted(simulated[0], np.random.default_rng(4), 30),
        "compared": compared,
        "traces": traces(flown, simulated, scale.sigma),
        "noisy": noisy(simulated[0], compared.errors, np.random.default_rng(5)),
        "near": near,
        "kernel": nearest.kernel(np.linspace(0.5, 9.0, 60)),
        "band": nearest.band(simulated[0][:, :4], near.weight),
    }


def _learned(rng: np.random.Generator) -> dict[str, Any]:
    """A few steps: what rounding does to a learning grows with them."""
    labels = np.arange(240) % 3
    given = rng.standard_normal((240, 12)) + labels[:, None] * np.linspace(-0.5, 0.6, 12)
    found = network.learn(
        given[:200], labels[:200], classes=3, key=jax.random.key(2), seeds=2, most=4, channels=3,
        errors=0.2 * rng.standard_normal((50, 12)), mirror=np.repeat([1.0, -1.0, 1.0], 4),
        test=(given[200:], labels[200:]),
    )  # fmt: skip
    return {
        "evidence": network.log_evidence(found, given[:6]),
        "temperature": float(found.temperature),
        "held_out": float(found.held_out),
        "centre": found.centre,
        "scale": found.scale,
    }


def _parameters(rng: np.random.Generator) -> dict[str, Any]:
    unit = rng.standard_normal((200, parameters.SIZE))
    given = np.concatenate([np.tanh(unit), 0.2 * rng.standard_normal((200, 6))], axis=1)
    made, seen = parameters.summarise(given, unit, given[0])
    model = parameters.fit(made, unit, seen)
    rows = jnp.asarray(unit[:5])
    return {
        "summaries": (made, seen),
        "model": model,
        "likelihood": jax.vmap(lambda row: parameters.log_likelihood(row, model))(rows),
        "leading": np.abs(parameters.leading(given - given.mean(axis=0), 5)).sum(axis=0),
        "terms": parameters.quadratic(rows[0]),
    }


def _evidence(rng: np.random.Generator) -> dict[str, Any]:
    flights = [rng.standard_normal((60, 2)) + k for k in range(6)]
    weights = [rng.dirichlet(np.ones(60)) for _ in flights]
    broken = [rng.random(60) < 0.3 for _ in flights]
    found, sigma = np.array([1.5, 2.0]), np.array([0.4, 0.7])
    forces = [400.0 * rng.standard_normal(60) for _ in flights]
    item = items.find_item("breaker")
    north, east = rng.standard_normal((2, 8, 30)).cumsum(axis=2)
    return {
        "flown": evidence.from_flights(flights, weights, found, sigma, 0.1),
        "broken": evidence.from_flights(flights, weights, found, sigma, 0.1, broken=broken),
        "table": [evidence.from_table(item, CAUSES, what, 0.2) for what in item.outcomes],
        "parts": evidence.parts_likelihood(CAUSES, -3.0, 0.1),
        "part": evidence.seen_in_part(item, CAUSES, (0.7, *[0.1] * (len(item.outcomes) - 1)), 0.2),
        "stated": evidence.stated_likelihood(CAUSES, {CAUSES[1]: 4.0}, 0.3),
        "strain": [evidence.strain_likelihood(forces, weights, noted=n) for n in (True, False)],
        "raised": evidence.strain_in_part(forces, weights, raised=0.8, doubt=0.1),
        "drift": [
            evidence.drift_after(north, east, last=n, then=25, heading=0.7, drift=(30.0, -8.0))
            for n in (0, 12)
        ],
        "capped": evidence.capped(np.array([-9.0, 0.0, 4.0]), 20.0),
        "items": [items.earlier_item(0.1, {CAUSES[0]: 0.4}).table(CAUSES)],
    }


def _worth(rng: np.random.Generator) -> dict[str, Any]:
    odds = rng.dirichlet(np.ones(len(LISTED)), 4)
    every = [items.find_item(key) for key in ("breaker", "tab", "horizon", "load-sheet")]
    draws = [rng.standard_normal(50) + k for k in range(3)]
    return {
        "rank": value.rank(every, LISTED, odds.mean(axis=0), odds),
        "measured": value.measured_table(draws, np.array([-1.0, 0.5, 2.0]), 0.6, 0.1),
    }


def _odds(rng: np.random.Generator) -> dict[str, Any]:
    runs = rng.standard_normal((5, len(LISTED)))
    prior = grouped_prior(LISTED, None, {LISTED[1]: 3.0})
    truth, odds = rng.integers(0, 4, 60), rng.dirichlet(np.ones(4), 60)
    levels = np.linspace(0.01, 1.0, 12)
    tables = np.sort(-5.0 * rng.random((len(LISTED), 12)), axis=1)
    nulls = Nulls(
        LISTED, levels, tables, rng.uniform(0.5, 2.0, len(LISTED)), 0.1 * rng.random((3, 12)),
        levels[::-1], np.sort(-4.0 * rng.random((3, 12)), axis=1),
    )  # fmt: skip
    more = np.eye(len(LISTED))[-1]
    unsure = [p_listed(nulls, LISTED, runs + k * more, 1) for k in (-4.0, 0.0, 4.0)]
    flown = tuple(SimpleNamespace(name=name) for name in CAUSES[:3])
    return {
        "combined": combine(LISTED, prior, runs),
        "one": combine(LISTED, equal_prior(LISTED), runs[:1]),
        "own": own_weights(LISTED, prior),
        "mechanism": by_mechanism(LISTED, prior),
        "failure": _failure(),
        "p": p_values(nulls, LISTED, runs, 2),
        "unlisted": unsure,
        "scores": (log_score(odds, truth), brier_score(odds, truth)),
        "reliability": reliability(odds, truth),
        "cover": credible_set_cover(odds, truth, 0.8),
        "judged": judge(np.log(odds)[None], truth % 3, flown, (*CAUSES[:3], LISTED[-1])),
        "other": other_airplane(Uncertainty({"neutral_point": 0.02, "pitch_damping": 0.3})).sigma,
    }


def _failure() -> Any:
    names = (str(CauseName.NO_FAILURE), *CAUSES)
    return prior_of_failure(tuple(dict.fromkeys(names)), 0.8)


def _meant(rng: np.random.Generator) -> dict[str, Any]:
    """What is done on purpose, of forty drawn flights at four times."""
    made = {
        p.name: np.asarray(p.prior.quantile(ndtr(rng.standard_normal(40)))) for p in flying.ORDINARY
    }
    for name in ("climbs", "turns", "powers", "steeps", "flaps", "hills", "cuts"):
        made[name] = rng.uniform(0.6, 1.0, 40)
    state = SimpleNamespace(velocity_north=70.0, velocity_east=50.0, velocity_down=-3.0)
    found = {}
    for time in (0.0, 9.0, 21.0, 38.0):
        moment = Moment(time, state, None, passed=1.0 + 0.02 * time)
        done = flying.meant(made, moment, 40.0, 0.2)
        found[f"at {time:g}"] = (done, flying.given_way(made, moment, done))
    return found | {"who": flying.who_flies(made)}
