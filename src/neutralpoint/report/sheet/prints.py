"""The answer sheet alone on paper: a PDF of one page and a PNG."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from neutralpoint.files import written
from neutralpoint.report.page.pdf import printed
from neutralpoint.report.sheet.page import fresh_answer

PAPER = (1120, 1584)  # CSS pixels of the picture: the shape of A4
SHARP = 2  # dots of the picture in one of them


def print_answer(results_folder: Path) -> list[Path]:
    """Print the answer sheet of a case as it stands.

    Args:
        results_folder: Folder with `findings.json` and the NetCDF files it names.

    Returns:
        Paths of `answer.pdf` and `answer.png` beside it.

    Raises:
        NeutralPointError: `results-missing`, `results-version`, or `browser-missing` without a
            browser, or where it fails.
    """
    html = fresh_answer(results_folder)
    pdf, picture = results_folder / "answer.pdf", results_folder / "answer.png"
    shot = [
        f"--window-size={PAPER[0]},{PAPER[1]}",
        f"--force-device-scale-factor={SHARP}",
        "--hide-scrollbars",
    ]
    with tempfile.TemporaryDirectory() as scratch:
        page = Path(scratch) / "answer.html"
        page.write_text(html, "utf-8")
        for out, options in ((pdf, ["--print-to-pdf="]), (picture, [*shot, "--screenshot="])):
            fresh = Path(scratch) / out.name
            printed(page, fresh, [*options[:-1], f"{options[-1]}{fresh}"])
            with written(out) as landed:
                shutil.copyfile(fresh, landed)
    return [pdf, picture]
