"""Earlier flights of an airplane and of its type: what is usual, and what was not.

What comes in: a folder of tracks as tables or files of flights, tens or ten thousand of them, and
the track of the case. What goes out: one row of measures with errors for every flight, how unusual
the case is among them, and which flights and airplanes stand out of their own family. It is assumed
that readings are as receivers log them; nothing here finds a fault, and no command but `history`
and the stage of that name loads the engine that reads the tables.
"""
