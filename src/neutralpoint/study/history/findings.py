"""What the stage `history` says of the flight of the case among the others."""

from __future__ import annotations

from datetime import UTC, datetime, time
from typing import TYPE_CHECKING

import numpy as np

from neutralpoint.findings import (
    HistoryChange,
    HistoryDifference,
    HistoryEvent,
    HistoryEvidence,
    HistoryFindings,
    HistoryMeasure,
    HistoryPlace,
    HistorySeries,
    HistoryStanding,
    HistoryTrouble,
    HistoryTurn,
)
from neutralpoint.history.changed import ChangedTail
from neutralpoint.history.changes import EVER, FoundChange, difference, find_change
from neutralpoint.history.compare import RATE, kept_by_rate, place_in, scaled
from neutralpoint.history.fleet import Fleet
from neutralpoint.history.screening import Outlying, Screened
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.study.history.file import HISTORY_FILE
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.measure import MEASURES
from neutralpoint.weighing.items import EVENTS_OTHERWISE, EVENTS_WITH_FAULT

if TYPE_CHECKING:
    from neutralpoint.study.history.work_out import ComparedFlight

LISTED = 50  # of troubles, events, flights and airplanes that the findings name; all are counted


def history_findings(
    found: ComparedFlight, screened: Screened, changed: tuple[ChangedTail, ...]
) -> HistoryFindings:
    """The part of the findings that speaks of earlier flights.

    Args:
        found: The flight of the case among the others.
        screened: The fleet, screened.
        changed: Airplanes of it that changed.

    Returns:
        That part.
    """
    fleet, entry = found.fleet, found.case.document.history
    measures, tested = _measures(found)
    troubles = sorted(fleet.troubles, key=lambda one: (one.file, one.row))
    kinds = np.unique(fleet.kind[found.own])
    return HistoryFindings(
        file=HISTORY_FILE,
        tracks=found.tracks,
        address=found.address,
        type_name=str(kinds[0]) if kinds.size else "",
        own=int(found.own.sum()),
        later=int(found.later.sum()),
        others=int(found.others.sum()),
        airplanes=int(np.unique(fleet.address[found.others]).size),
        rows=fleet.read,
        rate=RATE,
        tested=tested,
        measures=measures,
        series=_series(found),
        changed="" if entry is None or entry.changed is None else entry.changed.isoformat(),
        events=_events(fleet, found.own)[:LISTED],
        evidence=_evidence(found),
        troubles=[
            HistoryTrouble(file=t.file, row=t.row, reason=t.reason, count=t.count, detail=t.detail)
            for t in troubles[:LISTED]
        ],
        troubled_rows=sum(t.count for t in troubles if t.row),
        troubled_files=len({t.file for t in troubles if not t.row}),
        flights_out=[_standing(fleet, one, whole=False) for one in screened.flights[:LISTED]],
        airplanes_out=[_standing(fleet, one, whole=True) for one in screened.tails[:LISTED]],
        airplanes_changed=[_turn(fleet, one) for one in changed[:LISTED]],
        flights_tested=screened.tested[0],
        airplanes_tested=screened.tested[1],
    )


def moment(seconds: float) -> datetime:
    """A time of a track as date and time, UTC."""
    return datetime.fromtimestamp(round(float(seconds)), UTC)


def _measures(found: ComparedFlight) -> tuple[list[HistoryMeasure], int]:
    """Every measure of the flight, and how many were compared with earlier flights."""
    known = {n: v for n, v in found.values.items() if np.isfinite(v[0])}
    own = {name: _place(found, name, found.own) for name in known}
    kind = {name: _place(found, name, found.others) for name in known}
    both = [own, kind]
    chances = np.array(
        [[p.chance if (p := side[name]) is not None else np.nan for name in known] for side in both]
    )
    # One control over all comparisons of the flight; own flights or, beside them, the type.
    kept = kept_by_rate(chances) if known else np.zeros((2, 0), bool)
    named = np.atleast_1d(kept.any(axis=0))
    rows = [
        HistoryMeasure(
            name=name,
            unit=MEASURES[name].unit,
            value=value,
            sigma=sigma if np.isfinite(sigma) else None,
            own=own[name],
            kind=kind[name],
            unusual=bool(named[number]),
        )
        for number, (name, (value, sigma)) in enumerate(known.items())
    ]
    return rows, int(np.isfinite(chances).sum()) if known else 0


def _place(found: ComparedFlight, name: str, family: Flags) -> HistoryPlace | None:
    value, sigma = found.values[name]
    values = found.fleet.values[name][:, family]
    errors = values[1][np.isfinite(values[1])]
    usual = float(np.median(errors)) if errors.size else 0.0
    place = place_in(name, values[0], value, sigma, usual)
    if place is None:
        return None
    return HistoryPlace(
        count=place.count,
        percentile=place.percentile,
        low95=place.low,
        high95=place.high,
        chance=min(place.chance, 1.0),
        middle=place.middle,
        low90=place.low90,
        high90=place.high90,
    )


