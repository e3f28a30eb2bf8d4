"""Air data against what airplanes computed on board. Needs recorded flights kept elsewhere."""

from __future__ import annotations

import csv
import gzip

import numpy as np
import pytest

from neutralpoint.earth import airspeed, atmosphere
from neutralpoint.quantities import FOOT, KELVIN_AT_0_C, KNOT

pytestmark = pytest.mark.recorded


def read(path, columns):
    """Named columns of a compressed CSV file as a record array; blanks are NaN."""
    with gzip.open(path, "rt", encoding="utf-8", newline="") as file:
        rows = [[float(row[c] or "nan") for c in columns] for row in csv.DictReader(file)]
    return np.rec.fromarrays(np.array(rows).T, names=columns)


@pytest.mark.parametrize("name", ["bizjet_01", "bizjet_04"])
def test_on_board_air_data_computer(recorded_flights, name):
    """Mach, true airspeed and total temperature from CAS, pressure altitude and SAT, over 80 kt.

    Source: what the airplane's own air-data computer recorded, beside the project.
    """
    columns = ["press_alt_ft", "cas_kt", "tas_kt", "mach", "sat_c", "tat_c"]
    flight = read(recorded_flights / f"{name}.csv.gz", columns)
    flight = flight[flight.cas_kt > 80.0]
    pressure = atmosphere.pressure(flight.press_alt_ft * FOOT)
    temperature = flight.sat_c + KELVIN_AT_0_C
    mach = airspeed.mach_from_cas(flight.cas_kt * KNOT, pressure)
    tas_kt = airspeed.tas_from_cas(flight.cas_kt * KNOT, pressure, temperature) / KNOT
    # Channels of one row were sampled up to 0.1 s apart and carry their own corrections: 1 kt and
    # 0.0015 of Mach hold 99 rows in 100. A wrong formula is off by several knots at altitude.
    assert np.quantile(np.abs(tas_kt - flight.tas_kt), 0.99) < 1.0
    assert np.quantile(np.abs(mach - flight.mach), 0.99) < 0.0015
    total = temperature * (1.0 + 0.2 * mach**2) - KELVIN_AT_0_C
    assert abs(np.median(total - flight.tat_c)) < 0.05  # sensor steps of 0.25 K average out


def test_mach_and_airspeed_replies_of_an_airliner(recorded_flights):
    """Register 6,0 replies to 33 000 ft: CAS from Mach and altitude against the airspeed sent.

    Source: the airliner's own replies, register 6,0, beside the project.
    """
    columns = ["t_s", "altitude", "mach", "indicated_airspeed"]
    sent = read(recorded_flights / "airliner_modes_decoded.csv.gz", columns)
    sent = sent[sent.t_s < 1000.0]
    heights = sent[np.isfinite(sent.altitude)]
    replies = sent[np.isfinite(sent.mach + sent.indicated_airspeed)]
    assert len(replies) > 300
    altitude_ft = np.interp(replies.t_s, heights.t_s, heights.altitude)
    cas = airspeed.cas_from_mach(replies.mach, atmosphere.pressure(altitude_ft * FOOT)) / KNOT
    error = cas - replies.indicated_airspeed
    # Mach is sent in steps of 0.004, which is 1.3 to 2.6 kt of CAS here: half a step 0.7 to 1.3 kt.
    assert abs(np.median(error)) < 0.5
    assert np.quantile(np.abs(error), 0.9) < 1.3
    assert np.abs(error).max() < 3.0
