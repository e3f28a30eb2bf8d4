"""The standard atmosphere against printed tables and against a reference library."""

from __future__ import annotations

import numpy as np
import pytest
from ambiance import Atmosphere

from neutralpoint.earth import atmosphere, geodesy
from neutralpoint.quantities import FOOT, INCH, INCH_OF_MERCURY, KNOT, POUND_FORCE, SLUG


def test_geopotential_table(authority):
    """US Standard Atmosphere 1976 / ICAO Doc 7488 (authorities/atmosphere_geopotential.toml).

    Source: US Standard Atmosphere 1976 / ICAO Doc 7488.
    """
    table = authority("atmosphere_geopotential")["table"]
    height = table["altitude_ft"] * FOOT
    temperature, pressure = atmosphere.temperature(height), atmosphere.pressure(height)
    density = atmosphere.density(pressure, temperature)
    sound = atmosphere.speed_of_sound(temperature)
    # Tolerances: half a unit of the last printed digit of each column, plus 1e-5 relative for the
    # rounding of the constants that the table was made with.
    for found, column, last_printed_digit in [
        (temperature, "temperature_k", 5e-4),
        (temperature - 273.15, "temperature_c", 5e-4),
        (pressure, "pressure_pa", 0.05),
        (pressure / INCH_OF_MERCURY, "pressure_inhg", 5e-5),
        (pressure / (POUND_FORCE / FOOT**2), "pressure_psf", 5e-3),
        (pressure / 101325.0, "pressure_ratio", 5e-7),
        (temperature / 288.15, "temperature_ratio", 5e-7),
        (density / 1.225, "density_ratio", 5e-7),
        (density, "density_kg_m3", 5e-7),
        (density / (SLUG / FOOT**3), "density_slug_ft3", 5e-8),
        (sound, "sound_speed_m_s", 5e-4),
        (sound / KNOT, "sound_speed_kt", 5e-3),
    ]:
        np.testing.assert_allclose(
            found, table[column], atol=last_printed_digit, rtol=1e-5, err_msg=column
        )
    # Back to the height: 0.05 Pa of rounding is 0.02 m at the highest row.
    np.testing.assert_allclose(
        atmosphere.pressure_altitude(table["pressure_pa"]), height, atol=0.05
    )


def test_geometric_table(authority):
    """Mechanical Engineers' Handbook vol. 4, table 6 (authorities/atmosphere_geometric.toml).

    Source: Mechanical Engineers' Handbook, vol. 4, table 6.
    """
    table = authority("atmosphere_geometric")["table"]
    height = geodesy.geopotential_height(table["altitude_m"])
    temperature, pressure = atmosphere.temperature(height), atmosphere.pressure(height)
    # Half a unit of the last printed digit; 1e-9 more for the decimal representation.
    np.testing.assert_allclose(height, table["geopotential_m"], atol=0.5)
    np.testing.assert_allclose(temperature, table["temperature_k"], atol=5e-3 + 1e-9)
    np.testing.assert_allclose(pressure / 1e5, table["pressure_bar"], atol=5e-5 + 1e-9)
    density = atmosphere.density(pressure, temperature)
    np.testing.assert_allclose(density, table["density_kg_m3"], atol=5e-5 + 1e-9)
    sound = atmosphere.speed_of_sound(temperature)
    # One entry was rounded twice in the handbook: 320.545, 320.55, 320.6.
    np.testing.assert_allclose(sound, table["sound_speed_m_s"], atol=0.055)


def test_reference_library():
    """The registry library `ambiance` (ICAO Doc 7488), over geometric heights of all layers.

    Source: ICAO Doc 7488 as the registry library `ambiance` has it.
    """
    geometric = np.linspace(-4000.0, 80000.0, 337)
    library = Atmosphere(geometric)
    height = geodesy.geopotential_height(geometric)
    # It uses the same formulas and R = 287.05287 with base pressures rounded: 2e-6.
    np.testing.assert_allclose(height, library.H, rtol=1e-12)
    np.testing.assert_allclose(atmosphere.temperature(height), library.temperature, rtol=1e-9)
    np.testing.assert_allclose(atmosphere.pressure(height), library.pressure, rtol=3e-6)
    density = atmosphere.density(atmosphere.pressure(height), atmosphere.temperature(height))
    np.testing.assert_allclose(density, library.density, rtol=3e-6)
    sound = atmosphere.speed_of_sound(atmosphere.temperature(height))
    np.testing.assert_allclose(sound, library.speed_of_sound, rtol=3e-6)


@pytest.mark.parametrize(
    ("altitude_ft", "pressure_psi", "temperature_f"),
    [
        (5000.0, 12.230, 41.2),
        (10000.0, 10.108, 23.4),
        (20000.0, 6.758, -12.3),
        (30000.0, 4.371, -47.8),
    ],
)
def test_engineers_table(altitude_ft, pressure_psi, temperature_f):
    """Geometric feet; the table differs from the standard by up to 0.2 %.

    Source: table 1 of engineersedge.com, standard_atmospheric_data_15729 (seen 2026-11-28).
    """
    height = geodesy.geopotential_height(altitude_ft * FOOT)
    found = atmosphere.pressure(height) / (POUND_FORCE / INCH**2)
    assert found == pytest.approx(pressure_psi, rel=2e-3)
    fahrenheit = (atmosphere.temperature(height) - 273.15) * 1.8 + 32.0
    assert fahrenheit == pytest.approx(temperature_f, abs=0.2)
