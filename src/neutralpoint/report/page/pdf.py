"""The page as PDF, printed by a headless Chromium where the machine has one."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import written
from neutralpoint.report.page.pdf_places import places, with_pages

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
PATIENCE = 120  # s: a page takes about three on two idle cores
HINT = "Install Chromium so that `chromium` is on the path, or print the HTML from any browser."


def write_pdf(page: Path, out: Path) -> Path:
    """Print a report to PDF, with bookmarks and the page numbers of its contents.

    Args:
        page: The HTML report.
        out: The PDF to write; an older one is replaced whole.

    Returns:
        Path of the PDF.

    Raises:
        NeutralPointError: `browser-missing` without a browser, or where it fails.
    """
    with tempfile.TemporaryDirectory() as scratch:
        fresh = Path(scratch) / "report.pdf"
        options = ["--generate-pdf-document-outline", f"--print-to-pdf={fresh}"]
        printed(page, fresh, options)
        if found := places(fresh.read_bytes()):
            numbered = Path(scratch) / "report.html"
            numbered.write_text(with_pages(page.read_text("utf-8"), found), "utf-8")
            printed(numbered, fresh, options)
        with written(out) as landed:
            shutil.copyfile(fresh, landed)
    return out


def printed(page: Path, out: Path, options: list[str]) -> None:
    """Let a browser make a file of a page.

    Args:
        page: The page.
        out: What it makes: a PDF or a PNG.
        options: Of the browser, which name that file.

    Raises:
        NeutralPointError: `browser-missing` without a browser, or where it fails.
    """
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if browser is None:
        raise NeutralPointError(
            "browser-missing",
            f"None of {', '.join(BROWSERS)} is on the path.",
            where=str(out),
            hint=HINT,
        )
    command = [
        browser,
        "--headless",
        "--disable-gpu",
        "--no-pdf-header-footer",
        f"--user-data-dir={out.with_suffix('.profile')}",
        *options,
        page.resolve().as_uri(),
    ]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.insert(1, "--no-sandbox")  # Chromium refuses to start for root otherwise
    try:
        done = subprocess.run(command, capture_output=True, timeout=PATIENCE, check=False)
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()[-1:]
    except subprocess.TimeoutExpired:
        said = [f"no answer within {PATIENCE} s"]
    kind = out.suffix.removeprefix(".").upper()
    if not out.is_file() or kind.encode() not in out.read_bytes()[:4]:
        raise NeutralPointError(
            "browser-missing",
            f"{Path(browser).name} made no {kind}: {' '.join(said) or 'no message'}.",
            where=str(page),
            hint=HINT,
        )
