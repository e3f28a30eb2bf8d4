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
from matplotlib.figure import Figure as Sheet

from neutralpoint.findings import LIKELIHOOD, Findings, StageSection, said_likelihood
from neutralpoint.report.claims.ledger import Ledger, load_ledger
from neutralpoint.report.figures import palette
from neutralpoint.report.figures.compose import compose_figure, compose_stage
from neutralpoint.report.figures.draw_matplotlib import path_sheet, strip_sheets, svg
from neutralpoint.report.figures.figure import Figure, Strips
from neutralpoint.report.figures.sheets import PRINT_TIMES
from neutralpoint.report.figures.timeline import source_clocks, timeline_sheet
from neutralpoint.report.page.payload import payload
from neutralpoint.report.results import Results, load_results
from neutralpoint.report.words import tables
from neutralpoint.report.words.motion import estimate_words, flagged_reason, readings
from neutralpoint.report.words.sections import sections_of
from neutralpoint.report.words.sentences import cannot_show, in_short

SCREEN_TIMES = 1600


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
    fresh = out.with_name(f".{out.name}.new")
    fresh.write_text(html, encoding="utf-8")
    fresh.replace(out)
    return out


def report_html(results: Results, ledger: Ledger) -> str:
    """The page as text.

    Args:
        results: A results folder, read.
        ledger: What the analyst says of it.

    Returns:
        HTML with everything inside; its content policy allows nothing else.
    """
    figure = compose_figure(results, limit=SCREEN_TIMES)
    stages = _stages(results)
    script, style = _static("report.js"), _style()
    drawn, floats = payload(_drawn(figure, stages))
    environment = Environment(
        loader=PackageLoader("neutralpoint.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("report.html.j2").render(
        policy=_policy(script, style),
        script=Markup(script),
        style=Markup(style),
        drawn=Markup(_json(drawn)),
        floats=base64.b64encode(floats).decode("ascii"),
        prints=_prints(results),
        ledger=ledger,
        timeline=_timeline(results.findings),
        clocks=source_clocks(results.findings),
        scores=[  # those of the verdicts stand beside them alone
            score for section, _ in stages if section.stage != "moments" for score in section.scores
        ],
        LIKELIHOOD=LIKELIHOOD,
        said_likelihood=said_likelihood,
        findings=results.findings,
        figure=figure,
        stages=stages,
        short=in_short(results.findings),
        hidden=cannot_show(results.findings),
        clock=lambda seconds: tables.time_of_day(results.findings, seconds),
        printed_step=tables.printed_step,
        estimate_words=estimate_words,
        flagged_reason=flagged_reason,
        readings=readings,
        headings=tables.headings(),
        key_rows=tables.key_rows(results.findings),
        seen=tables.seen_table(results),
        resolution=tables.resolution_grid(results.findings.resolution),
    )


def _stages(results: Results) -> list[tuple[StageSection, Strips | None]]:
    return [
        (
            section,
            compose_stage(results, section.panels, limit=SCREEN_TIMES) if section.panels else None,
        )
        for section in sections_of(results.findings)
    ]


def _drawn(figure: Figure, stages: list[tuple[StageSection, Strips | None]]) -> dict[str, Any]:
    return {
        "figure": figure,
        "stages": [
            {"name": section.stage, "strips": strips} for section, strips in stages if strips
        ],
        "palette": palette.described(),
    }


def _prints(results: Results) -> dict[str, list[tuple[str, str]]]:
    """Figures for print and for readers without scripts, by stage: title and data address."""
    figure = compose_figure(results, limit=PRINT_TIMES)
    path = (
        "The path from above and from the side",
        _address(path_sheet(figure.views, figure.strips)),
    )
    found = {"motion": [*_printed_strips(figure.strips), path]}
    for section in sections_of(results.findings):
        if section.panels:
            strips = compose_stage(results, section.panels, limit=PRINT_TIMES)
            found[section.stage] = _printed_strips(strips)
    return found


def _printed_strips(strips: Strips) -> list[tuple[str, str]]:
    sheets = strip_sheets(strips)
    return [
        (f"Strip charts, sheet {number} of {len(sheets)}", _address(sheet))
        for number, sheet in enumerate(sheets, start=1)
    ]


def _timeline(findings: Findings) -> str:
    return _address(timeline_sheet(findings)) if findings.events else ""


def _address(sheet: Sheet) -> str:
    return f"data:image/svg+xml;base64,{base64.b64encode(svg(sheet)).decode('ascii')}"


def _static(name: str) -> str:
    return (resources.files("neutralpoint.report") / "static" / name).read_text(encoding="utf-8")


def _style() -> str:
    root = ":root{" + "".join(f"--{name}:{value};" for name, value in palette.ROLES.items()) + "}"
    return root + _static("uplot.css") + _static("report.css")


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
