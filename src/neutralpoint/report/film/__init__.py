"""The film: frames of the flight with the instruments, and their encoding.

What comes in: a loaded results folder. What goes out: numbered frames or a video file. It is
assumed that an encoder is found on the machine for the video.
"""
