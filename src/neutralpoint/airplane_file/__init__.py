"""The airplane file: one TOML document that describes an airplane with its load.

What comes in: a file's text or the name of an airplane of the catalogue. What goes out: a
`DescribedAirplane` in SI units, with the band and the source of every number. It is assumed that a
number without `+-` counts as certain.
"""
