"""Write `docs/reference/airplane-sheets.md`: what `neutralpoint airplane NAME` says of each.

    python docs/make_sheets.py

With the picture that its `--figure` draws. Some 20 s an airplane. `make slow` compares every number
of each sheet with the command.
"""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
from pathlib import Path

from PIL import Image

os.environ["COLUMNS"] = "100"  # before the terminal is asked how wide it is

from neutralpoint.airplane_file.catalogue import catalogue_names
from neutralpoint.cli.entry import run

DOCS = Path(__file__).parent
PAGE = DOCS / "reference" / "airplane-sheets.md"
PICTURES = DOCS / "images" / "sheets"
WIDTH, COLORS = 1000, 64  # of pictures
HEAD = """<!-- Made by docs/make_sheets.py; change the code, not this page. -->

# Sheets of the invented airplanes

What `neutralpoint airplane NAME --figure PICTURE` prints and draws: loading and envelope, stall,
trim and column force over speed, forces at the nose-down stop, modes, trim drive. Each number
stands as the file gives it, then as the median of the draws of its uncertainty with their 90% band.
Where every number of a file is from, and which are estimates with which error:
[the catalogue](catalogue.md). None is a real type; not for flight.

Each picture, from top left: limits of mass and center of gravity with the airplane as loaded and
empty; trim for no force over speed between the stops; column force, trimmed and mistrimmed; pull
that holds level flight at the nose-down stop, with what hands can give; column force per g; modes
by damping ratio and frequency, a dot a draw. Bands hold 90% of the draws.

The moments of inertia of ostrel-7 are a little more than any body can have: yaw is 1.2% above the
sum of roll and pitch (2.7% empty). Each is an estimate from radii of gyration of its class,
statistics of different airplanes, with a standard deviation of 15 to 25%; the excess lies well
within, and was left. The other five keep the rule.
"""


def sheet(name: str, picture: Path | None = None) -> str:
    """What the command prints of one airplane, without what changes from run to run.

    Args:
        name: Of the catalogue.
        picture: Where to draw it; None for no picture.

    Returns:
        Lines without trailing blanks.

    Raises:
        RuntimeError: Where the command fails.
    """
    told = io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(io.StringIO()):
        code = run(["airplane", name, *(["--figure", str(picture)] if picture else [])])
    if code:
        raise RuntimeError(f"`neutralpoint airplane {name}` ended with {code}")
    lines = [line.rstrip() for line in told.getvalue().strip().splitlines()]
    if picture is not None:
        (place,) = (k for k, line in enumerate(lines) if line.startswith("Drawn: "))
        del lines[place - 1 : place + 1]
    return "\n".join(lines)


def main() -> None:
    """Write the page and its pictures."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    parts = [HEAD]
    for name in catalogue_names():
        with tempfile.TemporaryDirectory() as folder:
            picture = Path(folder) / "sheet.png"
            told = sheet(name, picture)
            _save(Image.open(picture), PICTURES / f"{name}.png")
        words = f"Limits, trim, column forces and modes of {name}, an invented airplane"
        parts.append(
            f"## {name}\n\n![{words}](../images/sheets/{name}.png)\n\n```text\n{told}\n```\n"
        )
    PAGE.write_text("\n".join(parts), "utf-8")


def _save(picture: Image.Image, path: Path) -> None:
    height = round(picture.height * WIDTH / picture.width)
    small = picture.convert("RGB").resize((WIDTH, height), Image.Resampling.LANCZOS)
    small.quantize(COLORS, dither=Image.Dither.NONE).save(path, optimize=True)


if __name__ == "__main__":
    main()
