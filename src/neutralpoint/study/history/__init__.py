"""The stage `history`: earlier flights measured, compared with the case, and kept.

What comes in: a case and a folder of tracks. What goes out: `history.nc` and the part of the
findings that says how unusual the flight is. It is assumed that the tracks lie where the case or
the command says; what each part of them gave is kept in `results/.history`.
"""
