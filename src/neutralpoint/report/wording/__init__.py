"""Wording: what a text says beyond what the findings bear.

What comes in: a text and, if there are any, findings. What goes out: remarks with place and
advice. It is assumed that a person decides on each remark.
"""
