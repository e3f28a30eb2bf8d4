"""Which likelihood of a flight under a cause is honest, and which is fast?

Flights of six causes are made with another model than the one that is fitted: derivatives off by
20 % instead of 10 %, more and quicker turbulence, a pilot with one lag more, more wind error. Each
candidate then gives odds:

* filter error: an ensemble Kalman filter over the cause's dynamics for each draw of the parameters,
  process noise for gusts and hands, derivatives and wind in the state; evidence is the mean over
  the prior;
* particle filter: parameters, derivatives, gusts and hands all carried by particles, resampled
  where few are left, parameters kept alive by a shrinking kernel (Liu and West 2001);
* synthetic likelihood on features, from the same simulated flights: a normal density for each
  cause, a kernel density, and the ratio learned by a network.

    PYTHONPATH=src python3 experiments/weighing_likelihoods.py --cases 10 --json out.json
"""

from __future__ import annotations

import argparse
import json
import time
from functools import partial
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
from jax.scipy.special import logsumexp
from weighing_plant import (
    CAUSES,
    EVERY,
    FITTED,
    NOISE,
    NUISANCE,
    PARAMETERS,
    STEP,
    TRUTH,
    advance,
    draw,
    fault,
    start,
)

from neutralpoint.weighing.network import learn, log_evidence
from neutralpoint.weighing.odds import posterior
from neutralpoint.weighing.parameters import leading
from neutralpoint.weighing.scores import brier_score, credible_set_cover, log_score

MEMBERS, DRAWS, PARTICLES = 32, 400, 4000


def second_of_flight(cause, states, p, nuisance, key, begin):
    """One second of a batch of flights under the fitted model: states, and what is seen then."""
    noise = jax.random.normal(key, (EVERY, 2, p.shape[0]))

    def step(state, inputs):
        count, now = inputs
        at = (begin * EVERY + count) * STEP

        def one(s, p_, n_, w_):
            return advance(s, fault(cause, p_, at), p_, n_, w_, FITTED)

        return jax.vmap(one)(state, p, nuisance, now.T)

    states, seen = jax.lax.scan(step, states, (jnp.arange(EVERY), noise))
    return states, seen[-1]


def many(count):
    """Trimmed states."""
    return jax.tree.map(lambda x: jnp.broadcast_to(x, (count,)), start())


def drifted(seen, drift, share):
    """Speed as seen with its wind error."""
    return seen.at[:, 1].add(drift[:, 0] * share + drift[:, 1] * share**2)


def filter_error(cause, p, data, key):
    """ln p(data | parameters) by an ensemble Kalman filter."""
    seconds = data.shape[0]
    first, second, rest = jax.random.split(key, 3)
    fixed = jnp.broadcast_to(p, (MEMBERS, PARAMETERS))
    nuisance = jax.random.normal(first, (MEMBERS, NUISANCE))
    drift = FITTED.wind * jax.random.normal(second, (MEMBERS, 2))

    def analyse(carry, inputs):
        states, nuisance, drift = carry
        index, observed = inputs
        k1, k2 = jax.random.split(jax.random.fold_in(rest, index))
        states, seen = second_of_flight(cause, states, fixed, nuisance, k1, index)
        seen = drifted(seen, drift, index / seconds)
        flat = jnp.concatenate([jnp.stack(states, axis=1), nuisance, drift], axis=1)
        away, spread = seen - seen.mean(0), flat - flat.mean(0)
        covariance = away.T @ away / (MEMBERS - 1) + jnp.diag(NOISE**2)
        factor = jnp.linalg.cholesky(covariance)
        white = jax.scipy.linalg.solve_triangular(factor, observed - seen.mean(0), lower=True)
        # Student's t with 5 degrees of freedom instead of the normal: heavy tails.
        size = white.size
        square = jnp.sum(white**2)
        norm = jax.scipy.special.gammaln(0.5 * (5 + size)) - jax.scipy.special.gammaln(2.5)
        log = norm - 0.5 * size * jnp.log(5.0 * jnp.pi) - jnp.sum(jnp.log(jnp.diag(factor)))
        log = log - 0.5 * (5 + size) * jnp.log1p(square / 5.0)
        gain = spread.T @ away / (MEMBERS - 1) @ jnp.linalg.inv(covariance)
        jitter = NOISE * jax.random.normal(k2, seen.shape)
        flat = flat + (observed + jitter - seen) @ gain.T
        count = len(states)
        states = type(states)(*flat[:, :count].T)
        return (states, flat[:, count : count + NUISANCE], flat[:, count + NUISANCE :]), log

    _, logs = jax.lax.scan(analyse, (many(MEMBERS), nuisance, drift), (jnp.arange(seconds), data))
    return jnp.sum(logs)


