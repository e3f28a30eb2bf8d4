"""Constants and unit factors, each with its source. SI inside: multiply by a factor to get SI.

`altitude_ft * FOOT` is metres; `speed / KNOT` is knots.
"""

from __future__ import annotations

import math

# Exact by definition: BIPM, The International System of Units, 9th ed., table 8 (NM, degree);
# NIST SP 811 (2008), appendix B.8 (foot, inch, pound, pound-force, inch of mercury, 32 F).
FOOT = 0.3048
INCH = 0.0254
NAUTICAL_MILE = 1852.0
STATUTE_MILE = 1609.344
MINUTE = 60.0
HOUR = 3600.0
KNOT = NAUTICAL_MILE / HOUR
FOOT_PER_MINUTE = FOOT / MINUTE
DEGREE = math.pi / 180.0
POUND = 0.45359237
HECTOPASCAL = 100.0
INCH_OF_MERCURY = 3386.389
KELVIN_AT_0_C = 273.15

# Standard acceleration of gravity: 3rd CGPM (1901), resolution 2; exact by convention.
GRAVITY = 9.80665
POUND_FORCE = POUND * GRAVITY
SLUG = POUND_FORCE / FOOT  # kg
SLUG_FOOT_SQUARED = SLUG * FOOT**2

# US Standard Atmosphere 1976, table 2 (P0, T0, r0) and table 4 (lapse, first base); the same below
# 32 km as ISO 2533:1975 and ICAO Doc 7488 (3rd ed., 1993), whose gas constant this is.
SEA_LEVEL_PRESSURE = 101325.0  # Pa
SEA_LEVEL_TEMPERATURE = 288.15  # K
LAPSE_RATE = 0.0065  # K/m of geopotential height, below the tropopause
TROPOPAUSE = 11000.0  # m, geopotential
GAS_CONSTANT = 287.05287  # J/(kg K), dry air
HEAT_RATIO = 1.4  # ratio of specific heats
SEA_LEVEL_DENSITY = SEA_LEVEL_PRESSURE / (GAS_CONSTANT * SEA_LEVEL_TEMPERATURE)  # kg/m3
GEOPOTENTIAL_RADIUS = 6356766.0  # m

# WGS 84: NIMA TR8350.2, 3rd ed., amendment 1 (2000), tables 3.1, 3.3 and 3.4; mean radius R1 from
# Moritz, Geodetic Reference System 1980, and NGA.STND.0036, table 3.6.
EQUATOR_RADIUS = 6378137.0  # m, semi-major axis
FLATTENING = 1.0 / 298.257223563
ECCENTRICITY_SQUARED = FLATTENING * (2.0 - FLATTENING)
EARTH_RADIUS = 6371008.8  # m, mean, for short distances
EQUATOR_GRAVITY = 9.7803253359  # m/s2
SOMIGLIANA = 0.00193185265241  # k of the closed formula of gravity
