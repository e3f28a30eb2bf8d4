"""How likely each cause is, how far that can be trusted, and what would settle it.

What comes in: the motion of a case as sample paths, and flights of every cause simulated from that
case's own start with everything uncertain drawn. What goes out: odds with their band, Bayes
factors, parameters and flights of each cause, and the worth of evidence not yet collected. It is
assumed that the simulated flights err the way real ones do; how far that holds is measured on blind
cases from another model and printed beside every conclusion.
"""
