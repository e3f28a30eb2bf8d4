"""The second stage: from the motion and an airplane to `moments.nc` and its findings.

What comes in: a case with its airplane and the motion as estimated or kept. What goes out:
`moments.nc` and what the findings say of the required moment. It is assumed that a case without an
airplane file skips the stage with a reason.
"""
