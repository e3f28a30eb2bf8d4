"""What a recording tells of propellers: the blade rate in time, and the speed of a pass.

A band-limited recording comes in with the number of blades and the range of rotation. What goes
out is the blade rate with its band in every moment, the chance that there is one, and from a
microphone on the ground the rate at the source along each sample path and the speed of the pass
without the track. It is assumed that a blade rate and its harmonics are the steadiest lines in
their range.
"""

from neutralpoint.hearing.doppler import Pass, fit_pass, source_rate
from neutralpoint.hearing.ridge import Ridge, follow
from neutralpoint.hearing.spectra import Spectra, spectra_of

__all__ = ["Pass", "Ridge", "Spectra", "fit_pass", "follow", "source_rate", "spectra_of"]
