"""`neutralpoint response`: how long something could still be done, and by how many."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table

from neutralpoint.cli.numbers import finite
from neutralpoint.cli.output import console, progress, show_caution, show_result
from neutralpoint.cli.studying import write_page
from neutralpoint.quantities import FOOT

if TYPE_CHECKING:
    from neutralpoint.study.response.file import ResponseSummary

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def response(
    case: CasePath,
    cause: Annotated[
        list[str] | None,
        typer.Option("--cause", help="Name of a cause; may be repeated. Else all that remain."),
    ] = None,
    height_ft: Annotated[
        float | None,
        typer.Option(
            "--height-ft", min=50.0, callback=finite, help="Above the ground at the start."
        ),
    ] = None,
    begin: Annotated[
        float | None,
        typer.Option(
            "--from", callback=finite, help="Start, s after the track's epoch; else the case's."
        ),
    ] = None,
    quick: Annotated[bool, typer.Option("--quick", help="Fewer pilots, larger errors.")] = False,
    as_json: AsJson = False,
) -> None:
    """Compute how long something could still be done; writes CASE/results/response.nc."""
    from neutralpoint.case.text import first_look

    first_look(case)
    from neutralpoint.study import run_stage
    from neutralpoint.study.response.file import RESPONSE_FILE, read_summary
    from neutralpoint.study.settings import ResponseSettings

    chosen = ResponseSettings(
        causes=tuple(cause or ()),
        height=None if height_ft is None else height_ft * FOOT,
        begin=begin,
        full=not quick,
    )
    with progress() as tell:
        results = run_stage(case, "response", tell, chosen)
        write_page(results, tell)
    found = read_summary(results / RESPONSE_FILE)
    if as_json:
        show_result({"response": str(results / RESPONSE_FILE)} | found.model_dump(mode="json"))
        return
    _show(found)


def _show(found: ResponseSummary) -> None:
    from neutralpoint.findings import SampledShare
    from neutralpoint.report.words.response import height_words, latest_words, sampled

    out = console()
    out.print(
        f"{height_words(found.height_above_ground)} above the ground. Reaction: median "
        f"{found.reaction_median:g} s ({found.reaction_source})."
    )
    table = Table(box=None, pad_edge=False)
    table.add_column("if", no_wrap=True)
    table.add_column("procedure")
    table.add_column("end above the ground", justify="right")
    table.add_column("latest effective action, 50%", justify="right")
    last = ""
    for row in found.rows:
        share = sampled(SampledShare(share=row.saved, low95=row.low, high95=row.high))
        latest = latest_words(row.latest, found.longest)
        table.add_row("" if row.cause == last else row.cause, row.procedure, share, latest)
        last = row.cause
    out.print(table)
    for sentence in found.left_out:
        out.print(f"Not computed: {sentence}")
    out.print("In brackets: 95% sampling error.")
    out.print(found.comment)
    show_caution(out)
