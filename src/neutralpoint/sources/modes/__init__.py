"""Raw Mode S: from frames with their times to a track.

What comes in: the text of a recording. What goes out: a track with stated accuracies and a report
of what was refused. It is assumed that the optional extra that decodes frames is installed.
"""
