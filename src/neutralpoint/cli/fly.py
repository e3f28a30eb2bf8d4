"""`neutralpoint fly`: causes flown from the motion of a case."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table

from neutralpoint.cli.output import console, progress, show_json
from neutralpoint.errors import NeutralPointError
from neutralpoint.quantities import POUND_FORCE

if TYPE_CHECKING:
    from neutralpoint.study.flying.flown_summary import FlownSummary

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
    from neutralpoint.study.flying.fly import run_fly

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
    from neutralpoint.study.flying.flown_summary import summarise

    found = summarise(path)
    if as_json:
        show_json({"flight": str(path), "caution": CAUTION} | found.as_dict())
        return
    console().print(str(path), soft_wrap=True)
    _show(found)


def _when(value: float) -> str:
    return f"{value:.1f} s" if value < float("inf") else "not"


def _show(found: FlownSummary) -> None:
    out, words = console(), Table(box=None, pad_edge=False)
    words.add_column("quantity", no_wrap=True)
    words.add_column("leaves trim after", justify="right")
    words.add_column("from the motion, sigma", justify="right")
    for name in dict.fromkeys((*found.signs, *found.misfit)):
        away = f"{found.misfit[name]:.1f}" if name in found.misfit else ""
        sign = _when(found.signs[name]) if name in found.signs else ""
        words.add_row(name.replace("_", " "), sign, away)
    out.print(words)
    first = min(found.signs, key=lambda name: found.signs[name])
    if found.signs[first] < float("inf"):
        out.print(f"First sign: {first.replace('_', ' ')}, {_when(found.signs[first])}.")
    for level, time in found.pulls.items():
        out.print(f"Holding on takes more than {level / POUND_FORCE:.0f} lb: {_when(time)}.")
    if found.overall is not None:
        out.print(
            f"Over the first {found.compared:.0f} s it is {found.overall:.1f} sigma from the "
            "motion (root mean square). A small figure does not make it the cause."
        )
    out.print(CAUTION)
