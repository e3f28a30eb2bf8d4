"""`motion` and `study`: the stages of a case run, or taken from what is saved."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from neutralpoint.cli.output import console, progress, show_caution, show_result

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
Fresh = Annotated[
    bool, typer.Option("--fresh", help="Compute everything again, saved results or not.")
]
AsLines = Annotated[
    bool,
    typer.Option(
        "--progress-json", help="Print a line of JSON for every step, and one at the end."
    ),
]


def motion(case: CasePath, fresh: Fresh = False, as_json: AsJson = False) -> None:
    """Compute what the airplane did; writes CASE/results/motion.nc."""
    from neutralpoint.case.text import first_look

    first_look(case)
    from neutralpoint.study import run_motion

    with progress() as tell:
        path = run_motion(case, tell, fresh=fresh)
    _done({"motion": path}, as_json=as_json)


def study(
    case: CasePath,
    until: Annotated[
        str | None,
        typer.Option("--until", metavar="STAGE", help="Last stage to run: motion, moments, ..."),
    ] = None,
    full: Annotated[
        bool, typer.Option("--full", help="Time to act with all pilots; else a quick look.")
    ] = False,
    fresh: Fresh = False,
    as_json: AsJson = False,
    progress_json: AsLines = False,
) -> None:
    """Run all stages that a case has the data for; writes CASE/results/ with the report.

    Stages whose results are saved and still hold are not run again. A run that was stopped is
    taken up where it ended.
    """
    studied(case, until, full=full, fresh=fresh, as_json=as_json, as_lines=progress_json)


def studied(
    case: Path,
    until: str | None = None,
    *,
    full: bool = False,
    fresh: bool = False,
    as_json: bool = False,
    as_lines: bool = False,
) -> Path:
    """Study a case, write its report and print the answer, as the command `study` does.

    Args:
        case: The case folder.
        until: Last stage to run; None for all.
        full: Time to act with all pilots.
        fresh: Compute everything again.
        as_json: Print one JSON document.
        as_lines: Print a line of JSON for every step.

    Returns:
        Path of the report.
    """
    from neutralpoint.case.text import first_look

    first_look(case)
    from neutralpoint.study import run_study

    with progress(as_lines=as_lines) as tell:
        results = run_study(case, tell, until=until, full=full, fresh=fresh)
        page = write_page(results, tell)
    paths = {"findings": results / "findings.json", "report": page}
    if as_json or as_lines:
        _done(paths, as_json=as_json, as_line=as_lines)
        return page
    from neutralpoint.cli.answering import show_answer
    from neutralpoint.findings import read_findings
    from neutralpoint.report import sheet_of

    show_answer(sheet_of(read_findings(results)), list(paths.values()), console())
    show_caution(console())
    return page


def write_page(results: Path, tell: Callable) -> Path:
    """Make the report of a case anew, and its answer sheet.

    Args:
        results: The results folder.
        tell: Told what is being done.

    Returns:
        Path of the report.
    """
    from neutralpoint.report import write_answer, write_report
    from neutralpoint.study import Step

    tell(Step("", "Writing the report", 1.0))
    write_answer(results)
    return write_report(results, results / "report.html")


def _done(paths: dict[str, Path], *, as_json: bool, as_line: bool = False) -> None:
    named = {name: str(path) for name, path in paths.items()}
    if as_line:
        show_result({"done": named}, as_line=True)
    elif as_json:
        show_result(dict(named))
    else:
        for path in named.values():
            console().print(path, soft_wrap=True)
        show_caution(console())
