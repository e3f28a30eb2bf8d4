"""The first stage: from the track of a case to `motion.nc` and its findings.

What comes in: a loaded case. What goes out: `motion.nc`, `track.nc` and what the findings say of
the flight path. It is assumed that the stage's files are replaced whole or not at all.
"""
