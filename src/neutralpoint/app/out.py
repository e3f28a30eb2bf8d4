"""The motion for other programs: bands as a table, the median path for maps."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any
from xml.sax.saxutils import escape

import numpy as np

from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE
from neutralpoint.report import Results
from neutralpoint.sources.extras import optional
from neutralpoint.vocabulary import QUANTITIES
from neutralpoint.vocabulary.cautions import IN_BRIEF
from neutralpoint.vocabulary.quantity import ReaderUnit

LEVELS = ("p05", "p25", "p50", "p75", "p95")
PLACES = ("latitude", "longitude")
PLACE_UNIT = ReaderUnit("deg", DEGREE, 7)
# What a name of a column can hold in place of the symbol of a unit.
SPELLED = {"\u00b0": "deg", "ft/min": "ft_min", "m/s": "m_s", "\u00b0/s": "deg_s"}
CAUTION = "Not for flight. Median of the sample paths; bands are in series.csv."
GPX = "http://www.topografix.com/GPX/1/1"
KML = "http://www.opengis.net/kml/2.2"
GX = "http://www.google.com/kml/ext/2.2"


def series_csv(results: Results) -> str:
    """Every quantity of the motion at every time, with its bands, in the units of the report.

    Args:
        results: With the motion.

    Returns:
        CSV with a header; a value that is not observable is empty.
    """
    names = [*PLACES, *(name for name in results.bands if name not in PLACES)]
    columns = [column for name in names for column in _columns(results, name)]
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(["time_utc", "time_s", *(title for title, _ in columns)])
    for k, (stamp, second) in enumerate(_stamps(results)):
        rows.writerow([stamp, second, *(values[k] for _, values in columns)])
    return out.getvalue()


def series_parquet(results: Results) -> bytes:
    """The same as a Parquet file, numbers unrounded; a value that is not observable is null.

    Args:
        results: With the motion.

    Returns:
        Parquet; its metadata hold the title of the case and the caution.

    Raises:
        NeutralPointError: `extra-missing` without `neutralpoint[history]`.
    """
    polars = optional("polars", "history", "series.parquet")
    epoch = results.findings.epoch
    table: dict[str, Any] = {
        "time_utc": [epoch + timedelta(seconds=float(second)) for second in results.time],
        "time_s": results.time,
    }
    for name in (*PLACES, *(name for name in results.bands if name not in PLACES)):
        head, unit = _head(name)
        for level, values in zip(LEVELS, results.bands[name] / unit.factor, strict=True):
            shown = np.where(results.observable[name], values, np.nan)
            table[f"{head}_{level}"] = polars.Series(shown, nan_to_null=True)
    out = io.BytesIO()
    about = {"title": results.findings.subject.title, "caution": IN_BRIEF}
    polars.DataFrame(table).write_parquet(out, metadata=about)
    return out.getvalue()


def _head(name: str) -> tuple[str, ReaderUnit]:
    """What the columns of a quantity begin with, and their unit."""
    unit = PLACE_UNIT if name in PLACES else QUANTITIES[name].shown
    spelled = SPELLED.get(unit.symbol, unit.symbol)
    return (f"{name}_{spelled}" if spelled else name), unit


def _columns(results: Results, name: str) -> Iterator[tuple[str, list[str]]]:
    head, unit = _head(name)
    seen = results.observable[name]
    digits = unit.decimals if name in PLACES else unit.decimals + 2
    for level, values in zip(LEVELS, results.bands[name] / unit.factor, strict=True):
        printed = [f"{v:.{digits}f}" if ok else "" for v, ok in zip(values, seen, strict=True)]
        yield f"{head}_{level}", printed


def _stamps(results: Results) -> Iterator[tuple[str, str]]:
    """Each time as UTC to the hundredth, and in s after the epoch."""
    for second in results.time:
        yield _utc(results.findings.epoch, float(second)), f"{second:.3f}"


def _utc(epoch: datetime, second: float) -> str:
    moment = epoch + timedelta(seconds=round(second, 2))
    return f"{moment:%Y-%m-%dT%H:%M:%S}.{moment.microsecond // 10_000:02d}Z"


def _path(results: Results) -> Iterator[tuple[str, float, float, float]]:
    """Time, latitude and longitude in deg, and height in m, of the median path."""
    name = "altitude" if "altitude" in results.bands else "pressure_altitude"
    places: list[Array] = [results.bands[place][2] / DEGREE for place in PLACES]
    for second, latitude, longitude, height in zip(
        results.time, *places, results.bands[name][2], strict=True
    ):
        if np.isfinite([latitude, longitude, height]).all():
            epoch = results.findings.epoch
            yield _utc(epoch, float(second)), float(latitude), float(longitude), float(height)


def path_gpx(results: Results) -> str:
    """The median path as a GPX track; heights above the sea.

    Source: GPX 1.1 schema, `trkpt` with `ele` in m and `time` in UTC.

    Args:
        results: With the motion.
    """
    points = "\n".join(
        f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"><ele>{up:.1f}</ele><time>{at}</time></trkpt>'
        for at, lat, lon, up in _path(results)
    )
    title = escape(results.findings.subject.title)
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="Neutral Point" '
        f'xmlns="{GPX}">\n<metadata><name>{title}</name><desc>{CAUTION}</desc></metadata>\n'
        f"<trk><name>{title}</name><trkseg>\n{points}\n</trkseg></trk>\n</gpx>\n"
    )


def path_kml(results: Results) -> str:
    """The median path as a timed track of KML; heights above the sea.

    Source: OGC 07-147r2 with the `gx:Track` extension: all `when`, then all `gx:coord`.

    Args:
        results: With the motion.
    """
    path = list(_path(results))
    when = "\n".join(f"<when>{at}</when>" for at, *_ in path)
    where = "\n".join(
        f"<gx:coord>{lon:.7f} {lat:.7f} {up:.1f}</gx:coord>" for _, lat, lon, up in path
    )
    title = escape(results.findings.subject.title)
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="{KML}" xmlns:gx="{GX}">\n<Document>'
        f"<name>{title}</name><description>{CAUTION}</description>\n<Placemark><name>{title}</name>"
        f"\n<gx:Track><altitudeMode>absolute</altitudeMode>\n{when}\n{where}\n</gx:Track>"
        "</Placemark></Document>\n</kml>\n"
    )