def _series(found: ComparedFlight) -> list[HistorySeries]:
    """Changes along the earlier flights, and before against after the stated date."""
    fleet, entry = found.fleet, found.case.document.history
    at = None
    if entry is not None and entry.changed is not None:
        at = datetime.combine(entry.changed, time(), UTC).timestamp()
    start = fleet.start[found.own]
    rows, differences = [], {}
    for name in MEASURES:
        values = fleet.values[name][0, found.own]
        good = np.isfinite(values)
        scale = scaled(name, values[good], values)
        when = start[good]
        change = find_change(scale, EVER / len(MEASURES))
        if at is not None:
            differences[name] = (
                difference(scale[when < at], scale[when >= at]),
                int((when < at).sum()),
                int((when >= at).sum()),
            )
        rows.append((name, change, when))
    kept = _kept(differences)
    return [
        HistorySeries(
            name=name,
            unit=MEASURES[name].unit,
            change=None
            if change is None
            else _change(change, when[[change.at, change.low, change.high]]),
            difference=kept.get(name),
        )
        for name, change, when in rows
        if change is not None or name in kept
    ]


def _change(found: FoundChange, when: Array) -> HistoryChange:
    """A change with the starts of the flights at its middle and ends."""
    at, low, high = (moment(float(start)) for start in when)
    chance = min(found.probability, 1.0)
    return HistoryChange(probability=chance, at=at, low90=low, high90=high, by=found.by)


def _turn(fleet: Fleet, one: ChangedTail) -> HistoryTurn:
    rows = zip(one.changes, fleet.start[one.at], strict=True)
    return HistoryTurn(
        address=str(fleet.address[one.flight]),
        measures=list(one.measures),
        changes=[_change(change, when) for change, when in rows],
    )


def _kept(differences: dict) -> dict[str, HistoryDifference]:
    """Differences with whether each is named, by one control over all of them."""
    known = {name: one for name, one in differences.items() if one[0] is not None}
    named = kept_by_rate(np.array([one[0][2] for one in known.values()]))
    return {
        name: HistoryDifference(
            before=before,
            after=after,
            by=by,
            half95=half,
            chance=min(chance, 1.0),
            named=bool(named[number]),
        )
        for number, (name, ((by, half, chance), before, after)) in enumerate(known.items())
    }


def _events(fleet: Fleet, own: Flags) -> list[HistoryEvent]:
    if not len(fleet.events):
        return []
    whose = fleet.events[:, 0].astype(np.intp)
    return [
        HistoryEvent(
            start=moment(float(fleet.start[flight])),
            into=float(into),
            vertical_speed=float(rate),
            onset_probability=float(chance) if np.isfinite(chance) else None,
            onset=float(began) if np.isfinite(began) else None,
            file=str(fleet.file[flight]),
        )
        for flight, (_, into, rate, chance, began) in zip(whose, fleet.events, strict=True)
        if own[flight]
    ]


def _evidence(found: ComparedFlight) -> HistoryEvidence | None:
    """Events on earlier flights of the airplane, with the chances that the odds take.

    Source: events of other airplanes are counted as a Poisson process, its rate by Jeffreys' rule,
        (k + 1/2) / T; chance of as many or more in the time that the airplane flew.
    """
    from scipy.stats import nbinom

    fleet, entry = found.fleet, found.case.document.history
    whose = fleet.events[:, 0].astype(np.intp)
    own, others = int(found.own[whose].sum()), int(found.others[whose].sum())
    if not own:
        return None
    flown = float(fleet.length[found.own].sum())
    beside = float(fleet.length[found.others].sum())
    told = None if entry is None else entry.events_otherwise
    origin = "table"
    ordinary = EVENTS_OTHERWISE if told is None else told
    if told is None and beside > flown:
        # A Poisson count of unknown rate is negative binomial.
        ordinary = float(nbinom.sf(own - 1, others + 0.5, beside / (beside + flown)))
        ordinary, origin = float(np.clip(ordinary, 0.005, 0.99)), "type"
    stated = {} if entry is None else entry.events_with_fault
    fault = {CauseName(name): chance for name, chance in {**EVENTS_WITH_FAULT, **stated}.items()}
    return HistoryEvidence(
        events=own,
        flown=flown,
        ordinary=ordinary,
        ordinary_from=origin,
        fault=fault,
        doubt=0.5 if entry is None else entry.doubt,
    )


def _standing(fleet: Fleet, one: Outlying, *, whole: bool) -> HistoryStanding:
    return HistoryStanding(
        address=str(fleet.address[one.flight]),
        start=None if whole else moment(fleet.start[one.flight]),
        file="" if whole else str(fleet.file[one.flight]),
        measures=list(one.measures),
        out=list(one.out),
        chances=[min(chance, 1.0) for chance in one.chances],
    )
