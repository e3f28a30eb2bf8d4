"""What is said of earlier flights: how unusual the flight is, and what stands out of a fleet."""

from __future__ import annotations

from collections.abc import Sequence

from neutralpoint.findings import (
    HistoryFindings,
    HistoryMeasure,
    HistoryPlace,
    HistorySeries,
    HistoryStanding,
    HistoryTrouble,
    HistoryTurn,
    SectionTable,
    StageSection,
    Statement,
)
from neutralpoint.report.words.labels import STAGES
from neutralpoint.report.words.phrases import aside, derived, inferred, percent, small_percent
from neutralpoint.vocabulary.measure import MEASURES

NO_FINDING = (
    "Standing out is no finding of a fault: weather, loading, route, crew and receiver do it too."
)
CAUTIONS = [
    NO_FINDING,
    "Speeds are over the ground, so that the wind is in them; only what the readings resolve is "
    "compared.",
]
FEW = 20  # flights below which only what lies far out can be told
LIKELY = 0.5  # probability of a change from which it is told
PRINTED = 12  # flights or airplanes of a table in the body
REASONS = {
    "file-format": "damaged or cut short",
    "file-empty": "empty",
    "column-missing": "of another layout",
    "column-unit": "with a unit that nothing settles",
    "track-mixed": "with places of several airplanes and no address",
    "no-altitude": "without any altitude",
    "time-unreadable": "with a time that cannot be read",
    "clock-back": "where the clock runs back",
    "clock-left-out": "left out after a clock that jumped",
    "row-late": "late, put in their place",
    "row-double": "received twice",
    "row-refused": "refused by the reader",
    "cell-unreadable": "with a cell that is no number",
    "value-impossible": "with a value that is not possible",
    "worker-lost": "in a part that ended its worker three times",
}


def history_section(found: HistoryFindings) -> StageSection:
    """The section of earlier flights.

    Args:
        found: Of the stage.

    Returns:
        The section.
    """
    statements = [history_lead(found), *_control(found), *_changed(found), *_events(found)]
    statements += [*_screened(found), *_troubled(found)]
    tables = [_measures_table(found)] if found.measures else []
    tables += [_series_table(found)] if _telling(found) else []
    tables += [_flights_table(found)] if found.flights_out else []
    tables += [_airplanes_table(found)] if found.airplanes_out else []
    tables += [_changed_table(found)] if found.airplanes_changed else []
    tables += [aside(_troubles_table(found))] if found.troubles else []
    return StageSection(
        stage="history",
        title=STAGES["history"],
        cautions=CAUTIONS,
        statements=statements,
        tables=tables,
    )


def history_lead(found: HistoryFindings) -> Statement:
    """The result in one sentence."""
    flights = _count(found.own, "earlier flight")
    beside = (
        f" and {_count(found.others, 'flight')} of {_count(found.airplanes, 'other airplane')} "
        f"of the type{f' ({found.type_name})' if found.type_name else ''}"
        if found.others
        else ""
    )
    against = f"Against {flights} of the same airplane{beside}"
    if not found.tested:
        return derived(
            f"{against}, nothing can be compared: too few flights, or the record of the case is "
            "too short.",
            found.file,
        )
    odd = [title_of(row.name) for row in found.measures if row.unusual]
    compared = len([row for row in found.measures if row.own or row.kind])
    if not odd:
        text = f"none of {compared} measures of this flight is unusual"
    else:
        verb = "is" if len(odd) == 1 else "are"
        text = f"{len(odd)} of {compared} measures of this flight {verb} unusual: {'; '.join(odd)}"
    return derived(f"{against}, {text}.", found.file)


def title_of(name: str) -> str:
    """A measure as people read it."""
    return MEASURES[name].title


def _count(number: int, what: str) -> str:
    return f"{number:,} {what}{'' if number == 1 else 's'}"


def _control(found: HistoryFindings) -> list[Statement]:
    if not found.tested:
        return []
    text = (
        f"{_count(found.tested, 'comparison')} were made at once. Of the measures named unusual, "
        f"{percent(found.rate)} are expected to be false alarms (Benjamini and Hochberg)."
    )
    if 0 < found.own < FEW:
        text += f" With {_count(found.own, 'earlier flight')} only what lies far out can be told."
    return [derived(text, found.file)]


def _telling(found: HistoryFindings) -> list[HistorySeries]:
    return [
        one
        for one in found.series
        if (one.change is not None and one.change.probability >= LIKELY)
        or (one.difference is not None and one.difference.named)
    ]


def _changed(found: HistoryFindings) -> list[Statement]:
    """Changes along the earlier flights."""
    said = [
        f"{title_of(one.name)}, probability {one.change.probability:.2f}, first on "
        f"{one.change.at:%Y-%m-%d} (90%: {one.change.low90:%Y-%m-%d} to "
        f"{one.change.high90:%Y-%m-%d})"
        for one in found.series
        if one.change is not None and one.change.probability >= LIKELY
    ]
    statements = []
    if said:
        statements.append(
            derived(
                f"Along the earlier flights a change is likely in: {'; '.join(said)}.", found.file
            )
        )
    elif found.series:
        statements.append(
            derived(
                "Along the earlier flights no measure changes with a probability above 0.5.",
                found.file,
            )
        )
    if found.changed:
        differ = [title_of(one.name) for one in found.series if one.difference
                  and one.difference.named]  # fmt: skip
        text = "; ".join(differ) if differ else "no measure"
        statements.append(
            derived(
                f"Before and after {found.changed}, as the case states, differ: {text}.", found.file
            )
        )
    return statements


