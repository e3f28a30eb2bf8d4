"""The stage `wreckage`: where the airplane and its parts came down.

What comes in is the motion of a case that names parts. What goes out is `wreckage.json`, maps as
GeoJSON and KML, and the findings. It is assumed that the load factors and the bank of the last
reading are held to the ground where no cause says otherwise.
"""
