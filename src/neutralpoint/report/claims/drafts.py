"""Claims that the findings bear, proposed to the analyst; nobody has to say them."""

from __future__ import annotations

from neutralpoint.findings import (
    CauseOdds,
    CauseVerdict,
    Claim,
    ClaimedNumber,
    Findings,
    KeyTime,
    Verdict,
    printed_probability,
    said_likelihood,
)
from neutralpoint.findings.claims import Extreme
from neutralpoint.findings.likelihood import Agreement, Evidence
from neutralpoint.report.figures.display import SHOWN
from neutralpoint.report.words.phrases import time_of_day
from neutralpoint.report.words.sections import sections_of

BAND = 0.9
# Levels of the words can and cannot (moments.judge), and ten times beyond them.
ABLE, UNABLE = 0.05, 0.01
CLEAR_FIT, CLEAR_MISS = 0.5, 1e-3
# Label of the key time, variable, what it is called in a sentence.
EXTREMES = (
    ("highest altitude", "altitude", "The greatest height above mean sea level"),
    ("steepest descent", "flight_path_angle", "The flight path angle in the steepest descent"),
    ("lowest load factor", "normal_load_factor", "The lowest normal load factor"),
    ("highest load factor", "normal_load_factor", "The highest normal load factor"),
    (
        "highest calibrated airspeed",
        "calibrated_airspeed",
        "The highest calibrated airspeed",
    ),
)
SAID = {
    "cannot": "could not have flown this path with the airplane as described{share}",
    "can if": "could have flown this path only if {condition}{share}; the data do not show that "
    "it did",
    "can": "could have flown this path{share}; the data do not show that it did",
}


def draft_claims(findings: Findings) -> list[Claim]:
    """Claims that hold as they stand.

    Args:
        findings: The document.

    Returns:
        One for each extreme of the motion that is observable, and one for each cause: its verdict
        where it is excluded or was not weighed, its odds otherwise.
    """
    times = {row.label: row for row in findings.key_times}
    extremes = [
        _extreme(findings, times[label], name, opening)
        for label, name, opening in EXTREMES
        if label in times and name in times[label].values and times[label].values[name].observable
    ]
    digests = {file.path: file.sha256 for file in findings.results}
    said = sections_of(findings)
    verdicts = [verdict for section in said for verdict in section.verdicts]
    rows = [row for section in said for row in section.odds]
    weighed = {row.cause for row in rows}
    own = findings.moments.verdicts if findings.moments else []
    numbers: dict[str, Verdict] = {one.cause: one for one in own}
    excluded = {v.cause for v in verdicts if v.word == "cannot"}
    judged = [
        _verdict(v, numbers.get(v.cause), digests)
        for v in verdicts
        if v.word in SAID and (v.cause in excluded or v.cause not in weighed)
    ]
    odds = {file.path: file.sha256 for file in findings.results if file.stage == "weighing"}
    first = max(rows, key=lambda row: row.probability).cause if rows else ""
    likely = [
        _odds(row, odds or digests, leads=row.cause == first)
        for row in rows
        if row.cause not in excluded
    ]
    return [*extremes, *judged, *likely]


def extreme_of(label: str) -> Extreme:
    """Which end of the values a key time is."""
    return "highest" if label.startswith("highest") else "lowest"


def slug(text: str) -> str:
    """A short name in small letters, digits and hyphens."""
    kept = "".join(c if c.isascii() and c.isalnum() else " " for c in text.lower())
    return "-".join(kept.split())


def _extreme(findings: Findings, row: KeyTime, name: str, opening: str) -> Claim:
    shown, value = SHOWN[name], row.values[name]
    # Rounded outwards, so that what is printed still holds 90%.
    grain = 10.0**-shown.decimals * shown.factor / 2.0
    low, high = value.low90 - grain, value.high90 + grain
    ends = f"{shown.number(low)} and {shown.with_unit(shown.number(high))}"
    return Claim(
        name=slug(row.label),
        says=f"{opening} was {said_likelihood(BAND)} between {ends}, at "
        f"{time_of_day(findings, row.time)} UTC.",
        kind="derived",
        data=["motion.nc", *(s.path for s in findings.sources if s.role != "airplane")],
        method="motion: smoothing of the track with the wind's error; 200 joint sample paths",
        number=ClaimedNumber(
            quantity=name, time=row.time, low=low, high=high, extreme=extreme_of(row.label)
        ),
        likelihood=BAND,
        evidence="medium",
        agreement="medium",
        results=_digests(findings, "motion.nc"),
    )


def _digests(findings: Findings, name: str) -> dict[str, str]:
    return {file.path: file.sha256 for file in findings.results if file.path == name}


def _verdict(verdict: CauseVerdict, judged: Verdict | None, digests: dict[str, str]) -> Claim:
    share = ""
    if verdict.probability is not None:
        percent = (
            f"{100.0 * verdict.probability:.1f}" if verdict.probability >= 5e-4 else "under 0.1"
        )
        share = f" (p-value {percent}%)"
    basis = [name for name in verdict.basis if name in digests] or list(digests)[-1:]
    condition = verdict.condition or "a condition holds"
    said = SAID[verdict.word].format(condition=condition, share=share)
    return Claim(
        name=slug(verdict.cause),
        says=f"{verdict.said[:1].upper()}{verdict.said[1:]} {said}.",
        kind="inferred",
        data=basis,
        method="moments: the needed history against each cause",
        cause=verdict.cause,
        evidence=_evidence(judged),
        agreement=_agreement(judged),
        results={name: digests[name] for name in basis},
    )


def _evidence(verdict: Verdict | None) -> Evidence:
    """Robust where the word is far from its level, limited where it rests on rare errors."""
    if verdict is None:
        return "medium"
    share = verdict.probability
    if share is None or (verdict.granted is not None and verdict.granted.grant == "large-errors"):
        return "limited"
    return "robust" if share < CLEAR_MISS or share > CLEAR_FIT else "medium"


def _agreement(verdict: Verdict | None) -> Agreement:
    """High where every kind of hands says the same, low where they say the opposite."""
    shares = [] if verdict is None else [row.probability for row in verdict.hands]
    if not shares:
        return "medium"
    if all(share < UNABLE for share in shares) or all(share >= ABLE for share in shares):
        return "high"
    return "low" if min(shares) < UNABLE and max(shares) >= ABLE else "medium"


def _odds_band(odds: CauseOdds) -> str:
    """The band in words; nothing where both ends read alike."""
    low, high = printed_probability(odds.lowest), printed_probability(odds.highest)
    return "" if low == high else f", from {low} to {high} over the networks"


def _odds(odds: CauseOdds, digests: dict[str, str], *, leads: bool) -> Claim:
    basis = list(digests)[-1:]
    spoken = odds.said[:1].lower() + odds.said[1:]
    # A leading cause can be "unlikely" by the scale: it is never called that without its rank.
    opening = (
        f"The most probable of the causes listed and an unlisted one is {spoken}:"
        if leads
        else f"Of the causes listed and an unlisted one, {spoken} is"
    )
    return Claim(
        name=f"odds-{slug(odds.cause)}",
        says=f"{opening} {said_likelihood(odds.probability)}{_odds_band(odds)}.",
        kind="inferred",
        data=basis,
        method="weighing: simulated flights of each cause against the track",
        cause=odds.cause,
        likelihood=odds.probability,
        evidence="medium",
        agreement="medium",
        results={name: digests[name] for name in basis},
    )
