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
HORSEPOWER = 745.6998715822702  # 550 ft lbf/s

# Standard acceleration of gravity: 3rd CGPM (1901), resolution 2; exact by convention.
GRAVITY = 9.80665
POUND_FORCE = POUND * GRAVITY
SLUG = POUND_FORCE / FOOT  # kg
SLUG_FOOT_SQUARED = SLUG * FOOT**2
