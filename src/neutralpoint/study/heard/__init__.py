"""The stage `heard`: what recordings tell of the propellers.

What comes in is a case with recordings and its motion. What goes out is `heard.nc` with the lines
that were followed, and the findings. It is assumed that the clock of a recording runs true.
"""
