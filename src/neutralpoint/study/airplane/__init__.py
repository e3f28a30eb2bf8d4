"""What an airplane file describes, as curves and margins.

What comes in: a described airplane. What goes out: its equilibrium, stability, control force and
modes over speed, with bands. It is assumed that the bands are those of the file's numbers.
"""
