"""Surface reports and wind tables: what they say is taken, what they do not say is not guessed."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import DEGREE, FOOT, KNOT
from neutralpoint.sources.column_map import Column
from neutralpoint.sources.metar import read_metars
from neutralpoint.sources.profile import AirSource, join_profiles, surface_profile, surface_source
from neutralpoint.sources.sounding import read_sounding
from neutralpoint.sources.wind_table import read_wind_table

DAY = date(2031, 4, 14)


def one(text):
    reports, found = read_metars(text, DAY, "metar.txt")
    assert len(reports) == 1
    return reports[0], found


def test_an_ordinary_report():
    report, found = one("METAR QQCH 141844Z 23012G18KT 9999 SCT045 BKN090 14/06 Q1009=\n")
    assert (report.station, report.time) == ("QQCH", datetime(2031, 4, 14, 18, 44, tzinfo=UTC))
    assert report.wind_from == pytest.approx(230 * DEGREE)
    assert report.wind_speed == pytest.approx(12 * KNOT)
    assert report.gust == pytest.approx(18 * KNOT)
    assert report.temperature == pytest.approx(287.15)
    assert report.altimeter_setting == 100900.0
    assert found.refused == ()


def test_inches_tenths_variable_and_cold():
    report, _ = one("SPECI QQCH 140003Z AUTO VRB03KT 10SM CLR M05/M11 A2992 RMK AO2 T10481106")
    assert report.wind_from is None
    assert report.wind_speed == pytest.approx(3 * KNOT)
    assert report.temperature == pytest.approx(273.15 - 4.8)
    assert report.altimeter_setting == pytest.approx(29.92 * 3386.389)


def test_metres_a_second_and_a_range_of_directions():
    report, _ = one("QQCH 141844Z 08006G11MPS 040V120 CAVOK 25/M03 Q0998 NOSIG 30099KT")
    assert (report.wind_speed, report.gust) == (6.0, 11.0)
    assert report.spread == pytest.approx((40 * DEGREE, 120 * DEGREE))
    assert report.temperature == pytest.approx(298.15)


@pytest.mark.parametrize(
    ("groups", "visibility", "ceiling_ft"),
    [
        ("9999 SCT045 BKN090", 10_000.0, 9000.0),
        ("0800 FG VV002", 800.0, 200.0),
        ("1 1/2SM BR OVC008", 1.5 * 1609.344, 800.0),
        ("M1/4SM OVC001", 0.25 * 1609.344, 100.0),
        ("10SM FEW250", 10.0 * 1609.344, np.inf),
        ("CAVOK", 10_000.0, np.inf),
        ("9999 BKN012 OVC006 TEMPO 0300 OVC001", 10_000.0, 600.0),
        ("", None, None),
    ],
)
def test_sight_and_clouds(groups, visibility, ceiling_ft):
    report, found = one(f"QQCH 141844Z 08006KT {groups} 14/06 Q1009")
    assert report.visibility == (visibility and pytest.approx(visibility))
    assert report.ceiling == (ceiling_ft and pytest.approx(ceiling_ft * FOOT))
    assert found.refused == ()


def test_words_for_no_cloud_speak_up_to_their_height():
    reach = [one(f"QQCH 141844Z 08006KT 9999 {word} 14/06 Q1009")[0].cloud_reach / FOOT
             for word in ("NSC", "CLR", "SKC", "BKN090")]  # fmt: skip
    assert reach == pytest.approx([5000.0, 12000.0, 40000.0, 20000.0])


def test_winds_of_trends_are_not_taken():
    report, _ = one("QQCH 141844Z 08006KT 14/06 Q1009 TEMPO 25030G45KT Q0900")
    assert report.wind_speed == pytest.approx(6 * KNOT)
    assert report.altimeter_setting == 100900.0


@pytest.mark.parametrize(
    ("group", "reason"),
    [
        ("25005KY", "wind"),
        ("/////KT", "wind"),
        ("40005KT", "direction"),
        ("Q2992", "range"),
        ("Q////", "setting"),
        ("360240KT", "wind 360240KT is out of range"),
        ("09010G130MPS", "out of range"),
        ("99/98", "temperature 99/98 is out of range"),
        ("M95/M99", "out of range"),
        ("RMK T09990999", "out of range"),
    ],
)
def test_groups_that_cannot_be_read_are_counted(group, reason):
    report, found = one(f"QQCH 141844Z {group} 14/06")
    assert len(found.refused) == 1
    assert reason in found.refused[0].reason
    assert report.altimeter_setting is report.wind_from is report.wind_speed is None
    # What a group could not say the next may; what stands in remarks is none of the report.
    assert report.temperature is None if "RMK" in group else report.temperature == 287.15


def test_the_month_is_the_one_nearest_to_the_case():
    reports, _ = read_metars("QQCH 312350Z 00000KT 01/00 Q1009", date(2031, 4, 1), "m")
    assert reports[0].time == datetime(2031, 3, 31, 23, 50, tzinfo=UTC)


def test_several_reports_come_in_order_of_time():
    text = "QQCH 141944Z 24010KT 14/06 Q1008=\nQQCH 141844Z 23012KT\n     14/06 Q1009="
    reports, _ = read_metars(text, DAY, "metar.txt")
    assert [r.altimeter_setting for r in reports] == [100900.0, 100800.0]


@pytest.mark.parametrize("text", ["", "no report", "QQCH 149944Z 23012KT"])
def test_a_text_without_a_report_is_refused(text):
    with pytest.raises(NeutralPointError) as caught:
        read_metars(text, DAY, "metar.txt")
    assert caught.value.code == "weather-invalid"


@given(st.text(max_size=300))
def test_no_text_raises_anything_but_a_clear_error(text):
    try:
        read_metars(text, DAY, "metar.txt")
    except NeutralPointError as error:
        assert error.code == "weather-invalid"


def table(header, rows, **units):
    columns = {
        role: Column(name, units.get(role))
        for role, name in zip(
            ("altitude", "wind_from", "wind_speed", "temperature"), header, strict=True
        )
    }
    text = "\n".join([",".join(header), *rows])
    return read_wind_table(text.encode(), columns, "wind.csv")


def test_a_wind_table_is_read_in_order_of_height():
    levels, report = table(
        ("height_ft", "from", "speed_kt", "temp_c"),
        ["6000,270,30,-2", "3000,180,20,5", "9000,,,-8"],
    )
    assert levels.altitude == pytest.approx(np.array([3000, 6000, 9000]) * FOOT)
    assert levels.wind_north[0] == pytest.approx(20 * KNOT)
    assert levels.wind_east[1] == pytest.approx(30 * KNOT)
    assert np.isnan(levels.wind_north[2])
    assert levels.temperature == pytest.approx([278.15, 271.15, 265.15])
    assert any("pressure altitude" in s for s in report.assumed)


def test_a_wind_table_without_units_is_refused():
    with pytest.raises(NeutralPointError) as caught:
        table(("height_ft", "from", "speed", "temp_c"), ["3000,180,20,5"])
    assert caught.value.code == "column-unit"
    with pytest.raises(NeutralPointError) as caught:
        table(("height_ft", "from", "speed", "temp_c"), ["3000,180,20,5"], wind_speed="Pa")
    assert caught.value.code == "quantity-unit"
    with pytest.raises(NeutralPointError) as caught:
        table(("height_ft", "from", "speed_kt", "temp_c"), ["x,180,20,5"])
    assert caught.value.code == "weather-invalid"


SOUNDING = """\
-----------------------------------------------------------------------------
   PRES   HGHT   TEMP   DWPT   RELH   MIXR   DRCT   SKNT   THTA   THTE   THTV
    hPa      m      C      C      %   g/kg    deg   knot      K      K      K
