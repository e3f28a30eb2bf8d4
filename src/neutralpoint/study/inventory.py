"""What a case holds, as the findings document says it."""

from __future__ import annotations

from typing import TypedDict

from neutralpoint.case import Case, Happening, LoadedSource
from neutralpoint.errors import NeutralPointError
from neutralpoint.findings import (
    Assumption,
    DataGap,
    Event,
    FlaggedRow,
    ReadingStep,
    RefusedRows,
    Source,
    Subject,
    Warned,
)
from neutralpoint.motion import Motion
from neutralpoint.sources import SourceReport
from neutralpoint.vocabulary import QUANTITIES

# What the method takes for granted whatever the case says.
METHOD = (
    (
        "no sideslip",
        "coordinated flight",
        "Bank and angle of attack are wrong where the airplane slips or spins.",
    ),
    (
        "thrust along the path",
        "no component across it",
        "Angle of attack by less than half a degree for thrust over weight below 0.3.",
    ),
    (
        "ordinary vertical air motion",
        "+- 0.8 m/s",
        "Path angle and angle of attack where there are storms or hills.",
    ),
)


def subject(case: Case) -> Subject:
    """What the case is about."""
    document = case.document
    airplane = document.airplane
    name = f"{airplane.name}, {airplane.registration}" if airplane.registration else airplane.name
    return Subject(
        title=document.title,
        question=document.question,
        airplane=name,
        place=document.place,
        invented=document.invented,
    )


def inventory(case: Case) -> list[Source]:
    """Every file with its hash and what was found in it."""
    return [_source(source) for source in case.sources]


def _source(loaded: LoadedSource) -> Source:
    known = Source(role=loaded.role, path=loaded.path, sha256=loaded.sha256, size=loaded.size)
    report = loaded.report
    if report is None:
        return known
    found = {
        "rows_read": report.rows_read,
        "refused": [
            RefusedRows(reason=r.reason, count=r.count, rows=list(r.rows)) for r in report.refused
        ],
        "first": report.first,
        "last": report.last,
        "assumed": list(report.assumed),
    }
    return known.model_copy(update=found | _quality(report))


def _quality(report: SourceReport) -> dict[str, object]:
    """Interval, clock, steps and gaps, from the positions where there are any."""
    main = report.quality.get("position") or next(iter(report.quality.values()), None)
    if main is None:
        return {}
    return {
        "interval": main.interval if main.interval == main.interval else None,
        "clock": f"time stamps in steps of {main.clock:g} s" if main.clock else "no step visible",
        "steps": [
            ReadingStep(
                quantity=name,
                step=quality.step,
                unit=QUANTITIES[name].unit,
                count=quality.count,
                interval=quality.interval if quality.interval == quality.interval else None,
            )
            for name, quality in report.quality.items()
        ],
        "gaps": [DataGap(start=gap.start, end=gap.end) for gap in main.gaps],
    }


def assumptions(case: Case) -> list[Assumption]:
    """What the case and the method take as given."""
    return [
        *(
            Assumption(name=t.name, value=t.value, source=t.source, effect=t.effect)
            for t in case.taken
        ),
        *(Assumption(name=n, value=v, source="method", effect=e) for n, v, e in METHOD),
    ]


def events(case: Case) -> list[Event]:
    """The case's events in order of time."""
    return [
        Event(
            time=e.time,
            half_width=e.half_width,
            kind=e.kind,
            text=e.text,
            source=e.source or (e.clock.name if e.clock else ""),
            **_clock(e),
        )
        for e in case.events
    ]


class _ClockKeys(TypedDict, total=False):
    clock_offset: float
    clock_half_width: float
    clock_basis: str


def _clock(event: Happening) -> _ClockKeys:
    if event.clock is None:
        return {}
    return {
        "clock_offset": event.clock.offset,
        "clock_half_width": 2.0 * event.clock.sigma,
        "clock_basis": f"{event.clock.name}: {event.clock.basis}",
    }


def suspicions(case: Case) -> list[FlaggedRow]:
    """Rows marked by the readers."""
    return [
        FlaggedRow(source=s.path, row=q.row, time=q.time, quantity=q.quantity, reason=q.reason)
        for s in case.sources
        if s.role == "track" and s.report is not None
        for q in s.report.suspicions
    ]


def flagged(case: Case, motion: Motion) -> list[FlaggedRow]:
    """Rows marked by the readers, and rows that the motion does not follow."""
    tracks = [s for s in case.sources if s.role == "track"]
    where = tracks[0].path if len(tracks) == 1 else "one of the track files"
    rows = suspicions(case) + [
        FlaggedRow(
            source=where,
            row=o.row,
            time=o.time,
            quantity=o.kind,
            deviations=o.residual,
            weight=o.weight,
        )
        for o in motion.outliers
    ]
    return sorted(rows, key=lambda row: (row.time, row.row))


def warned(error: NeutralPointError) -> Warned:
    """A warning as the document carries it."""
    return Warned(**error.as_dict())
