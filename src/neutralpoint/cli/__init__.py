"""The command line: one command for each thing an analyst does with a case.

What comes in: arguments. What goes out: text for people or, with `--json`, one JSON document on
standard output; errors in the same four fields either way, with exit code 2. It is assumed that
progress may be written to standard error.
"""

from neutralpoint.cli.entry import main

__all__ = ["main"]