@partial(jax.jit, static_argnames="cause")
def filter_evidence(cause, data, key):
    """ln Z: mean of the likelihood over draws of the prior."""
    first, second = jax.random.split(key)
    p = jax.random.normal(first, (DRAWS, PARAMETERS))
    keys = jax.random.split(second, DRAWS)
    logs = jax.vmap(lambda p_, k: filter_error(cause, p_, data, k))(p, keys)
    return logsumexp(jnp.nan_to_num(logs, nan=-1e9)) - jnp.log(DRAWS)


@partial(jax.jit, static_argnames="cause")
def particle_evidence(cause, data, key):
    """ln Z by a particle filter that carries the parameters too."""
    seconds = data.shape[0]
    first, rest = jax.random.split(key)
    # Parameters, derivatives and wind error: all standard normal.
    fixed = jax.random.normal(first, (PARTICLES, PARAMETERS + NUISANCE + 2))

    def step(carry, inputs):
        states, fixed, log_weight = carry
        index, observed = inputs
        k1, k2, k3 = jax.random.split(jax.random.fold_in(rest, index), 3)
        p, nuisance = fixed[:, :PARAMETERS], fixed[:, PARAMETERS:-2]
        states, seen = second_of_flight(cause, states, p, nuisance, k1, index)
        seen = drifted(seen, FITTED.wind * fixed[:, -2:], index / seconds)
        white = (observed - seen) / NOISE
        log = -0.5 * jnp.sum(white**2 + jnp.log(2.0 * jnp.pi * NOISE**2), axis=1)
        log = jnp.nan_to_num(log, nan=-1e9)
        total = logsumexp(log_weight + log)
        weight = jnp.exp(log_weight + log - total)
        few = 1.0 / jnp.sum(weight**2) < 0.5 * PARTICLES

        def resample(_):
            chosen = jax.random.choice(k2, PARTICLES, (PARTICLES,), p=weight)
            mean = weight @ fixed
            spread = jnp.sqrt(weight @ (fixed - mean) ** 2)
            shrunk = 0.98 * fixed[chosen] + 0.02 * mean
            fresh = shrunk + (1.0 - 0.98**2) ** 0.5 * spread * jax.random.normal(k3, fixed.shape)
            return (
                jax.tree.map(lambda x: x[chosen], states),
                fresh,
                jnp.full(PARTICLES, -jnp.log(PARTICLES)),
            )

        def keep(_):
            return states, fixed, log_weight + log - total

        return jax.lax.cond(few, resample, keep, None), total

    even = jnp.full(PARTICLES, -jnp.log(PARTICLES))
    _, logs = jax.lax.scan(step, (many(PARTICLES), fixed, even), (jnp.arange(seconds), data))
    return jnp.sum(logs)


