"""The answer sheet as a page of its own that asks nothing of any network."""

from __future__ import annotations

import base64
import hashlib
from importlib import resources
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from neutralpoint.report.figures import palette
from neutralpoint.report.results import Results, load_results
from neutralpoint.report.sheet.draw import drawn_of
from neutralpoint.report.words.sheet import sheet_of

ANSWER = "answer.html"


def answer_html(results: Results) -> str:
    """The page as text.

    Args:
        results: A results folder, read.

    Returns:
        HTML with everything inside; its content policy allows nothing else.
    """
    sheet = sheet_of(results.findings)
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
            sheet=sheet, drawn=drawn_of(results, sheet), style=Markup(style), policy=policy
        )  # fmt: skip
    )


def write_answer(results_folder: Path) -> Path:
    """Write the answer sheet of a case beside its findings.

    Args:
        results_folder: Folder with `findings.json` and the NetCDF files it names.

    Returns:
        Path of the page.

    Raises:
        NeutralPointError: `results-missing` or `results-version`.
    """
    out = results_folder / ANSWER
    html = answer_html(load_results(results_folder))
    fresh = out.with_name(f".{ANSWER}.new")
    fresh.write_text(html, encoding="utf-8")
    fresh.replace(out)
    return out


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
    return (resources.files("neutralpoint.report") / "static" / name).read_text(encoding="utf-8")


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("neutralpoint.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
