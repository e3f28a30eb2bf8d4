"""What a recording tells: propellers, the speed of a pass, tones, a carrier, the pitch of a voice.

A band-limited recording comes in with the number of blades and the range of rotation. What goes
out is the blade rate with its band in every moment, the chance that there is one, beats and
changes; from a microphone on the ground the rate at the source along each sample path and the
speed of the pass without the track; when a known tone sounded, when a carrier was on, and the
pitch of a voice. It is assumed that a blade rate and its harmonics are the steadiest lines in
their range.
"""

from neutralpoint.hearing.doppler import Pass, fit_pass, heard_at, source_rate
from neutralpoint.hearing.engines import LineEvent, beat_of, line_events
from neutralpoint.hearing.radio import carrier_on
from neutralpoint.hearing.ridge import Ridge, follow, follow_second
from neutralpoint.hearing.spectra import Spectra, spectra_of
from neutralpoint.hearing.tones import soundings, tone_present
from neutralpoint.hearing.voice import Voice, pitch_of

__all__ = [
    "LineEvent",
    "Pass",
    "Ridge",
    "Spectra",
    "Voice",
    "beat_of",
    "carrier_on",
    "fit_pass",
    "follow",
    "follow_second",
    "heard_at",
    "line_events",
    "pitch_of",
    "soundings",
    "source_rate",
    "spectra_of",
    "tone_present",
]
