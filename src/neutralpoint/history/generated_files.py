"""Invented fleets written as Parquet: a table an airplane, in the units that receivers log."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import polars as pl

from neutralpoint.history.generated import InventedTail, flight_rows
from neutralpoint.numerics.arrays import Array
from neutralpoint.quantities import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT

# Name of each column with the unit in it, its factor to SI, and whether halves of figures do.
COLUMNS = {
    "time": ("time", 1.0, np.float64),
    "latitude": ("latitude_deg", DEGREE, np.float64),
    "longitude": ("longitude_deg", DEGREE, np.float64),
    "pressure_altitude": ("altitude_ft", FOOT, np.float32),
    "ground_speed": ("ground_speed_kt", KNOT, np.float32),
    "track_angle": ("track_deg", DEGREE, np.float32),
    "vertical_rate": ("vertical_rate_fpm", FOOT_PER_MINUTE, np.float32),
}


def write_fleet(
    folder: Path, tails: list[InventedTail], seed: int, *, rows: int = 10_000, interval: float = 1.0
) -> int:
    """Write an invented fleet; the same seed gives the same rows.

    Args:
        folder: Where to; it is made.
        tails: The airplanes.
        seed: Of the fleet.
        rows: About how many each flight has.
        interval: s between them.

    Returns:
        Rows written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = 0
    for tail in tails:
        flights = [
            flight_rows(tail, number, seed, rows=rows, interval=interval)
            for number in range(tail.flights)
        ]
        table = fleet_table(flights, tail)
        table.write_parquet(folder / f"{tail.address}.parquet")
        written += table.height
    return written


def fleet_table(flights: list[dict[str, Array]], tail: InventedTail) -> pl.DataFrame:
    """Flights of one airplane as a table.

    Args:
        flights: Columns by role, SI.
        tail: Whose they are.

    Returns:
        The table, units in the names of its columns.
    """
    columns = {
        name: (np.concatenate([flight[role] for flight in flights]) / factor).astype(kind)
        for role, (name, factor, kind) in COLUMNS.items()
    }
    return pl.DataFrame(columns).with_columns(address=pl.lit(tail.address), type=pl.lit(tail.kind))