def _events(found: HistoryFindings) -> list[Statement]:
    """Departures from a level on earlier flights, and what they are in the odds."""
    if not found.own:
        return []
    if not found.events:
        return [
            derived(
                "On no earlier flight did the airplane depart from a level and return to it; that "
                "does not enter the odds.",
                found.file,
            )
        ]
    dates = ", ".join(
        f"{one.start:%Y-%m-%d}, {shown('end_rate', one.vertical_speed)} ft/min"
        for one in found.events[:6]
    )
    text = (
        f"{_count(len(found.events), 'departure')} from a level that was held and returned to, on "
        f"earlier flights ({dates})."
    )
    text += _as_upsets(found)
    used = found.evidence
    if used is None:
        return [derived(text, found.file)]
    origin = "by the other airplanes of the type" if used.ordinary_from == "type" else "estimated"
    causes = ", ".join(f"{cause.spoken} {chance:.2f}" for cause, chance in used.fault.items())
    more = (
        f" They enter the odds as evidence: chance of as many in ordinary flying "
        f"{used.ordinary:.2f} ({origin}); chance that a fault has shown itself so before: {causes} "
        f"(analyst's estimates); chance that they say nothing of this flight {used.doubt:.2f}. All "
        "can be changed in the case; no other measure moves the odds."
    )
    return [inferred(text + more, found.file)]


def _as_upsets(found: HistoryFindings) -> str:
    """Whether the onset of the case, asked about each departure, takes it for an upset."""
    asked = [e.onset_probability for e in found.events if e.onset_probability is not None]
    if not asked:
        return ""
    began = sum(one.onset is not None for one in found.events)
    if not began:
        return (
            " By the method that finds the onset of this flight, the motion about each is more "
            f"likely ordinary than an upset (probability of an upset {max(asked):.2f} at most)."
        )
    return (
        f" By the method that finds the onset of this flight, {began} of {len(asked)} of them "
        f"{'is' if began == 1 else 'are'} more likely an upset than ordinary."
    )


def _screened(found: HistoryFindings) -> list[Statement]:
    if not found.flights_tested:
        return []
    text = (
        f"Of all flights in the tracks, {len(found.flights_out)} stand out of the other flights of "
        f"their airplane ({found.flights_tested:,} comparisons), and of the airplanes "
        f"{len(found.airplanes_out)} out of their type ({found.airplanes_tested:,}), with "
        f"{percent(found.rate)} of those named expected to be false alarms where tails are as "
        f"assumed. The flights of {_count(len(found.airplanes_changed), 'airplane')} changed from "
        "some flight on."
    )
    return [derived(text, found.file, caution=NO_FINDING)]


def _troubled(found: HistoryFindings) -> list[Statement]:
    if not found.troubles:
        return []
    text = (
        f"{_count(found.rows, 'row')} were read; {_count(found.troubled_rows, 'row')} were left "
        f"out or marked and {_count(found.troubled_files, 'file')} left out."
    )
    return [derived(text, found.tracks)]


def shown(name: str, value: float) -> str:
    """A value of a measure in the unit shown, without it."""
    unit = MEASURES[name].shown
    return f"{value / unit.factor:,.{unit.decimals}f}"


def unit_of(name: str) -> str:
    """The unit that a measure is shown in, in brackets; empty for a ratio."""
    symbol = MEASURES[name].shown.symbol
    return f" ({symbol})" if symbol else ""


def _value(row: HistoryMeasure) -> str:
    spread = "" if row.sigma is None else f" ± {shown(row.name, 2.0 * row.sigma)}"
    return f"{shown(row.name, row.value)}{spread}"


def place_words(place: HistoryPlace | None) -> str:
    """Percentile with its sampling error."""
    if place is None:
        return "\u2013"
    return (
        f"{100.0 * place.percentile:.0f} ({100.0 * place.low95:.0f} to "
        f"{100.0 * place.high95:.0f}) of {place.count}"
    )


def measure_cells(row: HistoryMeasure) -> list[str]:
    """A measure of the flight beside the others, as a row of a table."""
    place = row.own or row.kind
    usual = (
        "\u2013"
        if place is None
        else f"{shown(row.name, place.middle)} ({shown(row.name, place.low90)} to "
        f"{shown(row.name, place.high90)})"
    )
    chances = [p.chance for p in (row.own, row.kind) if p is not None]
    return [
        f"{title_of(row.name)}{unit_of(row.name)}",
        _value(row),
        usual,
        place_words(row.own),
        place_words(row.kind),
        small_percent(min(chances)) if chances else "\u2013",
        "unusual" if row.unusual else "",
    ]


