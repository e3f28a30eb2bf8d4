"""Airspeed conversions against printed tables and exact identities."""

from __future__ import annotations

import numpy as np
import pytest

from neutralpoint.earth import airspeed, atmosphere
from neutralpoint.quantities import FOOT, INCH_OF_MERCURY, KNOT, POUND_FORCE


def test_impact_pressure(authority):
    """Airspeed-tester table (authorities/impact_pressure.toml).

    Source: the airspeed-tester table named in authorities/impact_pressure.toml.
    """
    table = authority("impact_pressure")["table"]
    impact = 101325.0 * airspeed.pressure_ratio_from_mach(
        table["cas_kt"] * KNOT / atmosphere.SEA_LEVEL_SOUND_SPEED
    )
    # Half a unit of the last printed digit; the last row prints one digit less.
    for found, column, digit, last in [
        (impact, "impact_pa", 0.05, 0.5),
        (impact / INCH_OF_MERCURY, "impact_inhg", 5e-5, 5e-4),
        (impact / (POUND_FORCE / FOOT**2), "impact_psf", 5e-3, 5e-2),
    ]:
        # 2e-6 relative: the table's sound speed is rounded to 1e-6.
        np.testing.assert_allclose(found[:-1], table[column][:-1], atol=digit, rtol=2e-6)
        np.testing.assert_allclose(found[-1], table[column][-1], atol=last, rtol=2e-6)


def test_impact_at_mach_one_is_exact():
    """qc/p = 1.2^3.5 - 1 = 0.892929 at Mach 1, from below and from above (closed form).

    Source: NACA Report 1135 (1953), isentropic flow, from memory; closed form at Mach 1.
    """
    near = np.array([1.0 - 1e-9, 1.0, 1.0 + 1e-9])
    assert airspeed.pressure_ratio_from_mach(near) == pytest.approx(0.892929, abs=5e-7)


def test_pitot_behind_a_shock():
    """NACA Report 1135 (1953), table II, p1/p02 (from memory): Mach 1.5, 2.0, 2.5, 3.0.

    Source: NACA Report 1135 (1953), table II, from memory.
    """
    printed = np.array([0.2930, 0.1773, 0.1173, 0.08291])
    found = 1.0 / (airspeed.pressure_ratio_from_mach([1.5, 2.0, 2.5, 3.0]) + 1.0)
    np.testing.assert_allclose(found, printed, atol=5e-5)  # half a unit of the fourth digit


def test_equivalent_airspeed_factor(authority):
    """H. Smith, Aircraft Flight Mechanics, pressure-correction table; tolerance 0.0006 there.

    Source: H. Smith, Aircraft Flight Mechanics, pressure-correction table.
    """
    document = authority("equivalent_airspeed_factor")
    table = document["table"]
    height = table["altitude_ft"][:, None] * FOOT
    speeds = [key for key in document["columns"] if key.startswith("cas_")]
    cas = np.array([float(key.split("_")[1]) for key in speeds]) * KNOT
    printed = np.stack([table[key] for key in speeds], axis=1)
    temperature, pressure = atmosphere.temperature(height), atmosphere.pressure(height)
    tas = airspeed.tas_from_cas(cas, pressure, temperature)
    eas = airspeed.eas_from_tas(tas, atmosphere.density(pressure, temperature))
    # Past Mach 1 the table goes on with the subsonic formula, which no pitot tube follows.
    subsonic = airspeed.mach_from_cas(cas, pressure) < 1.0
    assert (~subsonic).sum() == 4  # 300 kt at 45 000 ft; 250 kt and more at 50 000 ft
    # The highest row is printed more roughly than the others: up to 0.0009 off.
    tolerance = np.where(table["altitude_ft"] < 50000.0, 6e-4, 1e-3)[:, None]
    assert np.all((np.abs(eas / cas - printed) <= tolerance) | ~subsonic)


def test_worked_conversions(authority):
    """Independent computation (authorities/airspeed_conversions.toml), one of them not standard.

    Source: independent computation, authorities/airspeed_conversions.toml.
    """
    table = authority("airspeed_conversions")["table"]
    height, cas = table["altitude_ft"] * FOOT, table["cas_kt"] * KNOT
    pressure = atmosphere.pressure(height)
    temperature = atmosphere.temperature(height) + table["deviation_k"]
    mach = airspeed.mach_from_cas(cas, pressure)
    tas = airspeed.tas_from_cas(cas, pressure, temperature)
    eas = airspeed.eas_from_tas(tas, atmosphere.density(pressure, temperature))
    # Half a unit of the last printed digit; 1e-6 for a sound speed rounded to six digits.
    np.testing.assert_allclose(mach, table["mach"], atol=5e-5)
    np.testing.assert_allclose(tas / KNOT, table["tas_kt"], atol=5e-3, rtol=1e-6)
    np.testing.assert_allclose(eas / KNOT, table["eas_kt"], atol=5e-3, rtol=1e-6)
    np.testing.assert_allclose(airspeed.mach_from_tas(tas, temperature), mach, rtol=1e-12)
    np.testing.assert_allclose(airspeed.cas_from_mach(mach, pressure), cas, rtol=1e-12)
