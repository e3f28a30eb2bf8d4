"""From a surveillance track to what an airplane did, what it took, and what could have done it."""

__version__ = "0.1.0"
