"""Write `docs/reference/airplane-sheets.md`: what `neutralpoint airplane NAME` says of each.

    python docs/make_sheets.py

Some 20 s an airplane. `make slow` compares every number of each sheet with the command.
"""

from __future__ import annotations

import contextlib
import io
import os
from pathlib import Path

os.environ["COLUMNS"] = "100"  # before the terminal is asked how wide it is

from neutralpoint.airplane_file.catalogue import catalogue_names
from neutralpoint.cli.entry import run

PAGE = Path(__file__).parent / "reference" / "airplane-sheets.md"
HEAD = """<!-- Made by docs/make_sheets.py; change the code, not this page. -->

# Sheets of the invented airplanes

What `neutralpoint airplane NAME` prints: loading and envelope, stall, trim and column force over
speed, forces at the nose-down stop, modes, trim drive. Each number stands as the file gives it,
then as the median of the draws of its uncertainty with their 90% band. Where every number of a file
is from, and which are estimates with which error: [the catalogue](catalogue.md). None is a real
type; not for flight.
"""


def sheet(name: str) -> str:
    """What the command prints of one airplane, without what changes from run to run.

    Args:
        name: Of the catalogue.

    Returns:
        Lines without trailing blanks.

    Raises:
        RuntimeError: Where the command fails.
    """
    told = io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(io.StringIO()):
        code = run(["airplane", name])
    if code:
        raise RuntimeError(f"`neutralpoint airplane {name}` ended with {code}")
    return "\n".join(line.rstrip() for line in told.getvalue().strip().splitlines())


def main() -> None:
    """Write the page."""
    parts = [HEAD]
    for name in catalogue_names():
        parts.append(f"## {name}\n\n```text\n{sheet(name)}\n```\n")
    PAGE.write_text("\n".join(parts), "utf-8")


if __name__ == "__main__":
    main()
