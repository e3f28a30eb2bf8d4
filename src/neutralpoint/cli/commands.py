"""The commands. Slow modules are loaded inside a command, so that `--help` is quick."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

import neutralpoint
from neutralpoint.cli.airplane import airplane
from neutralpoint.cli.fly import fly, response
from neutralpoint.cli.output import console, progress, show_json
from neutralpoint.cli.saying import claims, film, report, wording
from neutralpoint.cli.weigh import next_evidence, weigh

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="From a surveillance track to what an airplane did, with bands. Not for flight.",
)

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"neutralpoint {neutralpoint.__version__}")
        raise typer.Exit


@app.callback()
def program(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    """From a surveillance track to what an airplane did, with bands. Not for flight."""


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.")],
    as_json: AsJson = False,
) -> None:
    """Write a commented case to start from; nothing is overwritten."""
    from neutralpoint.cli.starting import start_case

    written = start_case(folder)
    if as_json:
        show_json({"folder": str(folder), "written": [path.name for path in written]})
        return
    out = console()
    for path in written:
        out.print(f"wrote {path}", soft_wrap=True)
    out.print(
        f"Next: copy the source files in, then `neutralpoint check {folder}`.", soft_wrap=True
    )


@app.command()
def check(case: CasePath, as_json: AsJson = False) -> None:
    """Say what each file holds, what is doubtful, and what was assumed."""
    from neutralpoint.study.check import check_case

    found = check_case(case)
    if as_json:
        show_json(found.model_dump(mode="json"))
        return
    from neutralpoint.cli.checking import show_check

    show_check(found, console())


@app.command()
def motion(case: CasePath, as_json: AsJson = False) -> None:
    """Work out what the airplane did; writes CASE/results/motion.nc."""
    from neutralpoint.study.run import run_motion

    with progress() as tell:
        path = run_motion(case, tell)
    _done(as_json, motion=path)


@app.command()
def study(case: CasePath, as_json: AsJson = False) -> None:
    """Run all stages; writes CASE/results/ with the report."""
    from neutralpoint.study.run import run_study

    with progress() as tell:
        results = run_study(case, tell)
        from neutralpoint.report import write_report

        tell("Writing the report")
        page = write_report(results, results / "report.html")
    _done(as_json, findings=results / "findings.json", report=page)


app.command()(airplane)
app.command()(weigh)
app.command("next-evidence")(next_evidence)
app.command()(fly)
app.command()(response)
for say in (report, claims, wording, film):
    app.command()(say)


def _done(as_json: bool, **paths: Path) -> None:
    if as_json:
        show_json({name: str(path) for name, path in paths.items()})
        return
    for path in paths.values():
        console().print(str(path), soft_wrap=True)
