"""The command that draws pictures to be published."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from neutralpoint.cli.numbers import finite
from neutralpoint.cli.output import PrintedLine, console, progress, show_caution, show_result
from neutralpoint.cli.studying import AsLines
from neutralpoint.files import present

if TYPE_CHECKING:
    from neutralpoint.report.results import Results

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def figures(
    case: CasePath,
    names: Annotated[
        list[str] | None,
        typer.Argument(metavar="[NAME]...", help="Which; without any, they are listed."),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Draw every figure.")] = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FOLDER", help="Where to; else CASE/results/figures."),
    ] = None,
    form: Annotated[
        list[str] | None,
        typer.Option("--form", help="wide (1920x1080), tall (1080x1920), square or column."),
    ] = None,
    ground: Annotated[
        list[str] | None,
        typer.Option("--ground", help="light, dark, or transparent: clear, clear-dark."),
    ] = None,
    kind: Annotated[list[str] | None, typer.Option("--kind", help="png, svg or pdf.")] = None,
    last: Annotated[
        float | None,
        typer.Option(
            "--last",
            min=1.0,
            callback=finite,
            help="Of figures along time: show these seconds only.",
        ),
    ] = None,
    until_end: Annotated[
        bool, typer.Option("--until-end", help="Show the last seconds of the record as well.")
    ] = False,
    stop_short: Annotated[
        float | None,
        typer.Option(
            "--stop-short",
            min=0.0,
            callback=finite,
            help="Seconds at the end of the record that are left out; else 10.",
        ),
    ] = None,
    as_json: AsJson = False,
    progress_json: AsLines = False,
) -> None:
    """List the figures of saved results, or draw them to be published."""
    folder = case / "results"
    present(folder, "findings.json")
    from neutralpoint.report import load_results
    from neutralpoint.report.figures import list_figures, save_figures
    from neutralpoint.report.words.ending import STOP_SHORT

    results = load_results(folder)
    entries = list_figures(results)
    if not names and not every:
        _listed({entry.key: entry.title for entry in entries}, as_json=as_json)
        return
    left_out = 0.0 if until_end else STOP_SHORT if stop_short is None else stop_short
    written = []
    with progress(as_lines=progress_json) as tell:
        keys = [entry.key for entry in entries] if every else list(names or [])
        for number, key in enumerate(keys):
            tell(PrintedLine("figures", key, number / len(keys)))
            written += save_figures(
                case, results, out or folder / "figures", keys=[key], forms=form or ["wide"],
                grounds=ground or ["light"], kinds=kind or ["png"],
                within=_last(results, last, left_out), stop_short=left_out,
            )  # fmt: skip
    if as_json or progress_json:
        show_result({"figures": [str(path) for path in written]}, as_line=progress_json)
        return
    for path in written:
        console().print(str(path), soft_wrap=True)
    show_caution(console())


def _last(results: Results, last: float | None, stop_short: float) -> tuple[float, float] | None:
    """The last seconds before what is left out; None for all."""
    from neutralpoint.report.words.ending import shown_until

    if last is None:
        return None
    until = shown_until(results, stop_short)
    end = float(results.time[-1] - results.time[0]) if until is None else until
    return max(0.0, end - last), end


def _listed(titles: dict[str, str], *, as_json: bool) -> None:
    if as_json:
        show_result({"figures": titles})
        return
    width = max(len(key) for key in titles)
    for key, title in titles.items():
        console().print(f"{key:{width}}  {title}", soft_wrap=True, highlight=False)
    show_caution(console())
