"""What the documents of an analyst share: quantities as text, fields, refusals.

What comes in: text such as `"235 kt +- 5 kt"` and the faults that a document's check found. What
goes out: SI values with half-widths, and errors that name the key at fault. It is assumed that `+-`
is the half-width of a 95% interval.
"""
