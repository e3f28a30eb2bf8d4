"""ASTERIX: from blocks of radar reports to a track.

What comes in: the bytes of a recording. What goes out: a track and a report of what was refused. It
is assumed that the optional extra that decodes records is installed.
"""
