"""Files of open formats become track, wind and temperature; one module for each format.

What comes in: the bytes or text of one file and, for tables, a column map written by the analyst.
What goes out: SI values with their rows, and a `SourceReport` that counts what was refused and says
what was assumed. It is assumed that the caller reads the files: nothing here opens one.
"""

from neutralpoint.sources.clock import FORMS, ClockSettings
from neutralpoint.sources.column_map import ROLES, Column, ColumnMap
from neutralpoint.sources.delimited import read_delimited
from neutralpoint.sources.levels import AirLevels
from neutralpoint.sources.metar import SurfaceReport, read_metars
from neutralpoint.sources.netcdf_profile import read_netcdf_profile
from neutralpoint.sources.places import HeightDatum, read_gpx, read_kml
from neutralpoint.sources.profile import (
    AirSource,
    join_profiles,
    surface_profile,
    surface_source,
)
from neutralpoint.sources.report import Refusal, SourceReport
from neutralpoint.sources.sounding import read_sounding
from neutralpoint.sources.table import decode
from neutralpoint.sources.terrain import Terrain, read_hgt
from neutralpoint.sources.wind_table import WIND_ROLES, read_wind_table
from neutralpoint.sources.winds_aloft import read_winds_aloft

__all__ = [
    "FORMS",
    "ROLES",
    "WIND_ROLES",
    "AirLevels",
    "AirSource",
    "ClockSettings",
    "Column",
    "ColumnMap",
    "HeightDatum",
    "Refusal",
    "SourceReport",
    "SurfaceReport",
    "Terrain",
    "decode",
    "join_profiles",
    "read_delimited",
    "read_gpx",
    "read_hgt",
    "read_kml",
    "read_metars",
    "read_netcdf_profile",
    "read_sounding",
    "read_wind_table",
    "read_winds_aloft",
    "surface_profile",
    "surface_source",
]
