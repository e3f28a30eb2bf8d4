"""Which column of a file holds what: written by the analyst, never guessed from a site's layout."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from neutralpoint.sources.clock import ClockSettings
from neutralpoint.track import VerticalRateSource

VALUE_ROLES = (
    "latitude",
    "longitude",
    "pressure_altitude",
    "geometric_altitude",
    "ground_speed",
    "track_angle",
    "vertical_rate",
)
CATEGORY_ROLES = ("nacp", "nacv")  # accuracies that the airplane states, as whole numbers
ROLES = ("time", "date", "position_time", "address", *VALUE_ROLES, *CATEGORY_ROLES)


@dataclass(frozen=True)
class Column:
    """One column.

    Attributes:
        name: Name in the header, or number counted from 1 in a file without a header.
        unit: The unit; None where it is to be found.
        origin: How the unit is known.
    """

    name: str | int
    unit: str | None = None
    origin: str = "named in the case"


@dataclass(frozen=True)
class ColumnMap:
    """The columns of a delimited file.

    Attributes:
        columns: Column of each role in `ROLES`; `time` is needed. A `date` column is put before
            the time of its row.
        clock: What is known of the times.
        address: Keep only rows whose `address` column holds this text; compared as text, so that
            leading zeros count.
        vertical_rate_source: What the vertical rate is the rate of.
        out_of_order: `refuse` times that run backwards, or `sort` the rows by time.
    """

    columns: dict[str, Column]
    clock: ClockSettings = field(default_factory=ClockSettings)
    address: str | None = None
    vertical_rate_source: VerticalRateSource = "unknown"
    out_of_order: Literal["refuse", "sort"] = "refuse"