def reduced(seen):
    """Means over three seconds of what is seen, standardised later."""
    n, seconds, kinds = seen.shape
    use = 3 * (seconds // 3)
    return np.asarray(seen)[:, :use].reshape(n, use // 3, 3, kinds).mean(2).reshape(n, -1)


def simulate(count, seed):
    """Training flights of the fitted model."""
    parts = [
        reduced(draw(c, jax.random.key(1000 * seed + c), count, FITTED)[1])
        for c in range(len(CAUSES))
    ]
    return np.concatenate(parts), np.repeat(np.arange(len(CAUSES)), count)


def scaled(train, other):
    """Standardised like the network does."""
    middle, width = np.median(train, 0), np.diff(np.quantile(train, (0.05, 0.95), 0), axis=0) / 3.29
    return np.arcsinh((train - middle) / width), np.arcsinh((other - middle) / width)


def densities(train, labels, other, kernel, components):
    """ln p(features | cause) by a normal density or a kernel density of the leading components."""
    train, other = scaled(train, other)
    middle = train.mean(0)
    basis = leading(train - middle, components)
    train, other = (train - middle) @ basis, (other - middle) @ basis
    found = []
    for cause in range(len(CAUSES)):
        mine = train[labels == cause]
        covariance = np.cov(mine.T) + 0.02 * np.eye(components)
        if kernel:  # Silverman's rule
            covariance *= (4.0 / (components + 2.0) / len(mine)) ** (2.0 / (components + 4.0))
        factor = np.linalg.cholesky(covariance)
        places = mine if kernel else mine.mean(0)[None]
        a, b = np.linalg.solve(factor, places.T).T, np.linalg.solve(factor, other.T).T
        square = (b**2).sum(1)[:, None] + (a**2).sum(1) - 2.0 * b @ a.T
        log = -0.5 * square - np.log(np.diag(factor)).sum()
        found.append(np.asarray(logsumexp(jnp.asarray(log), axis=1)) - np.log(len(places)))
    return np.stack(found, 1)


def judged(each, truth):
    """Scores of log evidence of shape (seeds, cases, causes)."""
    prior = np.full(len(CAUSES), 1.0 / len(CAUSES))

    def at(temper):
        return posterior(prior, each / temper).mean(0)

    tempers = (1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 13.0)
    scores = [np.log(at(t)[np.arange(truth.size), truth] + 1e-12).mean() for t in tempers]
    best = int(np.argmax(scores))
    plain, tempered = at(1.0), at(tempers[best])
    against = each - each[:, :, :1]
    return {
        "log score": float(np.log(plain[np.arange(truth.size), truth] + 1e-12).mean()),
        "best temper": tempers[best],
        "log score tempered": float(log_score(tempered, truth).mean()),
        "brier": float(brier_score(plain, truth).mean()),
        "true cause below 1 %": float((plain[np.arange(truth.size), truth] < 0.01).mean()),
        "below 1 % tempered": float((tempered[np.arange(truth.size), truth] < 0.01).mean()),
        "cover of 90 % sets": float(credible_set_cover(plain, truth).mean()),
        "sd of ln B over seeds": float(np.median(against.std(0, ddof=1)[:, 1:])),
    }


def sequential(evidence, data, seeds):
    """Log evidence (seeds, cases, causes) by a filter, and ms a likelihood."""
    found = np.empty((seeds, len(data), len(CAUSES)))
    jitted = {c: jax.jit(jax.vmap(lambda d, k, c=c: evidence(c, d, k))) for c in range(len(CAUSES))}
    chunk = 8 if jax.default_backend() == "cpu" else len(data)
    spent = 0.0
    for cause, run in jitted.items():
        for seed in range(seeds):
            for at in range(0, len(data), chunk):
                part = data[at : at + chunk]
                keys = jax.random.split(jax.random.key(77 * seed + at), len(part))
                begin = time.perf_counter()
                found[seed, at : at + chunk, cause] = run(part, keys)
                if seed or at:
                    spent += time.perf_counter() - begin
    runs = len(CAUSES) * (seeds * len(data) - min(chunk, len(data)))
    return found, 1e3 * spent / runs


def synthetic(method, data, seeds, count):
    """Log evidence by a density of features or by the network, and ms a case and cause."""
    observed, found, spent = reduced(data), [], 0.0
    for seed in range(seeds):
        train, labels = simulate(count, seed + 1)
        begin = time.perf_counter()
        if method == "network":
            net = learn(train, labels, classes=len(CAUSES), key=jax.random.key(seed), seeds=1)
            found.append(log_evidence(net, observed)[0])
        else:
            found.append(densities(train, labels, observed, method == "kernel", 12))
        spent += time.perf_counter() - begin
    return np.stack(found), 1e3 * spent / seeds / len(CAUSES)


def main():
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=10, help="of each cause")
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--flights", type=int, default=1000, help="of each cause")
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    device = jax.devices()[0]
    result = {"device": f"{device.platform}: {device.device_kind}", "cases": 6 * options.cases}
    for world, model in (("same model", FITTED), ("other model", TRUTH)):
        parts = [
            draw(c, jax.random.key(900 + c), options.cases, model)[1] for c in range(len(CAUSES))
        ]
        data, truth = jnp.concatenate(parts), np.repeat(np.arange(len(CAUSES)), options.cases)
        rows = {}
        for name, evidence in (("filter", filter_evidence), ("particle", particle_evidence)):
            each, cost = sequential(evidence, data, options.seeds)
            rows[name] = judged(each, truth) | {"ms": cost}
            print(world, name, rows[name], flush=True)
        for name in ("normal", "kernel", "network"):
            each, cost = synthetic(name, data, options.seeds, options.flights)
            rows[name] = judged(each, truth) | {"ms": cost}
            print(world, name, rows[name], flush=True)
        result[world] = rows
    if options.json:
        options.json.write_text(json.dumps(result, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main()
