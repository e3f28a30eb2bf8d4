"""The answer sheet as a page of its own that asks nothing of any network."""

from __future__ import annotations

import base64
import hashlib
from importlib import resources
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from neutralpoint import __version__
from neutralpoint.files import own_file, read_own, write_whole
from neutralpoint.report.figures import palette
from neutralpoint.report.results import Results, load_results
from neutralpoint.report.sheet.draw import DrawnAnswer, drawn_of
from neutralpoint.report.sheet.sheet import Sheet
from neutralpoint.report.words.sheet import sheet_of

ANSWER, FINDINGS_FILE = "answer.html", "findings.json"


def answer_html(results: Results) -> str:
    """The page as text.

    Args:
        results: A results folder, read.

    Returns:
        HTML with everything inside; its content policy allows nothing else.
    """
    style = sheet_style(alone=True)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode("ascii")
    policy = (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; "
        "form-action 'none'"
    )
    return (
        _environment()
        .get_template("answer.html.j2")
        .render(
            **answer_parts(results),
            style=Markup(style),
            policy=policy,
            digest=findings_digest(results.folder),
        )
    )


def answer_parts(results: Results) -> dict[str, Sheet | DrawnAnswer]:
    """What a template needs for the sheet: its text and its figures.

    Args:
        results: A results folder, read.

    Returns:
        By the names that templates use.
    """
    sheet = sheet_of(results.findings)
    return {"answer": sheet, "answer_drawn": drawn_of(results, sheet)}


def findings_digest(results_folder: Path) -> str:
    """SHA-256 of the findings, the style and the template that a page is made from."""
    path = own_file(results_folder, FINDINGS_FILE)
    made = sheet_style(alone=True) + _file("templates", "sheet.html.j2") + __version__
    found = b"" if path is None else read_own(path)
    return hashlib.sha256(found + made.encode()).hexdigest()


def fresh_answer(results_folder: Path) -> str:
    """The answer sheet of a case as it stands, made anew where the findings have changed.

    Args:
        results_folder: Folder with `findings.json` and the NetCDF files it names.

    Returns:
        HTML.

    Raises:
        NeutralPointError: `results-missing` or `results-version`.
    """
    page = own_file(results_folder, ANSWER)
    mark = f'name="np-findings" content="{findings_digest(results_folder)}"'
    held = "" if page is None else read_own(page).decode("utf-8", "replace")
    return held if mark in held else write_answer(results_folder).read_text("utf-8")


def write_answer(results_folder: Path) -> Path:
    """Write the answer sheet of a case beside its findings.

    Args:
        results_folder: Folder with `findings.json` and the NetCDF files it names.

    Returns:
        Path of the page.

    Raises:
        NeutralPointError: `results-missing` or `results-version`.
    """
    html = answer_html(load_results(results_folder))
    return write_whole(results_folder / ANSWER, html.encode("utf-8"))


def sheet_style(*, alone: bool) -> str:
    """Style of the sheet.

    Args:
        alone: Whether the page holds nothing else.

    Returns:
        CSS.
    """
    if not alone:
        return _static("sheet.css")
    roles = "".join(f"--{name}:{value};" for name, value in palette.ROLES.items())
    return f":root{{{roles}}}{_static('alone.css')}{_static('sheet.css')}"


def _static(name: str) -> str:
    return _file("static", name)


def _file(folder: str, name: str) -> str:
    return (resources.files("neutralpoint.report") / folder / name).read_text(encoding="utf-8")


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("neutralpoint.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
