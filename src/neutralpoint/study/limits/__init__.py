"""The stage `limits`: which limits of the airplane the flight passed.

What comes in is the motion and the required moment of a case with an airplane. What goes out is
`limits.nc` with its findings. It is assumed that the limits of the airplane file hold as written.
"""
