"""GPX, KML, winds aloft, NetCDF profiles and rows of units."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from neutralpoint.earth import atmosphere
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, FOOT, KELVIN_AT_0_C, KNOT
from neutralpoint.sources import (
    Column,
    ColumnMap,
    HeightDatum,
    read_delimited,
    read_gpx,
    read_kml,
    read_netcdf_profile,
    read_winds_aloft,
)

POINT = (
    '<trkpt lat="{lat}" lon="{lon}"><ele>{h}</ele><time>2031-04-14T18:57:{s:02d}Z</time></trkpt>'
)
GPX = (
    '<gpx xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
    + "".join(POINT.format(lat=46 + k / 1e3, lon=-36.0, h=900 + k, s=k) for k in range(12))
    + "</trkseg></trk></gpx>"
).encode()
KML = (
    '<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2">'
    "<Placemark><gx:Track>"
    + "".join(f"<when>2031-04-14T18:57:{k:02d}Z</when>" for k in range(12))
    + "".join(f"<gx:coord>-36.0 {46 + k / 1e3} {900 + k}</gx:coord>" for k in range(11))
    + "</gx:Track></Placemark></kml>"
).encode()
FB = """\
FBAA31 KAAA 141800
DATA BASED ON 141800Z
VALID 150000Z   FOR USE 2000-0300Z. TEMPS NEG ABV 24000

