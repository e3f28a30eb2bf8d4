"""Commands that say something of saved results: report, claims, wording, film."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from neutralpoint.cli.output import console, progress, show_json

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def report(
    case: CasePath,
    pdf: Annotated[
        bool, typer.Option("--pdf", help="Print it to PDF too; needs a Chromium browser.")
    ] = False,
    figures: Annotated[
        Path | None,
        typer.Option("--figures", metavar="FOLDER", help="Save every figure as SVG and PNG."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Make the report again from saved results and claims; nothing is computed anew."""
    from neutralpoint.report import load_results, write_figures, write_pdf, write_report

    results = case / "results"
    with progress() as tell:
        tell("Writing the report")
        written = {"report": str(write_report(results, results / "report.html"))}
        if figures is not None:
            tell("Drawing the figures")
            drawn = write_figures(load_results(results), figures)
            written["figures"] = [str(path) for path in drawn]
        if pdf:
            tell("Printing to PDF")
            made = write_pdf(results / "report.html", results / "report.pdf")
            written["pdf"] = str(made)
    if as_json:
        show_json(written)
        return
    for paths in written.values():
        for path in [paths] if isinstance(paths, str) else paths:
            console().print(path, soft_wrap=True)


def claims(
    case: CasePath,
    draft: Annotated[
        bool, typer.Option("--draft", help="Write a claims.toml to work on, where there is none.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Hold CASE/claims.toml against the findings, or propose one."""
    from neutralpoint.report import load_ledger, write_drafts

    results = case / "results"
    if draft:
        path = write_drafts(case, results)
        if as_json:
            show_json({"claims": str(path)})
        else:
            console().print(str(path), soft_wrap=True)
        return
    ledger = load_ledger(case, results)
    if as_json:
        show_json(
            {
                "claims": [row.model_dump(mode="json") for row in ledger.claims],
                "drafts": [row.model_dump(mode="json") for row in ledger.drafts],
                "corrections": [row.model_dump(mode="json") for row in ledger.corrections],
            }
        )
        return
    from neutralpoint.cli.reviewing import show_ledger

    show_ledger(ledger, console())


def wording(
    script: Annotated[
        Path, typer.Argument(metavar="SCRIPT", help="Your text: Markdown or plain, UTF-8.")
    ],
    case: Annotated[
        Path | None, typer.Argument(metavar="[CASE]", help="Case whose findings it speaks of.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Flag sentences of your own text that say more than the findings bear."""
    from neutralpoint.report import read_text, review_text
    from neutralpoint.report.results import case_lookup

    findings, lookup = (None, None) if case is None else case_lookup(case / "results")
    review = review_text(read_text(script), findings, lookup)
    if as_json:
        show_json(review.as_dict())
        return
    from neutralpoint.cli.reviewing import show_review

    show_review(review, script, console())
