"""The third stage: from the motion, the airplane and further evidence to the odds of the causes.

What comes in: a case, its kept motion and its required moment. What goes out: `weighing.nc`, the
odds, the most informative evidence and the score of the method. It is assumed that simulated
flights are kept by content and may be deleted at any time.
"""
