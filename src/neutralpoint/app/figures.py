"""Saved results as raw numbers for the page: read once, drawn for any stretch and width."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from neutralpoint.app.events import fingerprint
from neutralpoint.app.folders import missing
from neutralpoint.app.memory import give_back
from neutralpoint.app.replies import packed
from neutralpoint.app.world import surroundings
from neutralpoint.findings import Banded
from neutralpoint.quantities import NAUTICAL_MILE
from neutralpoint.report import Results, load_results
from neutralpoint.report.figures import palette
from neutralpoint.report.figures.compose import (
    WHOLE,
    StageCurves,
    Within,
    compose_figure,
    draw_stage,
    kept_within,
    load_stage,
)
from neutralpoint.report.figures.figure import PathView, PlottedReadings, Strips
from neutralpoint.report.figures.views import flat_paths, path_views
from neutralpoint.report.results import band_lookup
from neutralpoint.report.words.sections import sections_of

Ground = Callable[[np.ndarray, np.ndarray], np.ndarray]

FEWEST, MOST = 50, 20_000  # points that may be asked for
REPLIES = 24  # answers kept, the oldest go first


@dataclass(frozen=True)
class _Read:
    """Results as they were at one moment, and the answers made of them."""

    results: Results
    stages: dict[str, StageCurves]
    answers: dict[tuple, bytes]
    shared: dict[str, Any]


class Shelf:
    """Results of one case, read again when a file of theirs has changed."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock = threading.Lock()
        self._print: tuple | None = None
        self._read: _Read | None = None

    def results(self) -> Results:
        """The results as they are now.

        Raises:
            NeutralPointError: `results-missing` or `results-version`.
        """
        return self._current().results

    def figure(self, stage: str, *, points: int, within: Within = WHOLE) -> bytes:
        """A figure as `packed` bytes; the time axis of a stretch is that of the whole.

        Args:
            stage: `motion`, or a stage of the findings that has panels.
            points: Largest number of times.
            within: First and last moment, s on the time axis of the figure.

        Returns:
            `{"span", "strips", "views", "palette"}`.

        Raises:
            NeutralPointError: `not-found` for a stage without panels.
        """
        points = min(max(points, FEWEST), MOST)
        read = self._current()
        return _kept(
            read.answers,
            ("figure", stage, points, within),
            lambda: packed(_figure(read, stage, points, within)),
        )

    def path(self, *, points: int, ground: Ground, mark: str, within: Within = WHOLE) -> bytes:
        """The path in space as `packed` bytes: metres east and north of the first place, and up.

        Args:
            points: Largest number of times.
            within: First and last moment, s on the time axis of the motion.
            ground: Heights of the ground, m, at latitudes and longitudes in rad.
            mark: Says what the ground comes from.
        """
        points = min(max(points, FEWEST), MOST)
        read = self._current()
        key = ("path", points, mark, within)
        return _kept(read.answers, key, lambda: packed(_path(read, points, ground, within)))

    def surroundings(self, *, ground: Ground, mark: str) -> bytes:
        """What a map shows beside the path, as `packed` bytes.

        Args:
            ground: Heights of the ground, m, at latitudes and longitudes in rad.
            mark: Says what the ground comes from.
        """
        read = self._current()
        key = ("surroundings", mark)
        return _kept(read.answers, key, lambda: packed(surroundings(read.results, ground)))

    def lookup(self) -> Callable[[str, float], Banded | None]:
        """The band of a variable at any time."""
        read = self._current()
        return _kept(read.shared, "lookup", lambda: band_lookup(read.results))

    def kept(self, key: Any, draw: Callable[[], bytes]) -> bytes:
        """What was drawn before of the same results under a key, or what is drawn now."""
        return _kept(self._current().answers, key, draw)

    def _current(self) -> _Read:
        with self._lock:
            now = fingerprint(self._folder)
            if self._read is None or now != self._print:
                results = load_results(self._folder)
                self._read, self._print = _Read(results, {}, {}, {}), now
                give_back()
            return self._read


