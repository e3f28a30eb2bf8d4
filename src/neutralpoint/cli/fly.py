"""`neutralpoint fly`: causes flown from the motion of a case."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table

from neutralpoint.cli.numbers import finite
from neutralpoint.cli.output import console, progress, show_caution, show_result
from neutralpoint.errors import NeutralPointError
from neutralpoint.report.words import flown as words

if TYPE_CHECKING:
    from neutralpoint.study.flying.flown_summary import FlownSummary

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
CauseName = Annotated[str, typer.Option("--cause", help="Name of the cause.")]
From = Annotated[
    float | None,
    typer.Option(
        "--from", callback=finite, help="Start, s after the track's epoch; else the case's."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def _given(settings: list[str]) -> dict[str, float]:
    found = {}
    for entry in settings:
        name, equals, value = entry.partition("=")
        try:
            found[name.strip()] = number = float(value)
        except ValueError:
            number = math.nan
        if not equals or not math.isfinite(number):
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
    duration: Annotated[float, typer.Option(min=1.0, max=600.0, callback=finite, help="s")] = 60.0,
    begin: From = None,
    as_json: AsJson = False,
) -> None:
    """Fly a cause from the motion of a case; writes CASE/results/fly-CAUSE.nc."""
    from neutralpoint.case.text import first_look

    given = _given(set_to or [])
    first_look(case)
    from neutralpoint.study.flying.fly import run_fly

    with progress() as tell:
        path = run_fly(
            case,
            cause,
            tell,
            given=given,
            batch=batch,
            duration=duration,
            begin=begin,
        )
    from neutralpoint.study.flying.flown_summary import summarise

    found = summarise(path)
    if as_json:
        show_result({"flight": str(path), "caution": words.CAUTION} | found.as_dict())
        return
    console().print(str(path), soft_wrap=True)
    _show(found)


def _show(found: FlownSummary) -> None:
    out, table = console(), Table(box=None, pad_edge=False)
    for head, side in zip(words.HEADS, ("left", "right", "right"), strict=True):
        table.add_column(head, justify=side, no_wrap=side == "left")
    for name in dict.fromkeys((*found.signs, *found.misfit)):
        away = f"{found.misfit[name]:.1f}" if name in found.misfit else ""
        sign = words.when_words(found.signs[name]) if name in found.signs else ""
        table.add_row(words.quantity_words(name), sign, away)
    out.print(table)
    if first := words.first_sign(found.signs):
        out.print(first)
    for level, time in found.pulls.items():
        out.print(words.holding_words(level, time))
    if found.overall is not None:
        out.print(words.misfit_words(found.overall, found.compared))
    out.print(words.CAUTION)
    show_caution(out)
