"""`neutralpoint fly`: causes flown from the motion of a case."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from neutralpoint.cli.output import console, progress, show_json
from neutralpoint.errors import NeutralPointError

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
CauseName = Annotated[str, typer.Option("--cause", help="Name of the cause.")]
From = Annotated[
    float | None, typer.Option("--from", help="Start, s after the track's epoch; else the case's.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
CAUTION = "Not for flight. A flown cause shows what it would look like; no blame is found."


def _given(settings: list[str]) -> dict[str, float]:
    found = {}
    for entry in settings:
        name, equals, value = entry.partition("=")
        try:
            found[name.strip()] = float(value)
        except ValueError:
            equals = ""
        if not equals:
            raise NeutralPointError(
                "argument-invalid",
                f"{entry!r} is no parameter with a number.",
                where="--set",
                hint="Write it as rate_share=0.8, in SI units and radians.",
            )
    return found


def fly(
    case: CasePath,
    cause: CauseName,
    set_to: Annotated[
        list[str] | None, typer.Option("--set", help="parameter=value, SI; may be repeated.")
    ] = None,
    batch: Annotated[
        int, typer.Option("--batch", min=1, max=10000, help="Draws from the priors.")
    ] = 1,
    duration: Annotated[float, typer.Option(min=1.0, max=600.0, help="s")] = 60.0,
    begin: From = None,
    as_json: AsJson = False,
) -> None:
    """Fly a cause from the motion of a case; writes CASE/results/fly-CAUSE.nc."""
    from neutralpoint.study.fly import run_fly

    with progress() as tell:
        path = run_fly(
            case,
            cause,
            tell,
            given=_given(set_to or []),
            batch=batch,
            duration=duration,
            begin=begin,
        )
    _done(as_json, flight=path)


def _done(as_json: bool, **paths: Path) -> None:
    if as_json:
        show_json({name: str(path) for name, path in paths.items()} | {"caution": CAUTION})
        return
    for path in paths.values():
        console().print(str(path), soft_wrap=True)
    console().print(CAUTION)
