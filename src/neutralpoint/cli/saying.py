"""Commands that say something of saved results: report, claims, compare, wording, film."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from neutralpoint.cli.output import PrintedLine, console, progress, show_caution, show_result
from neutralpoint.cli.studying import AsLines
from neutralpoint.files import present, told_of_system

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
STUDY = "Case folder, its results folder, or a folder with kept results."


def report(
    case: CasePath,
    pdf: Annotated[
        bool,
        typer.Option(
            "--pdf", help="Print it to PDF too, and the answer sheet alone; needs Chromium."
        ),
    ] = False,
    figures: Annotated[
        Path | None,
        typer.Option("--figures", metavar="FOLDER", help="Save every figure as SVG and PNG."),
    ] = None,
    as_json: AsJson = False,
    progress_json: AsLines = False,
) -> None:
    """Make the report again from saved results and claims; nothing is computed anew."""
    results = case / "results"
    present(results, "findings.json")
    if figures is not None:  # told before everything is drawn
        with told_of_system(figures):
            figures.mkdir(parents=True, exist_ok=True)
    from neutralpoint.report import (
        load_results,
        print_answer,
        write_answer,
        write_figures,
        write_pdf,
        write_report,
    )
    from neutralpoint.study import retell

    with progress(as_lines=progress_json) as tell:
        tell(PrintedLine("report", "Reading the case"))
        retell(case)
        tell(PrintedLine("report", "Writing the report"))
        write_answer(results)
        written: dict[str, str | list[str]] = {
            "report": str(write_report(results, results / "report.html"))
        }
        if figures is not None:
            tell(PrintedLine("report", "Drawing the figures", 0.5))
            drawn = write_figures(load_results(results), figures)
            written["figures"] = [str(path) for path in drawn]
        if pdf:
            tell(PrintedLine("report", "Printing to PDF", 0.5))
            made = write_pdf(results / "report.html", results / "report.pdf")
            written["pdf"] = str(made)
            written["answer"] = [str(path) for path in print_answer(results)]
    if as_json or progress_json:
        show_result(written, as_line=progress_json)
        return
    for paths in written.values():
        for path in [paths] if isinstance(paths, str) else paths:
            console().print(path, soft_wrap=True)
    show_caution(console())


def claims(
    case: CasePath,
    draft: Annotated[
        bool, typer.Option("--draft", help="Write a claims.toml to work on, where there is none.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Check CASE/claims.toml against the findings, or propose one."""
    results = case / "results"
    present(results, "findings.json")
    from neutralpoint.report import load_ledger, write_drafts

    if draft:
        path = write_drafts(case, results)
        if as_json:
            show_result({"claims": str(path)})
        else:
            console().print(str(path), soft_wrap=True)
            show_caution(console())
        return
    ledger = load_ledger(case, results)
    if as_json:
        show_result(
            {
                "claims": [row.model_dump(mode="json") for row in ledger.claims],
                "drafts": [row.model_dump(mode="json") for row in ledger.drafts],
                "corrections": [row.model_dump(mode="json") for row in ledger.corrections],
            }
        )
        return
    from neutralpoint.cli.reviewing import show_ledger

    show_ledger(ledger, console())
    show_caution(console())


def compare(
    before: Annotated[Path, typer.Argument(metavar="BEFORE", help=STUDY)],
    after: Annotated[Path, typer.Argument(metavar="AFTER", help=STUDY)],
    as_json: AsJson = False,
) -> None:
    """Say what moved from one study to another, and which inputs can have moved it."""
    for place in (before, after):
        present(
            place if (place / "findings.json").is_file() else place / "results", "findings.json"
        )
    from dataclasses import asdict

    from neutralpoint.report.compare import compare as compared
    from neutralpoint.report.compare import read_side

    found = compared(read_side(before), read_side(after))
    if as_json:
        show_result(asdict(found))
        return
    from neutralpoint.cli.comparing import show_comparison

    show_comparison(found, console())
    show_caution(console())


def wording(
    script: Annotated[
        Path, typer.Argument(metavar="SCRIPT", help="Your text: Markdown or plain, UTF-8.")
    ],
    case: Annotated[
        Path | None, typer.Argument(metavar="[CASE]", help="Case whose findings it speaks of.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Flag sentences of your own text that say more than the findings support."""
    from neutralpoint.report import read_text

    text = read_text(script)
    from neutralpoint.report import review_text
    from neutralpoint.report.results import case_lookup

    findings, lookup = (None, None) if case is None else case_lookup(case / "results")
    review = review_text(text, findings, lookup)
    if as_json:
        show_result(review.as_dict())
        return
    from neutralpoint.cli.reviewing import show_review

    show_review(review, script, console())
    show_caution(console())
