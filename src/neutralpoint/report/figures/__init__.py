"""Figures: from saved results to curves, bands and marks, on a page or in print.

What comes in: a loaded results folder. What goes out: figures as data, and as SVG and PNG. It is
assumed that nothing is computed but bands of saved sample paths.
"""
