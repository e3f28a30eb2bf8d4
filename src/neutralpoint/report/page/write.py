"""One case on one page: a single HTML file that asks nothing of any network."""

from __future__ import annotations

import base64
import hashlib
import json
from importlib import resources
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from neutralpoint.files import write_whole
from neutralpoint.findings import IN_BRIEF, LIKELIHOOD, Findings, said_likelihood
from neutralpoint.report.claims.ledger import Ledger, load_ledger
from neutralpoint.report.figures import palette
from neutralpoint.report.figures.compose import compose_figure
from neutralpoint.report.figures.figure import Figure
from neutralpoint.report.figures.timeline import source_clocks
from neutralpoint.report.page.binding import SCREEN_TIMES, bind
from neutralpoint.report.page.book import Book
from neutralpoint.report.page.payload import payload
from neutralpoint.report.page.plates import Plates
from neutralpoint.report.page.printed import heading, prose
from neutralpoint.report.results import Results, load_results
from neutralpoint.report.sheet.page import answer_parts, sheet_style
from neutralpoint.report.words import tables
from neutralpoint.report.words.glossary import TERMS
from neutralpoint.report.words.labels import outdated_names
from neutralpoint.report.words.motion import estimate_words, flagged_reason, readings
from neutralpoint.report.words.phrases import small_percent
from neutralpoint.report.words.sections import sections_of, statements_of


def write_report(results_folder: Path, out: Path) -> Path:
    """Write the report of a case, from its saved results and its `claims.toml` alone.

    Args:
        results_folder: Folder with `findings.json` and the NetCDF files it names.
        out: The HTML file to write; an older one is replaced whole.

    Returns:
        Path of the file.

    Raises:
        NeutralPointError: `results-missing`, `results-version` or `claims-invalid`.
    """
    ledger = load_ledger(results_folder.parent, results_folder)
    html = report_html(load_results(results_folder), ledger)
    return write_whole(out, html.encode("utf-8"))


def report_html(results: Results, ledger: Ledger) -> str:
    """The page as text.

    Args:
        results: A results folder, read.
        ledger: What the analyst says of it.

    Returns:
        HTML with everything inside; its content policy allows nothing else.
    """
    findings = results.findings
    figure = compose_figure(results, limit=SCREEN_TIMES)
    book = bind(findings, ledger, Plates(results))
    script, style = _static("report.js"), _style(findings)
    drawn, floats = payload(_drawn(figure, book))
    environment = Environment(
        loader=PackageLoader("neutralpoint.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"prose": prose, "heading": heading}
    environment.globals |= {"said_likelihood": said_likelihood, "small_percent": small_percent}
    sections = sections_of(findings)
    return environment.get_template("report.html.j2").render(
        GLOSSARY=TERMS,
        policy=_policy(script, style),
        script=Markup(script),
        style=Markup(style),
        drawn=Markup(_json(drawn)),
        floats=base64.b64encode(floats).decode("ascii"),
        ledger=ledger,
        clocks=source_clocks(findings),
        all_scores=[score for section in sections for score in section.scores],
        LIKELIHOOD=LIKELIHOOD,
        IN_BRIEF=IN_BRIEF,
        outdated_names=outdated_names,
        findings=findings,
        figure=figure,
        book=book,
        shows=statements_of(findings),
        clock=lambda seconds: tables.time_of_day(findings, seconds),
        **answer_parts(results),
        printed_step=tables.printed_step,
        estimate_words=estimate_words,
        flagged_reason=flagged_reason,
        readings=readings,
        headings=tables.headings(),
        key_rows=tables.key_rows(findings),
        seen=tables.seen_table(results),
        resolution=tables.resolution_grid(findings.resolution),
    )


def _drawn(figure: Figure, book: Book) -> dict[str, Any]:
    return {
        "figure": figure,
        "stages": [
            {"name": chapter.section.stage, "strips": chapter.strips}
            for chapter in book.appendices
            if chapter.section is not None and chapter.strips is not None
        ],
        "palette": palette.described(),
    }


def _static(name: str) -> str:
    return (resources.files("neutralpoint.report") / "static" / name).read_text(encoding="utf-8")


def _style(findings: Findings) -> str:
    root = ":root{" + "".join(f"--{name}:{value};" for name, value in palette.ROLES.items()) + "}"
    return (
        root
        + _static("uplot.css")
        + _static("report.css")
        + sheet_style(alone=False)
        + _running(findings)
    )


def _running(findings: Findings) -> str:
    """Head and foot of every printed page but the first, which bears the title."""
    cut_off = f"data cut-off {findings.cut_off}"
    left, right = css_string(findings.subject.title), css_string(f"preliminary, {cut_off}")
    return (
        f"@page{{@top-left{{content:{left}}}@top-right{{content:{right}}}}}"
        "@page:first{@top-left{content:none}@top-right{content:none}}"
    )


def css_string(text: str) -> str:
    """Text as a string of a style sheet that cannot end it, or the element it stands in."""
    safe = "".join(c if c.isalnum() or c in " .,-:" else f"\\{ord(c):x} " for c in text)
    return f'"{safe}"'


def _policy(script: str, style: str) -> str:
    """Content policy: nothing from anywhere, our one script and one style by their hashes."""
    digests = [
        base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")
        for text in (script, style)
    ]
    return (
        f"default-src 'none'; script-src 'sha256-{digests[0]}'; "
        f"style-src 'sha256-{digests[1]}'; img-src data:; base-uri 'none'; form-action 'none'"
    )


def _json(value: Any) -> str:
    """JSON that cannot end the script element it stands in."""
    text = json.dumps(value, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
