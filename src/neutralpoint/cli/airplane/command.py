"""`neutralpoint airplane`: an airplane file in numbers and pictures, with bands."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from neutralpoint.cli.output import console, progress, show_caution, show_result
from neutralpoint.errors import NeutralPointError

Name = Annotated[str, typer.Argument(metavar="FILE", help="Airplane file, or a catalogue name.")]
Figure = Annotated[
    Path | None, typer.Option("--figure", help="Draw to this file: .svg, .png or .pdf.")
]
TrimSpeed = Annotated[
    str | None, typer.Option(help="Speed the forces are trimmed at; 1.45 stall speeds else.")
]
Mistrim = Annotated[
    str | None, typer.Option(help="Trim error toward nose-down; 3 s of the drive else.")
]
Move = Annotated[str | None, typer.Option(help="Item to move; needs --to.")]
To = Annotated[str | None, typer.Option(help='Station it moves to, such as "3.0 m".')]
Draws = Annotated[int, typer.Option(min=20, max=1000, help="Draws behind each band.")]
Coefficients = Annotated[
    bool, typer.Option("--coefficients", help="List every coefficient with band and source.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def airplane(
    file: Name,
    figure: Figure = None,
    height: Annotated[str, typer.Option(help="Standard height.")] = "3000 ft",
    trim_speed: TrimSpeed = None,
    mistrim: Mistrim = None,
    move: Move = None,
    to: To = None,
    draws: Draws = 60,
    coefficients: Coefficients = False,
    as_json: AsJson = False,
) -> None:
    """Describe an airplane: loading, trim, column force, authority, modes, each with a band."""
    from neutralpoint.airplane_file.catalogue import airplane_text

    airplane_text(file)
    from neutralpoint.airplane_file.build import load_airplane
    from neutralpoint.cli.airplane.tables import show_airplane, show_move
    from neutralpoint.study.airplane.curves import describe_airplane

    if figure is not None and figure.suffix not in (".svg", ".png", ".pdf"):
        raise NeutralPointError(
            "argument-invalid",
            f"{figure.name} is no kind of picture.",
            where="--figure",
            hint="Give a name that ends in .svg, .png or .pdf.",
        )
    found = load_airplane(file)
    moved = _moved(found, move, to)
    with progress() as tell:
        curves = describe_airplane(
            found,
            tell,
            height=_quantity(height, "m", "--height"),
            trim_speed=_quantity(trim_speed, "m/s", "--trim-speed"),
            mistrim=_quantity(mistrim, "rad", "--mistrim"),
            draws=draws,
        )
        if figure is not None:
            from neutralpoint.cli.airplane.figure import draw_airplane

            tell("Drawing")
            draw_airplane(found, curves, figure)
    if as_json:
        from neutralpoint.cli.airplane.as_json import airplane_json

        show_result(airplane_json(found, curves, moved, figure))
        return
    out = console()
    show_airplane(found, curves, out, coefficients=coefficients)
    if moved is not None:
        show_move(str(move), moved, found, out)
    if figure is not None:
        out.print(f"\nDrawn: {figure}", soft_wrap=True)
    show_caution(out)


def _quantity(text: str | None, unit: str, option: str) -> Any:
    from neutralpoint.documents.quantity import parse_quantity

    return None if text is None else parse_quantity(text, unit, option).value


def _moved(found: Any, name: str | None, to: str | None) -> Any:
    """What moving an item does; None where no move was asked for."""
    from neutralpoint.airplane.envelope import effect_of_move
    from neutralpoint.airplane.stability import neutral_point

    if name is None and to is None:
        return None
    if name is None or to is None:
        raise NeutralPointError(
            "argument-invalid",
            "--move and --to belong together.",
            where="--to" if to is None else "--move",
            hint='Name an item and where it goes: --move baggage --to "3.0 m".',
        )
    _, side, depth = found.loading.item(name).position
    return effect_of_move(
        found.loading,
        name,
        (_quantity(to, "m", "--to"), side, depth),
        neutral_point=float(neutral_point(found.airplane)),
        chord=float(found.airplane.geometry.mean_chord),
        envelopes=found.envelopes,
    )
