"""The command that describes an airplane: tables, JSON and a figure.

What comes in: an airplane file or a name of the catalogue. What goes out: text, one JSON document
or a figure. It is assumed that all numbers come from the study of the airplane.
"""