FT  3000    6000    9000   12000   18000   24000  30000  34000  39000
QQA 9900 2715+04 2720-01 2831-06 2845-18 2960-30 296545 297052 781860
QQB      0515+14 2720-01
"""


def test_gpx_with_the_geoid_given():
    track, report = read_gpx(GPX, HeightDatum("sea level", 57.0), "a.gpx")
    assert track.position.value[3] / DEGREE == pytest.approx([46.003, -36.0])
    assert track.geometric_altitude.value == pytest.approx(957.0 + np.arange(12))
    assert any("57.0 m is added" in said for said in report.assumed)


def test_kml_pairs_times_and_places_and_counts_what_is_left_over():
    track, report = read_kml(KML, HeightDatum(), "a.kml")
    assert len(track.position) == 11
    assert sum(r.count for r in report.refused) == 1
    assert any("not known" in said for said in report.assumed)


@pytest.mark.parametrize(
    "text",
    [
        '<!DOCTYPE x [<!ENTITY a "b">]><gpx>&a;</gpx>',
        '<!DOCTYPE x SYSTEM "file:///etc/hostname"><gpx/>',
        "<a>" * 5000,
        "<gpx><trkpt>",
        "",
    ],
)
def test_hostile_xml_is_refused(text):
    with pytest.raises(NeutralPointError) as failed:
        read_gpx(text.encode(), HeightDatum(), "a.gpx")
    assert failed.value.code in ("file-format", "file-empty")


def test_winds_aloft():
    levels, report = read_winds_aloft(FB, "qqa", "fb.txt")
    assert levels.altitude / FOOT == pytest.approx(
        [3000, 6000, 9000, 12000, 18000, 24000, 30000, 34000, 39000]
    )
    speed = np.hypot(levels.wind_north, levels.wind_east) / KNOT
    assert speed == pytest.approx([0, 15, 20, 31, 45, 60, 65, 70, 118])
    celsius = levels.temperature - KELVIN_AT_0_C
    assert celsius == pytest.approx([np.nan, 4, -1, -6, -18, -30, -45, -52, -60], nan_ok=True)
    # 270 deg at 6000 ft blows towards east; 78 - 50 = 28: 280 deg at 39 000 ft.
    assert levels.wind_east[1] == pytest.approx(15 * KNOT)
    assert levels.wind_north[8] == pytest.approx(-118 * KNOT * np.cos(280 * DEGREE))
    assert report.refused == ()


def test_winds_aloft_with_the_lowest_level_blank():
    levels, _ = read_winds_aloft(FB, "QQB", "fb.txt")
    assert levels.altitude / FOOT == pytest.approx([6000.0, 9000.0])


def netcdf(**attributes) -> bytes:
    level = np.array([1000.0, 850.0, 500.0])
    shape = (2, 3, 2, 2)
    data = xr.Dataset(
        {
            "u": (("time", "level", "latitude", "longitude"), np.full(shape, 10.0)),
            "v": (("time", "level", "latitude", "longitude"), np.full(shape, -5.0)),
            "t": (("time", "level", "latitude", "longitude"), np.full(shape, 280.0), attributes),
        },
        {"time": [0, 6], "level": level, "latitude": [46.0, 45.0], "longitude": [324.0, 325.0]},
    )
    return bytes(data.to_netcdf(engine="h5netcdf"))


def test_netcdf_profile_with_longitudes_to_360():
    levels, report = read_netcdf_profile(netcdf(), (46.1, -36.0), "a.nc")
    assert levels.altitude[0] == pytest.approx(float(atmosphere.pressure_altitude(1e5)))
    assert levels.wind_east == pytest.approx(10.0) and levels.wind_north == pytest.approx(-5.0)
    assert any("324" in said for said in report.assumed)


@pytest.mark.parametrize(
    ("data", "code"), [(b"GRIB\x00", "file-format"), (b"abc", "weather-invalid")]
)
def test_files_that_are_no_netcdf(data, code):
    with pytest.raises(NeutralPointError) as failed:
        read_netcdf_profile(data, (46.0, -36.0), "a.nc")
    assert failed.value.code == code


def test_netcdf_far_away_is_refused():
    with pytest.raises(NeutralPointError, match="degrees away"):
        read_netcdf_profile(netcdf(), (10.0, -36.0), "a.nc")


@pytest.mark.parametrize("above", [False, True])
def test_row_of_units_and_a_date_of_its_own(above):
    header, units = "Date,Time,Lat,Lon,Alt,Spd", "yyyy-mm-dd,hh:mm:ss,degrees,degrees,ft,kt"
    rows = [
        f"2031-04-14,18:57:{k:02d},{46 + k * 0.0005:.5f},-36.0,{3000 + 10 * k},108"
        for k in range(40)
    ]
    head = [f"#{units}", header] if above else [header, units]
    columns = {
        "date": Column("Date"),
        "time": Column("Time"),
        "latitude": Column("Lat"),
        "longitude": Column("Lon"),
        "geometric_altitude": Column("Alt"),
        "ground_speed": Column("Spd"),
    }
    track, report = read_delimited("\n".join([*head, *rows]).encode(), ColumnMap(columns), "l.csv")
    assert report.rows_read == 40
    assert track.geometric_altitude.value[0] / FOOT == pytest.approx(3000.0)
    assert track.ground_speed.value / KNOT == pytest.approx(108.0)
    assert any("row of units" in said for said in report.assumed)


READERS = {
    "gpx": (GPX, lambda d: read_gpx(d, HeightDatum(), "x")),
    "kml": (KML, lambda d: read_kml(d, HeightDatum(), "x")),
    "fb": (FB.encode(), lambda d: read_winds_aloft(d.decode("latin-1"), "QQA", "x")),
    "netcdf": (netcdf(), lambda d: read_netcdf_profile(d, (46.0, -36.0), "x")),
}


@pytest.mark.parametrize("name", READERS)
@settings(max_examples=40)
@given(data=st.data())
def test_damaged_files_give_values_or_a_reason(name, data):
    good, read = READERS[name]
    damaged = bytearray(good)
    for _ in range(data.draw(st.integers(1, 8))):
        damaged[data.draw(st.integers(0, len(damaged) - 1))] = data.draw(st.integers(0, 255))
    try:
        read(bytes(damaged[: data.draw(st.integers(0, len(damaged)))]))
    except NeutralPointError as refused:
        assert refused.hint
