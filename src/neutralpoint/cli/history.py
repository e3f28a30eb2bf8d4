"""`neutralpoint history`: the flight of a case among earlier ones, and a fleet screened."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table

from neutralpoint.cli.output import console, progress, show_caution, show_result
from neutralpoint.cli.studying import write_page

if TYPE_CHECKING:
    from neutralpoint.findings import HistoryFindings

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def history(
    case: CasePath,
    tracks: Annotated[
        Path | None,
        typer.Option(
            "--tracks",
            metavar="FOLDER",
            help="Tracks of earlier flights; else the folder that the case names.",
        ),
    ] = None,
    workers: Annotated[
        int, typer.Option("--workers", min=1, max=256, help="Processes that measure flights.")
    ] = 1,
    dask: Annotated[
        str, typer.Option("--dask", metavar="ADDRESS", help="Measure on the Dask cluster there.")
    ] = "",
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Compare again; measured flights are kept.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Say how unusual the flight of a case is among earlier ones; writes CASE/results/history.nc.

    Tracks are CSV, Parquet, GPX or KML: a file a flight, or tables of many. A run that was stopped
    goes on where it stopped.
    """
    from neutralpoint.case.text import first_look

    first_look(case)
    from neutralpoint.findings import read_findings
    from neutralpoint.study import run_stage
    from neutralpoint.study.settings import HistorySettings

    folder = "" if tracks is None else str(tracks.resolve())
    settings = HistorySettings(tracks=folder, workers=workers, dask=dask)
    with progress() as tell:
        results = run_stage(case, "history", tell, settings, fresh=fresh)
        if (results / "motion.nc").is_file():
            write_page(results, tell)
    found = read_findings(results).history
    if found is None:
        return
    if as_json:
        show_result(found.model_dump(mode="json"))
        return
    _show(found)


def _show(found: HistoryFindings) -> None:
    from neutralpoint.report.words import history as words

    out = console()
    section = words.history_section(found)
    for statement in section.statements:
        out.print(statement.text, soft_wrap=True)
    for one in section.tables:
        out.print(f"\n{one.caption}")
        table = Table(box=None, pad_edge=False)
        for head in one.columns:
            table.add_column(head, overflow="fold")
        for row in one.rows:
            table.add_row(*row)
        out.print(table)
    for caution in section.cautions:
        out.print(caution)
    show_caution(out)
