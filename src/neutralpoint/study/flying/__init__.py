"""Flying causes forward from a case, once for a file or again and again for a page.

What comes in: a case with a described airplane and the name of a cause. What goes out: flown paths
with their summary, and the list of causes with their parameters. It is assumed that the start is
taken from the kept motion.
"""
