"""The signature sheet as arrays and findings: every cause beside the data, hands off and flown."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

import neutralpoint
from neutralpoint.case import Case
from neutralpoint.earth.atmosphere import density, pressure
from neutralpoint.findings import (
    Banded90,
    Parting,
    SignatureFindings,
    SignatureRow,
    TrimTrial,
)
from neutralpoint.findings.signatures import Shown, Trial
from neutralpoint.moments.hand_checks import lanchester_period, trim_speed_on_slope
from neutralpoint.numerics.arrays import Array, Flags
from neutralpoint.numerics.intervals import quantiles
from neutralpoint.study.motion.file import KeptMotion, time_attributes
from neutralpoint.study.weighing.nearest import air_temperature, calibrated
from neutralpoint.study.weighing.work_out import Weighing
from neutralpoint.vocabulary import QUANTITIES, CauseName
from neutralpoint.vocabulary.cautions import IN_BRIEF
from neutralpoint.weighing.flights import RECORD, Flown
from neutralpoint.weighing.signatures import (
    EDGES,
    TRIALS,
    HandsOff,
    bands,
    evenly_weighted,
    parting,
)

SIGNATURES_FILE = "signatures.nc"
SHOWN: tuple[Shown, ...] = ("altitude", "calibrated_airspeed", "pitch_angle")
HANDS = ("with pilot", "hands off")
MOST = 60.0  # s after the reference that are drawn
LASTING = 2.0  # s that bands must be apart to count; analyst's
COMMENT = (
    "Flights of a model under each cause show what it would look like, not what happened. "
    + IN_BRIEF
)


@dataclass(frozen=True)
class Signatures:
    """What is drawn: 5, 50 and 95 % of each of `SHOWN`, SI, over m records.

    Attributes:
        time: s after the reference, shape (m,).
        seen: Of the data by quantity, shape (3, m).
        bands: Of the flights by cause, kind of hands and quantity, shape (3, m).
        nearest: The nearest flight with a pilot by cause and quantity, shape (m,).
        trials: Of the trials of the trim by name and quantity, shape (3, m).
    """

    time: Array
    seen: dict[str, Array]
    bands: dict[str, dict[str, dict[str, Array]]]
    nearest: dict[str, dict[str, Array]]
    trials: dict[str, dict[str, Array]]


def signatures_of(found: Weighing, motion: KeptMotion, flown: HandsOff) -> Signatures:
    """Bring flights and data to what a reader knows a flight by.

    Args:
        found: Of the weighing.
        motion: The motion.
        flown: Flights with controls free.

    Returns:
        What is drawn.
    """
    axis = found.flown[0].course.time
    kept = axis <= min(MOST, float(found.observed.time[-1]))
    each = {}
    for name, near in found.predictive.items():
        weight = evenly_weighted(near)
        each[name] = {HANDS[0]: _bands(near.flown, found, kept, weight)}
        if name in flown.causes:
            each[name][HANDS[1]] = _bands(flown.causes[name], found, kept)
    return Signatures(
        axis[kept],
        _seen(motion, found.begin + axis[kept]),
        each,
        {name: _nearest(near.best, found, kept) for name, near in found.predictive.items()},
        {name: _bands(batch, found, kept) for name, batch in flown.trials.items()},
    )


def _columns(speed: Array, height: Array, pitch: Array, found: Weighing) -> dict[str, Array]:
    """Flights start at a pressure altitude; people read height above mean sea level."""
    return {
        "altitude": height + found.height_offset,
        "calibrated_airspeed": calibrated(speed, height, found),
        "pitch_angle": pitch,
    }


def _bands(
    batch: Flown, found: Weighing, kept: Flags, weight: Array | None = None
) -> dict[str, Array]:
    course = batch.course
    values = _columns(course.true_airspeed, course.altitude, batch.pitch, found)
    return {name: bands(value[:, kept], weight) for name, value in values.items()}


def _nearest(best: dict[str, Array], found: Weighing, kept: Flags) -> dict[str, Array]:
    values = _columns(best["true_airspeed"], best["altitude"], best["pitch"], found)
    return {name: value[kept] for name, value in values.items()}


def _seen(motion: KeptMotion, time: Array) -> dict[str, Array]:
    """Bands of the motion at the times of the flights; NaN where the data do not bear them."""
    grid = ~motion.is_fix
    found = {}
    for name in SHOWN:
        edges = quantiles(motion.paths[name][:, grid].astype(float), EDGES)
        edges[:, ~motion.observable.get(name, np.ones(grid.size, bool))[grid]] = np.nan
        found[name] = np.stack(
            [np.interp(time, motion.time[grid], row, left=np.nan, right=np.nan) for row in edges]
        )
    return found


def signatures_dataset(what: Signatures, found: Weighing, case: Case) -> xr.Dataset:
    """What is kept of the sheet.

    Args:
        what: What is drawn.
        found: Of the weighing.
        case: The case.

    Returns:
        Dataset over cause, hands, level and time; `seen_` of the data, `nearest_` of the nearest
        flight with a pilot, `trial_` of the trials of the trim.
    """
    causes, empty = list(what.bands), np.full((len(EDGES), what.time.size), np.nan)
    data: dict = {}
    for name in SHOWN:
        about = {"units": QUANTITIES[name].udunits, "long_name": QUANTITIES[name].title}
        flights = [[what.bands[c].get(h, {}).get(name, empty) for h in HANDS] for c in causes]
        rows = {
            name: (("cause", "hands", "level", "time"), flights),
            f"seen_{name}": (("level", "time"), what.seen[name]),
            f"nearest_{name}": (("cause", "time"), [what.nearest[c][name] for c in causes]),
        }
        if what.trials:
            trials = [bands[name] for bands in what.trials.values()]
            rows[f"trial_{name}"] = (("trial", "level", "time"), trials)
        data |= {key: (dims, np.array(v, np.float32), about) for key, (dims, v) in rows.items()}
    coordinates = {
        "time": ("time", found.begin + what.time, time_attributes(case.track.epoch)),
        "cause": ("cause", causes, {"long_name": "Cause that was flown"}),
        "hands": ("hands", list(HANDS)),
        "level": ("level", list(EDGES)),
    }
    if what.trials:
        coordinates["trial"] = ("trial", list(what.trials))
    return xr.Dataset(
        data,
        coordinates,
        {
            "Conventions": "CF-1.11",
            "title": f"{case.document.title}: signatures of the causes",
            "source": f"Neutral Point {neutralpoint.__version__}",
            "comment": COMMENT,
        },
    )


def signature_findings(what: Signatures, found: Weighing, flown: HandsOff) -> SignatureFindings:
    """What the stage hands on.

    Args:
        what: What is drawn.
        found: Of the weighing.
        flown: Flights with controls free.

    Returns:
        The findings.
    """
    odds = dict(zip(found.odds.causes, map(float, found.odds.probability), strict=True))
    names = sorted(what.bands, key=lambda name: -odds[name])
    return SignatureFindings(
        file=SIGNATURES_FILE,
        begin=found.begin,
        end=found.begin + float(what.time[-1]),
        flights=max((len(one.pitch) for one in flown.causes.values()), default=0),
        rows=[
            SignatureRow(
                cause=CauseName(name),
                probability=min(odds[name], 1.0),
                with_pilot=_partings(what, found.begin, what.bands[name][HANDS[0]]),
                hands_off=_partings(what, found.begin, what.bands[name].get(HANDS[1], {})),
            )
            for name in names
        ],
        trials=[_trial(name, flown.trials[name], found) for name in TRIALS if name in flown.trials],
    )


def _partings(what: Signatures, begin: float, flights: dict[str, Array]) -> list[Parting]:
    rows = []
    for name in SHOWN:
        if name not in flights:
            continue
        first, gap = parting(what.time, flights[name], what.seen[name], lasting=LASTING)
        widest = int(np.argmax(np.abs(gap)))
        rows.append(
            Parting(
                quantity=name,
                time=None if first is None else begin + first,
                gap=float(gap[widest]),
            )
        )
    return rows


def _span(values: Array) -> Banded90:
    low, median, high = np.quantile(values, EDGES)
    return Banded90(low90=float(low), median=float(median), high90=float(high))


def _trial(name: Trial, batch: Flown, found: Weighing) -> TrimTrial:
    """Extremes of a trial, and its mean over the last phugoid, after which it is near its trim."""
    course, path = batch.course, batch.course.flight_path_angle
    speed, length = course.true_airspeed, float(course.time[-1])
    lasting = min(float(lanchester_period(float(np.median(speed[:, 0])))), 0.6 * length)
    last = slice(-max(2, round(lasting / RECORD)), None)
    air = density(pressure(course.altitude), air_temperature(course.altitude, found))
    thinner, slope = air[:, 0] / air[:, last].mean(axis=1), path[:, last].mean(axis=1)
    return TrimTrial(
        trial=name,
        speed_before=_span(speed[:, 0]),
        path_before=_span(path[:, 0]),
        fastest=_span(speed.max(axis=1)),
        slowest=_span(speed.min(axis=1)),
        steepest=_span(path.min(axis=1)),
        highest=_span(path.max(axis=1)),
        predicted=_span(trim_speed_on_slope(speed[:, 0], path[:, 0], slope, thinner)),
        speed_after=_span(speed[:, last].mean(axis=1)),
        path_after=_span(slope),
        density_ratio=_span(thinner),
        seconds=length,
        averaged=lasting,
    )
