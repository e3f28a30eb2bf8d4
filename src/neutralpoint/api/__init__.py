"""The program from Python: a case, its study, and results as xarray objects and plots.

What comes in: a case folder. What goes out: a `Case` that can be studied and `Results` that hold
the saved files as xarray datasets and draw on matplotlib axes. It is assumed that names are taken
from `neutralpoint` itself; only those named there are kept from one version to the next.
"""
