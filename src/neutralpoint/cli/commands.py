"""The commands. Slow modules are loaded inside a command, so that `--help` is quick."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

import neutralpoint
from neutralpoint.cli.airplane.command import airplane
from neutralpoint.cli.demo import demo
from neutralpoint.cli.drawing import figures
from neutralpoint.cli.filming import film
from neutralpoint.cli.fly import fly
from neutralpoint.cli.history import history
from neutralpoint.cli.output import console, progress, show_caution, show_json, show_result
from neutralpoint.cli.responding import response
from neutralpoint.cli.saying import claims, compare, report, wording
from neutralpoint.cli.serve import serve
from neutralpoint.cli.studying import motion, study
from neutralpoint.cli.weigh import calibrate, next_evidence, weigh

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
    """Say what each file holds, what is suspect, and what was assumed."""
    from neutralpoint.case.text import first_look

    first_look(case)
    from neutralpoint.study.check import check_case

    with progress() as tell:
        found = check_case(case, tell)
    if as_json:
        show_result(found.model_dump(mode="json"))
        return
    from neutralpoint.cli.checking import show_check

    show_check(found, console())
    show_caution(console())


for work in (motion, study, demo):
    app.command()(work)
app.command()(airplane)
app.command()(weigh)
app.command("next-evidence")(next_evidence)
app.command()(history)
app.command()(calibrate)
app.command()(fly)
app.command()(response)
app.command()(serve)
for say in (report, claims, compare, wording, figures, film):
    app.command()(say)
