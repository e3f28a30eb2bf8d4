"""The world outside the airplane: ellipsoid, gravity, standard atmosphere, airspeed, weather.

Takes positions, pressures, temperatures and speeds as arrays in SI and radians. Gives local
coordinates, air data, and wind and temperature with a jointly drawn error. Assumes WGS 84, dry air
and a weather profile over one place; heights are pressure altitudes where named so.
"""

from neutralpoint.earth.geodesy import LocalFrame
from neutralpoint.earth.weather import Weather

__all__ = ["LocalFrame", "Weather"]
