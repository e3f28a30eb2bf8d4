"""The results of two studies row by row: each in words, and whether it left its band."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from neutralpoint.findings import Banded, Findings
from neutralpoint.report.figures.display import SHOWN
from neutralpoint.report.words.onset import HEADLINES, headline_of
from neutralpoint.report.words.phrases import percent, small_percent, time_of_day
from neutralpoint.vocabulary import QUANTITIES

NONE = "\u2013"
WORDS = {
    "can": "possible",
    "can if": "possible only if",
    "cannot": "excluded",
    "not judged": "not tested",
}
BEYOND, WITHIN, SAME, ALONE = (
    "beyond its band",
    "within its band",
    "same",
    "in one study alone",
)


@dataclass(frozen=True)
class MovedResult:
    """One result in both studies.

    Attributes:
        topic: What it is about.
        name: Of the result.
        before: In words, with its band.
        after: The same of the second study.
        size: `beyond its band`, `within its band`, `same`, or `in one study alone`.
        low: Lower ends of its band in both, for a drawing; empty where it is a word.
        middle: Middles.
        high: Upper ends.
    """

    topic: str
    name: str
    before: str
    after: str
    size: str
    low: tuple[float, ...] = ()
    middle: tuple[float, ...] = ()
    high: tuple[float, ...] = ()


@dataclass(frozen=True)
class _Value:
    """A result of one study: a word, or a number with its band."""

    said: str
    band: tuple[float, float, float] | None = None


def results_of(before: Findings, after: Findings) -> list[MovedResult]:
    """Every result that both documents can hold.

    Args:
        before: Of the first study.
        after: Of the second.

    Returns:
        Onset, verdicts, odds, required moment, nearest flights, time to act, values at key times.
    """
    topics: dict[str, Callable[[Findings], dict[str, _Value]]] = {
        "Onset": _onset,
        "Verdict": _verdicts,
        "Odds": _odds,
        "Required moment": _needs,
        "Nearest simulated flight": _flights,
        "Time to act": _time,
        "Flight path": _path,
    }
    return [
        row for topic, read in topics.items() for row in _rows(topic, read(before), read(after))
    ]


def _rows(topic: str, first: dict[str, _Value], second: dict[str, _Value]) -> Iterator[MovedResult]:
    for name in dict.fromkeys((*first, *second)):
        a, b = first.get(name), second.get(name)
        if a is None or b is None:
            said = (NONE if a is None else a.said, NONE if b is None else b.said)
            yield MovedResult(topic, name, *said, ALONE)
            continue
        bands = tuple(zip(a.band, b.band, strict=True)) if a.band and b.band else ((), (), ())
        yield MovedResult(topic, name, a.said, b.said, _size(a, b), *bands)


def _size(a: _Value, b: _Value) -> str:
    if a == b:
        return SAME
    if a.band is None or b.band is None:
        return BEYOND if a.said != b.said else SAME
    outside = not a.band[0] <= b.band[1] <= a.band[2] or not b.band[0] <= a.band[1] <= b.band[2]
    return BEYOND if outside else (SAME if a.said == b.said else WITHIN)


def _onset(findings: Findings) -> dict[str, _Value]:
    headline = headline_of(findings)
    if headline is None:
        return {}
    found = {"headline": _Value(HEADLINES[headline.word])}
    shown = None if findings.motion is None else findings.motion.onset
    if shown is not None and shown.left:
        low, middle, high = (shown.left[k] for k in (0, 2, 4))
        clocks = [time_of_day(findings, one) for one in (low, middle, high)]
        since = findings.epoch.timestamp()
        found["time, UTC"] = _Value(
            f"{clocks[1]} (90%: {clocks[0]} to {clocks[2]})",
            (since + low, since + middle, since + high),
        )
        found["probability of a departure"] = _Value(percent(shown.probability))
    return found


def _verdicts(findings: Findings) -> dict[str, _Value]:
    rows = [] if findings.judgement is None else findings.judgement.rows
    return {row.cause.title: _Value(WORDS[row.word]) for row in rows}


def _odds(findings: Findings) -> dict[str, _Value]:
    rows = [] if findings.judgement is None else findings.judgement.rows
    return {
        row.cause.title: _Value(
            f"{small_percent(odds.probability)} ({small_percent(odds.lowest)} to "
            f"{small_percent(odds.highest)})",
            (odds.lowest, odds.probability, odds.highest),
        )
        for row in rows
        if (odds := row.odds) is not None
    }


def _needs(findings: Findings) -> dict[str, _Value]:
    rows = [] if findings.judgement is None else findings.judgement.rows
    return {
        f"{QUANTITIES[need.quantity].title}, {row.cause.title.lower()}": _number(
            need.quantity, need.low90, need.median, need.high90
        )
        for row in rows
        for need in row.needs
        if need.quantity in QUANTITIES
    }


def _flights(findings: Findings) -> dict[str, _Value]:
    rows = [] if findings.judgement is None else findings.judgement.rows
    return {
        row.cause.title: _Value(f"misfit {row.best_flight.distance:.1f} standard deviations")
        for row in rows
        if row.best_flight is not None
    }


def _time(findings: Findings) -> dict[str, _Value]:
    rows = [] if findings.response is None else findings.response.rows
    found = {}
    for row in rows:
        for name, saved in ((row.nothing, row.nothing_saved), (row.reference, row.reference_saved)):
            found[f"{row.cause.title}, {name}"] = _Value(
                f"{percent(saved.share)} recover (95%: {percent(saved.low95)} to "
                f"{percent(saved.high95)})",
                (saved.low95, saved.share, saved.high95),
            )
    return found


def _path(findings: Findings) -> dict[str, _Value]:
    return {
        f"{QUANTITIES[name].title} at {entry.label}": _banded(name, value)
        for entry in findings.key_times
        for name, value in entry.values.items()
        if name in QUANTITIES and not SHOWN[name].wrap  # a direction has no low and high end
    }


def _banded(name: str, value: Banded) -> _Value:
    if not value.observable:
        return _Value("not observable")
    return _number(name, value.low90, value.median, value.high90)


def _number(name: str, low: float, middle: float, high: float) -> _Value:
    shown = SHOWN[name]
    said = [shown.number(one) for one in (low, middle, high)]
    return _Value(f"{shown.with_unit(said[1])} (90%: {said[0]} to {said[2]})", (low, middle, high))
