"""Which pictures a case has, and how each is drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from neutralpoint.findings import PanelRequest
from neutralpoint.report.figures.compose import MOTION_PANELS
from neutralpoint.report.figures.display import SHOWN
from neutralpoint.report.figures.load_sheet import draw_loads
from neutralpoint.report.figures.studio import (
    acting,
    flights,
    needs,
    odds,
    paths,
    places,
    settling,
    spaces,
)
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.results import Results
from neutralpoint.report.words.acting import recovery_title
from neutralpoint.report.words.limits import chances_said, loads_title
from neutralpoint.report.words.ranges import odds_title, sways_title
from neutralpoint.report.words.sections import sections_of
from neutralpoint.report.words.signatures import headline, pair_title
from neutralpoint.report.words.uncertainty import best_said

FLIGHT = (
    "pressure_altitude",
    "calibrated_airspeed",
    "pitch_angle",
    "normal_load_factor",
    "flight_path_angle",
)
POPULATION = "Simulated pilots, who describe no actual person."


@dataclass(frozen=True)
class Entry:
    """A picture that a case has.

    Attributes:
        key: As typed.
        title: Of the picture.
        note: How it is read.
        draw: Draws its chart.
        timed: Whether a stretch of time may be chosen.
    """

    key: str
    title: str
    note: str
    draw: Callable[[Picture], None]
    timed: bool = False


def list_figures(results: Results) -> list[Entry]:
    """Every picture that a case has, in the order of the argument.

    Args:
        results: A results folder, read.

    Returns:
        The entries; what was not computed has none.
    """
    return [
        *_flight(results),
        *_stages(results),
        *_places(results),
        *_causes(results),
        *_flown(results),
        *_acting(results),
    ]


def _flight(results: Results) -> Iterator[Entry]:
    yield Entry("flight", "The flight", "", partial(paths.draw_flight, names=FLIGHT), timed=True)
    for name, _ in MOTION_PANELS:
        if name in results.bands:
            draw = partial(paths.draw_flight, names=(name,))
            yield Entry(f"motion-{name.replace('_', '-')}", SHOWN[name].title, "", draw,
                        timed=True)  # fmt: skip
    yield Entry("plan", "The path from above, north up", "", partial(paths.draw_view, key="plan"),
                timed=True)  # fmt: skip
    yield Entry("profile", "Pressure altitude against distance flown", "",
                partial(paths.draw_view, key="profile"), timed=True)  # fmt: skip
    yield Entry("space", "The path in space",
                "Shadows of an airplane: 5 and 95% of its pitch and bank.",
                spaces.draw_space, timed=True)  # fmt: skip
    if results.findings.events:
        yield Entry("timeline", "What was heard and recorded",
                    "Bar: 95% band of the time.", paths.draw_timeline)  # fmt: skip


def _stages(results: Results) -> Iterator[Entry]:
    for section in sections_of(results.findings):
        if section.stage not in ("moments", "limits", "weighing"):
            continue
        for request in section.panels:
            yield _panel(section.stage, request)


def _panel(stage: str, request: PanelRequest) -> Entry:
    key = f"{stage}-{request.variable.replace('_', '-')}"
    computed = ": computed, not recorded" if request.variable.startswith("needed_") else ""
    draw = partial(paths.draw_stage_panels, requests=[request])
    return Entry(key, f"{request.label}{computed}", "", draw, timed=True)


def _places(results: Results) -> Iterator[Entry]:
    found = results.findings
    if found.limits is not None and (results.folder / found.limits.file).is_file():
        yield Entry("loads", loads_title(found.limits),
                    "Arrows: way flown. Cross: last moment shown, median with each 90% band.",
                    _loads)  # fmt: skip
    if places.has_history(results):
        yield Entry("history", "The flight over its earlier flights", "", places.draw_history)
    if places.has_wreckage(results):
        yield Entry("wreckage", "Where the airplane and its parts came down", "",
                    places.draw_wreckage)  # fmt: skip


def _loads(body: Picture) -> None:
    axes = body.sheet.subplots()
    limits = body.findings.limits
    if limits is not None:
        zero, last = float(body.results.time[0]), body.last
        paths = draw_loads(axes, body.results, limits, body.look,
                           until=None if last is None else zero + last)  # fmt: skip
        if body.form.key in ("wide", "tall"):
            body.said.append(chances_said(limits, body.findings, paths))
        handles, labels = axes.get_legend_handles_labels()
        body.handles += list(zip(handles, labels, strict=True))
    body.places["loads"] = ChartPlace(axes)


def _causes(results: Results) -> Iterator[Entry]:
    found = results.findings
    if found.weighing is not None:
        judged = found.judgement
        near = judged is None or judged.fit.none_near is not True
        title = odds_title(found.weighing, none_near=not near)
        yield Entry("odds", title, "", odds.draw_odds)
        yield Entry("mechanisms", "Probability by mechanism", "", odds.draw_mechanisms)
        if found.weighing.sways:
            yield Entry("sways", sways_title(found.weighing), "", odds.draw_sway)
    if needs.needs_of(found):
        yield Entry("needs", needs.needs_title(found), "", needs.draw_needs)
    if found.evidence is not None and found.evidence.items and found.weighing is not None:
        yield Entry("evidence", best_said(found), "", settling.draw_evidence)


def _flown(results: Results) -> Iterator[Entry]:
    found = results.findings
    if found.weighing is not None and (results.folder / found.weighing.data_file).is_file():
        yield Entry("flights", "The nearest simulated flight of each leading cause", "",
                    flights.draw_flights)  # fmt: skip
    signed = found.signatures
    if signed is None or not (results.folder / signed.file).is_file():
        return
    for row in signed.rows:
        draw = partial(flights.draw_cause, cause=row.cause.value)
        title = f"{row.cause.title.split(' (')[0]}: {headline(row)}"
        yield Entry(f"cause-{row.cause.value}", title, "", draw)
    for page, first in enumerate(range(0, len(signed.rows), flights.ROWS), start=1):
        draw = partial(flights.draw_signatures, first=first)
        title = pair_title(signed.rows[first : first + flights.ROWS])
        yield Entry(f"signatures-{page}", title, "", draw)


def _acting(results: Results) -> Iterator[Entry]:
    found = results.findings.response
    if found is None or not found.rows:
        return
    if found.delays:
        rows = acting.shown_rows(results.findings)
        title = recovery_title(rows, found, acting.pilots_of(results, rows[0]) if rows else None)
        yield Entry("recovery", title, "", acting.draw_recovery)
    if acting.latest_rows(found):
        yield Entry("latest", "Latest effective action", POPULATION, acting.draw_latest)
    if any(row.holding is not None for row in found.rows):
        yield Entry("holding", "Column force for unaccelerated flight",
                    "Typical fault of each cause, unaccelerated flight.",
                    acting.draw_holding)  # fmt: skip
