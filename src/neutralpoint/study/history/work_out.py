"""Earlier flights of a case measured, compared and made findings."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from neutralpoint.case import Case
from neutralpoint.case.tracks import columns_of
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import own_folder
from neutralpoint.history.changed import changed_tails
from neutralpoint.history.cutting import GRID
from neutralpoint.history.fleet import Fleet
from neutralpoint.history.measures import Steps, climb_against
from neutralpoint.history.messages import track_table
from neutralpoint.history.parts import case_flight, curves
from neutralpoint.history.running import Manner, run_history
from neutralpoint.history.screening import screen
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.study.history.file import HISTORY_FILE, history_dataset
from neutralpoint.study.history.findings import history_findings
from neutralpoint.study.record import Made
from neutralpoint.study.settings import HistorySettings
from neutralpoint.study.stages import Work

SCRATCH = ".history"
# Measures of a whole flight: a record of a part of one, shorter than this share of the usual, is
# not compared in them. Analyst's choice.
OF_THE_WHOLE = frozenset({"trimmed_longest", "trimmed_share", "end_rate", "end_speed_change"})
PART = 0.5
EARLIER = 60.0  # s by which a flight must begin before that of the case; analyst's


@dataclass(frozen=True)
class ComparedFlight:
    """The flight of the case among the others.

    Attributes:
        case: The case.
        tracks: Where the others were found.
        fleet: All flights.
        address: Of the airplane.
        own: Earlier flights of it, (F,).
        later: Flights of it that are not earlier, (F,).
        others: Flights of other airplanes of its type, (F,).
        values: Of the flight of the case, by measure: value and standard deviation.
        curve: Its height, m, and vertical speed, m/s, as they are drawn; empty if not flying.
    """

    case: Case
    tracks: str
    fleet: Fleet
    address: str
    own: Flags
    later: Flags
    others: Flags
    values: dict[str, tuple[float, float]]
    curve: tuple[Array, Array]


def work_out(work: Work[HistorySettings], folder: Path) -> Made:
    """Measure and compare.

    Args:
        work: Of the stage.
        folder: Of the tracks.

    Returns:
        What the stage says.

    Raises:
        NeutralPointError: `file-missing` without tracks; of the cluster.
    """
    case, settings = work.case, work.settings
    scratch = own_folder(work.results / SCRATCH, make=True)
    manner = Manner(settings.workers, settings.dask)
    entry = case.document.history
    given = columns_of(entry.columns) if entry is not None else None
    fleet = run_history(
        folder, scratch, manner, lambda text, share: work.tell(text, 0.9 * share), given or None
    )
    work.tell("Comparing the flight with earlier ones", 0.9)
    compared = compared_with(case, fleet, folder)
    work.save_dataset(HISTORY_FILE, history_dataset(compared))
    return Made(history=history_findings(compared, screen(fleet), changed_tails(fleet)))


def compared_with(case: Case, fleet: Fleet, folder: Path) -> ComparedFlight:
    """Sort flights into earlier ones of the airplane and those of others of its type.

    Args:
        case: The case.
        fleet: All flights.
        folder: Of the tracks.

    Returns:
        The flights sorted, and the flight of the case measured.
    """
    address = _address(case, fleet)
    whose = fleet.address == address
    start = case.track.epoch.timestamp() + case.track.span()[0]
    earlier = fleet.start < start - EARLIER
    kinds, number = np.unique(fleet.kind[whose], return_counts=True)
    kind = str(kinds[np.argmax(number)]) if kinds.size else ""
    others = ~whose & (fleet.kind == kind)
    flights, found = _measured(case, fleet)
    values = {}
    if flights is not None and found is not None:
        longest = int(np.argmax(np.diff(flights.first)))
        values = {
            name: (float(each[0, longest]), float(each[1, longest]))
            for name, each in found.values.items()
        }
        family = fleet.climb[whose | others].sum(axis=0)
        usual = float(np.median(fleet.length[whose | others])) if (whose | others).any() else 0.0
        if np.diff(flights.first)[longest] * GRID < PART * usual:
            values = {name: each for name, each in values.items() if name not in OF_THE_WHOLE}
        value, sigma = climb_against(found.climb[[longest]], family)[:, 0]
        values["climb_rate"] = (float(value), float(sigma))
        height, rate, first = curves(flights)
        cut = slice(first[longest], first[longest + 1])
        curve = (height[cut], rate[cut])
    else:
        curve = (np.zeros(0), np.zeros(0))
    try:
        shown = folder.relative_to(case.folder.resolve()).as_posix()
    except ValueError:
        shown = folder.name
    return ComparedFlight(
        case, shown, fleet, address, whose & earlier, whose & ~earlier, others, values, curve
    )


def _address(case: Case, fleet: Fleet) -> str:
    """Which of the airplanes is that of the case."""
    entry = case.document.history
    told = [
        *([entry.address] if entry is not None and entry.address else []),
        *(only for track in case.document.tracks if (only := getattr(track, "only", None))),
        case.document.airplane.registration,
    ]
    found = [str(name) for name in np.unique(fleet.address)]
    for name in told:
        if name.strip().lower() in found and name.strip():
            return name.strip().lower()
    if len(found) == 1:
        return found[0]
    if entry is not None and entry.address:
        return entry.address.strip().lower()
    raise NeutralPointError(
        "case-incomplete",
        f"The tracks hold {len(found)} airplanes, and none of them is known to be that of the "
        "case.",
        where="case.toml: history.address",
        hint=f"Name one of {', '.join(found[:8])} under `[history]`.",
    )


def _measured(case: Case, fleet: Fleet):
    """The flight of the case, measured; nothing where it is too short."""
    track = case.track
    table = track_table("the track of the case", track)

    def step(name: str) -> float:
        channel = getattr(track, name)
        return 0.0 if channel is None else float(channel.step)

    steps = Steps(track.altitudes.step, step("vertical_rate"), step("ground_speed"))
    flights, found = case_flight(table, steps)
    return (flights, found) if flights.count else (None, None)