MEASURE_HEADS = [
    *("measure", "this flight", "usual (90%)", "percentile, own flights"),
    *("percentile, type", "chance", ""),
]


def _ranked(found: HistoryFindings) -> list[HistoryMeasure]:
    def key(row: HistoryMeasure) -> tuple[bool, float]:
        chances = [p.chance for p in (row.own, row.kind) if p is not None]
        return not row.unusual, min(chances, default=2.0)

    return sorted(found.measures, key=key)


def _measures_table(found: HistoryFindings) -> SectionTable:
    return SectionTable(
        caption="The flight among earlier flights; ± and brackets: 95%, of percentiles by "
        "sampling; chance: that an ordinary flight lies as far out",
        kind="derived",
        columns=MEASURE_HEADS,
        rows=[measure_cells(row) for row in _ranked(found)],
    )


def _series_table(found: HistoryFindings) -> SectionTable:
    rows = []
    for one in _telling(found):
        change, differ = one.change, one.difference
        rows.append(
            [
                f"{title_of(one.name)}{'' if MEASURES[one.name].positive else unit_of(one.name)}",
                "\u2013" if change is None else f"{change.probability:.2f}",
                "\u2013" if change is None else f"{change.at:%Y-%m-%d}",
                "\u2013" if change is None else _by(one.name, change.by),
                "\u2013"
                if differ is None
                else f"{_by(one.name, differ.by)} ± {_by(one.name, differ.half95).lstrip('+')}",
            ]
        )
    return SectionTable(
        caption="What changed along the earlier flights; factors for measures compared by ratio",
        kind="derived",
        columns=["measure", "probability", "first flight after", "change", "after less before"],
        rows=rows,
    )


def _by(name: str, change: float) -> str:
    """A change in the unit shown; of a ratio in per cent."""
    if MEASURES[name].positive:
        return f"{100.0 * change:+.0f}%"
    unit = MEASURES[name].shown
    return f"{change / unit.factor:+,.{unit.decimals}f}"


def standing_cells(one: HistoryStanding) -> list[str]:
    """A flight or an airplane that stands out, with the reasons."""
    reasons = "; ".join(
        f"{title_of(name)} {abs(out):.1f} deviations {'above' if out > 0 else 'below'}"
        for name, out in list(zip(one.measures, one.out, strict=True))[:3]
    )
    when = [] if one.start is None else [f"{one.start:%Y-%m-%d %H:%M}"]
    return [one.address or "\u2013", *when, reasons, small_percent(one.chances[0])]


def _standing_table(caption: str, rows: Sequence[HistoryStanding], *, flights: bool):
    heads = ["airplane", *(["flight, UTC"] if flights else []), "reason", "chance"]
    return SectionTable(
        caption=f"{caption}. {NO_FINDING}",
        kind="derived",
        columns=heads,
        rows=[standing_cells(one) for one in rows[:PRINTED]],
    )


def _flights_table(found: HistoryFindings) -> SectionTable:
    caption = (
        "Flights that stand out of the other flights of their airplane. A fault on many flights of "
        "one airplane hides among them: see airplanes that changed, and those "
        "that stand out of their type"
    )
    return _standing_table(caption, found.flights_out, flights=True)


def _airplanes_table(found: HistoryFindings) -> SectionTable:
    caption = "Airplanes that stand out of their type"
    return _standing_table(caption, found.airplanes_out, flights=False)


def turn_cells(one: HistoryTurn) -> list[str]:
    """An airplane that changed, by its surest measure, and how many others did."""
    name, change = one.measures[0], one.changes[0]
    more = len(one.measures) - 1
    unit = "" if MEASURES[name].positive else unit_of(name)
    return [
        one.address or "\u2013",
        f"{title_of(name)}{unit}{f' and {more} more' if more else ''}",
        _by(name, change.by),
        f"{change.at:%Y-%m-%d}",
        f"{change.probability:.2f}",
    ]


TURN_HEADS = ["airplane", "measure", "change", "first flight after", "probability"]


def _changed_table(found: HistoryFindings) -> SectionTable:
    return SectionTable(
        caption=f"Airplanes whose flights changed. {NO_FINDING}",
        kind="derived",
        columns=TURN_HEADS,
        rows=[turn_cells(one) for one in found.airplanes_changed[:PRINTED]],
    )


def trouble_cells(one: HistoryTrouble) -> list[str]:
    """Something wrong with a file."""
    reason = REASONS.get(one.reason, one.reason)
    detail = f" ({one.detail})" if one.detail else ""
    row = str(one.row) if one.row else "whole file"
    return [one.file, row, f"{reason}{detail}", f"{one.count:,}" if one.count else "\u2013"]


TROUBLE_HEADS = ["file", "first row", "what", "rows"]


def _troubles_table(found: HistoryFindings) -> SectionTable:
    return SectionTable(
        caption="What was wrong with the tracks; the rest went on",
        kind="fact",
        columns=TROUBLE_HEADS,
        rows=[trouble_cells(one) for one in found.troubles],
    )