-----------------------------------------------------------------------------
  967.1    360   16.3    8.3     59   7.12    231     13  292.2
  953.5    480   15.7    7.7     59   6.95                292.9
  929.0    700  *****    6.0     59   6.32    236     15  293.3
  700.0   3000   -0.5   -8.5     55   2.87    249     26  301.7
  broken line
Station information and sounding indices
  500.0   5600  -16.5  -24.5     50   1.05    261     29  312.6
"""


def test_upper_air_text_with_blanks_and_stars():
    levels, report = read_sounding(SOUNDING, "sounding.txt")
    assert levels.altitude.size == 4
    assert levels.altitude[3] == pytest.approx(3011.0, abs=2.0)  # 700 hPa, ISO 2533 table
    assert np.isnan(levels.wind_north[1]) and np.isnan(levels.temperature[2])
    speed = np.hypot(levels.wind_north, levels.wind_east)
    assert speed[[0, 2, 3]] == pytest.approx(np.array([13, 15, 26]) * KNOT)
    assert levels.temperature[0] == pytest.approx(289.45)
    assert report.rows_read == 4


def test_upper_air_text_in_metres_a_second():
    text = SOUNDING.replace("knot", " m/s")
    levels, _ = read_sounding(text, "sounding.txt")
    assert np.hypot(levels.wind_north[0], levels.wind_east[0]) == pytest.approx(13.0)


@pytest.mark.parametrize("text", ["", "PRES HGHT", SOUNDING.splitlines()[1]])
def test_upper_air_text_without_levels_is_refused(text):
    with pytest.raises(NeutralPointError) as caught:
        read_sounding(text, "sounding.txt")
    assert caught.value.code == "weather-invalid"


@given(st.text(alphabet="0123456789.- \n*/MAPRESTN", max_size=300))
def test_no_upper_air_text_raises_anything_but_a_clear_error(text):
    try:
        read_sounding("PRES HGHT TEMP DRCT SKNT\n" + text, "sounding.txt")
    except NeutralPointError as error:
        assert error.code == "weather-invalid"


def test_a_report_and_a_sounding_become_one_profile():
    levels, _ = read_sounding(SOUNDING, "sounding.txt")
    report, _ = one("QQCH 141844Z 23012KT 14/06 Q1009=")
    surface = surface_source(report, 200.0, report.altimeter_setting)
    profile = join_profiles([AirSource(levels, 4.0, 1.5), surface], "case")
    assert (np.diff(profile.altitude) > 0).all()
    north, east, warmth = profile.at(surface.levels.altitude)
    assert np.hypot(north, east) == pytest.approx(12 * KNOT, rel=0.05)
    assert warmth == pytest.approx(287.15, abs=0.3)
    assert profile.sigma_wind[0] == pytest.approx(2.0)
    assert profile.sigma_wind[-1] == pytest.approx(4.0)


def test_a_variable_wind_is_none_with_its_speed_as_error():
    report, _ = one("QQCH 141844Z VRB06KT 14/06 Q1009=")
    source = surface_source(report, 0.0, 101325.0)
    assert source.levels.wind_north[0] == 0.0
    assert source.sigma_wind == pytest.approx(6 * KNOT)
    assert surface_profile(report, 0.0, 101325.0).temperature[0] == pytest.approx(287.15)


def test_a_report_without_wind_alone_is_no_weather():
    report, _ = one("QQCH 141844Z 14/06 Q1009=")
    source = surface_source(report, 0.0, 101325.0)
    with pytest.raises(NeutralPointError) as caught:
        join_profiles([source], "case.toml")
    assert caught.value.code == "weather-invalid"
    nothing, _ = one("QQCH 141844Z Q1009=")
    assert surface_source(nothing, 0.0, 101325.0) is None