def _kept(answers: dict, key: Any, make: Callable[[], Any]) -> Any:
    """What was made before under a key, or what is made now."""
    found = answers.get(key)
    if found is None:
        found = make()
        answers[key] = found
        for old in list(answers)[:-REPLIES]:
            answers.pop(old, None)
    return found


def _figure(read: _Read, stage: str, points: int, within: Within) -> dict[str, Any]:
    views: tuple[PathView, ...] = ()
    if stage == "motion":
        whole = _kept(read.shared, "views", lambda: path_views(read.results))
        figure = compose_figure(read.results, limit=points, within=within, views=whole)
        strips, views = figure.strips, figure.views
        time = read.results.time
    else:
        curves = _stage(read, stage)
        strips = draw_stage(read.results, curves, limit=points, within=within)
        time = curves.time
    return {
        "span": [0.0, float(time[-1] - time[0])],
        "strips": _thinned(strips, points, within),
        "views": tuple(_fewer_fixes(view, points, within) for view in views),
        "palette": palette.described(),
    }


def _stage(read: _Read, stage: str) -> StageCurves:
    if stage not in read.stages:
        panels = [
            p for s in sections_of(read.results.findings) if s.stage == stage for p in s.panels
        ]
        if not panels:
            raise missing(f"No figure of {stage[:40]!r} has been made.", "figure")
        read.stages[stage] = load_stage(read.results, panels)
    return read.stages[stage]


def _thinned(strips: Strips, points: int, within: Within) -> Strips:
    panels = tuple(
        panel
        if panel.readings is None
        else replace(panel, readings=_some(panel.readings, points, within))
        for panel in strips.panels
    )
    return replace(strips, panels=panels)


def _some(readings: PlottedReadings, limit: int, within: Within) -> PlottedReadings:
    """Readings of a stretch: all marked ones, and lowest and highest of the others."""
    time = readings.time
    chosen = np.flatnonzero((time >= within[0]) & (time <= within[1]))
    if len(chosen) > limit:
        marked = chosen[readings.suspect[chosen] > 0][:limit]
        length = -(-2 * len(chosen) // limit)
        parts = chosen[: len(chosen) // length * length].reshape(-1, length)
        value, each = readings.value[parts], np.arange(len(parts))
        ends = [parts[each, pick(value, axis=1)] for pick in (np.argmin, np.argmax)]
        chosen = np.unique(np.concatenate([marked, *ends, chosen[-1:]]))
    return replace(
        readings,
        time=time[chosen],
        value=readings.value[chosen],
        suspect=readings.suspect[chosen],
    )


def _fewer_fixes(view: PathView, limit: int, within: Within) -> PathView:
    time = view.reading_time
    chosen = np.flatnonzero((time >= within[0]) & (time <= within[1]))
    chosen = chosen[:: max(1, -(-len(chosen) // limit))]
    return replace(
        view,
        reading_time=time[chosen],
        reading_x=view.reading_x[chosen],
        reading_y=view.reading_y[chosen],
    )


def _path(read: _Read, points: int, ground: Ground, within: Within) -> dict[str, Any]:
    results = read.results
    north, east = _kept(read.shared, "flat", lambda: _metres(results))
    name = "altitude" if "altitude" in results.bands else "pressure_altitude"
    height = results.bands[name]
    time = results.time - results.time[0]
    kept = kept_within(time, [height[2], north, east], points, within)
    places = (results.bands[place][2, kept] for place in ("latitude", "longitude"))
    below = ground(*places)
    return {
        "height": name,
        "time": time[kept],
        "x": east[kept],
        "y": north[kept],
        "z": height[2, kept],
        "low": height[0, kept],
        "high": height[4, kept],
        "ground": below if np.isfinite(below).any() else None,
    }


def _metres(results: Results) -> tuple[np.ndarray, np.ndarray]:
    """North and east of the first place, m, each (m,)."""
    north, east = flat_paths(results)
    return np.median(north, axis=0) * NAUTICAL_MILE, np.median(east, axis=0) * NAUTICAL_MILE
