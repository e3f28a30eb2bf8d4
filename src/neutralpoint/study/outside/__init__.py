"""The stage `outside`: causes and examinations of other, installed packages.

What comes in is what all other stages saved, and the names in `[outside]` of the case. What goes
out is `outside.nc` with its findings. It is assumed that a plug-in is right about itself: its
numbers are told as its own, and a cause of it is judged, not believed.
"""
