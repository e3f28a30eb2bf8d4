"""The last stage: from the motion and a cause to the time and strength a pilot had.

What comes in: a case, its kept motion and the causes that remain. What goes out: `response.nc` and
what the findings say of delays and forces. It is assumed that the pilots described are no actual
person.
"""
