"""The stage `felt`: what could be seen and felt in the pilot's seat.

What comes in is the motion of a case, its time and place, and what its weather reports and grids of
terrain bear. What goes out is `felt.nc` with its findings. It is assumed that the person in the
seat has a healthy inner ear and looked at nothing; whether anyone did is never said.
"""
