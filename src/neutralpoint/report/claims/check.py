"""Whether the findings bear what a claim says.

A claim that states a number is judged by the sample paths: the share of them inside the interval
claimed is the most that may be said of its likelihood. A claim about a cause is judged by the
verdict and the odds of that cause.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from neutralpoint.findings import (
    CheckedClaim,
    Claim,
    ClaimedNumber,
    Doubt,
    Findings,
    banded,
    confidence_word,
    odds_of,
    said_likelihood,
    verdicts_of,
)
from neutralpoint.numerics.arrays import Array
from neutralpoint.vocabulary import CIRCULAR, CauseName

UNLIKELY = 0.10  # most that may be said of a cause whose verdict is "cannot": "very unlikely"
# How a sentence denies the cause that it is about. English and heuristic, as the rules of wording.
DENIED = re.compile(
    r"\b(?:was|is|were|are|did|does|has|had|could|can) ?(?:not|no|never|n['\u2019]t)\b"
    r"|\b(?:is|was|are|were) (?:excluded|impossible|ruled out)\b",
    re.IGNORECASE,
)
WITHIN_SAMPLING = 2.0  # standard errors of a share of sample paths


@dataclass(frozen=True)
class Sampled:
    """Samples of one quantity at one time or of its extreme, SI, and whether the data bear it."""

    samples: Array
    observable: bool
    unit: str


Lookup = Callable[[ClaimedNumber], Sampled | None]


def check_claim(claim: Claim, findings: Findings, lookup: Lookup) -> CheckedClaim:
    """Check a claim against the findings.

    Args:
        claim: What the analyst wants to say.
        findings: The document.
        lookup: Samples of what a number speaks of; None where there are none.

    Returns:
        The claim with every doubt.
    """
    doubts = _sources(claim, findings) + _standing(claim, findings)
    borne = None
    if claim.number is not None:
        borne, more = _number(claim, claim.number, lookup)
        doubts += more
    if claim.cause:
        doubts += _cause(claim, findings)
    confidence = ""
    if claim.evidence is not None and claim.agreement is not None:
        confidence = confidence_word(claim.evidence, claim.agreement)
    return CheckedClaim(
        claim=claim,
        said_likelihood="" if claim.likelihood is None else said_likelihood(claim.likelihood),
        confidence=confidence,
        borne=borne,
        doubts=doubts,
    )


def _sources(claim: Claim, findings: Findings) -> list[Doubt]:
    results = {file.path: file.sha256 for file in findings.results}
    known = {source.path for source in findings.sources} | set(results) | {"findings.json"}
    unknown = [
        Doubt(code="source-unknown", about=name)
        for name in (*claim.data, *claim.results)
        if name not in known
    ]
    moved = [
        Doubt(code="results-changed", about=name)
        for name, digest in claim.results.items()
        if name in results and results[name] != digest
    ]
    return unknown + moved


def _standing(claim: Claim, findings: Findings) -> list[Doubt]:
    if claim.kind == "fact":
        if claim.likelihood is None:
            return []
        return [Doubt(code="likelihood-of-fact")]
    doubts = []
    # A cause that is excluded is said to be that, without a likelihood.
    excluded = any(v.cause == claim.cause and v.word == "cannot" for v in verdicts_of(findings))
    weighed = not claim.cause or any(o.cause == claim.cause for o in odds_of(findings))
    if claim.likelihood is None and weighed and not excluded:
        doubts.append(Doubt(code="likelihood-missing"))
    if claim.evidence is None or claim.agreement is None:
        doubts.append(Doubt(code="confidence-missing"))
    return doubts


def _number(
    claim: Claim, number: ClaimedNumber, lookup: Lookup
) -> tuple[float | None, list[Doubt]]:
    found = lookup(number)
    if found is None:
        return None, [Doubt(code="quantity-unknown", about=number.quantity)]
    if not found.observable:
        return None, [Doubt(code="not-observable", about=number.quantity)]
    samples, middle = found.samples, (number.low + number.high) / 2.0
    if number.quantity in CIRCULAR:
        samples = samples - 2.0 * np.pi * np.round((samples - middle) / (2.0 * np.pi))
    borne = float(np.mean((samples >= number.low) & (samples <= number.high)))
    doubts = []
    band = banded(samples, found.unit)
    said = middle if number.value is None else number.value
    if not band.low90 <= said <= band.high90:
        doubts.append(Doubt(code="outside-band", about=number.quantity))
    spread = WITHIN_SAMPLING * np.sqrt(
        max(borne * (1.0 - borne), 1.0 / len(samples)) / len(samples)
    )
    if claim.likelihood is not None and claim.likelihood > borne + spread:
        doubts.append(Doubt(code="likelihood-too-high", stated=claim.likelihood, found=borne))
    return borne, doubts


def _cause(claim: Claim, findings: Findings) -> list[Doubt]:
    verdict = next((v for v in verdicts_of(findings) if v.cause == claim.cause), None)
    odds = next((o for o in odds_of(findings) if o.cause == claim.cause), None)
    if verdict is None and odds is None:
        return [Doubt(code="cause-unknown", about=claim.cause)]
    doubts = []
    said = claim.likelihood
    if said is not None and denies(claim):
        said = 1.0 - said  # of the cause, as verdict and odds are
    if said is not None and verdict is not None and verdict.word == "cannot" and said > UNLIKELY:
        doubts.append(Doubt(code="verdict-against", about=claim.cause, stated=said))
    if said is not None and odds is None:
        doubts.append(Doubt(code="cause-without-odds", about=claim.cause, stated=said))
    elif said is not None and odds is not None and not odds.lowest <= said <= odds.highest:
        doubts.append(
            Doubt(
                code="outside-odds",
                about=claim.cause,
                stated=said,
                found=odds.probability,
                lowest=odds.lowest,
                highest=odds.highest,
            )
        )
    return doubts


def denies(claim: Claim) -> bool:
    """Whether a claim says that its cause was not at work.

    Args:
        claim: About a cause.

    Returns:
        True where its sentence denies; never of no failure, which is a denial as it stands.
    """
    return claim.cause != CauseName.NO_FAILURE and DENIED.search(claim.says) is not None
