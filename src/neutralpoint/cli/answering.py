"""The answer sheet in the terminal: at most 25 lines of plain ASCII."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console, RenderableType
from rich.table import Table
from rich.text import Text

from neutralpoint.cli.output import WIDTH
from neutralpoint.report.sheet.sheet import CauseLine, Sheet

MOST_LINES = 25
ASCII = {
    "\u2212": "-", "\u2013": "-", "\u00d7": "x", "\u00f7": "/", "\u00b1": "+-", "\u00b7": "-",
    "\u201c": "'", "\u201d": "'", "\u2019": "'", "\u202f": " ", "\u00a0": " ", "\u00b0": " deg",
}  # fmt: skip


def show_answer(sheet: Sheet, paths: list[Path], out: Console) -> None:
    """Print the answer sheet.

    Args:
        sheet: Of the case.
        paths: Of what was written, printed below.
        out: Where to.
    """
    lines = answer_lines(sheet, min(out.width, WIDTH), [str(path) for path in paths])
    for line in lines:
        out.print(Text.from_ansi(line), soft_wrap=True)


def answer_lines(sheet: Sheet, width: int, paths: list[str]) -> list[str]:
    """The sheet as lines.

    Args:
        sheet: Of the case.
        width: Columns.
        paths: Printed below.

    Returns:
        At most `MOST_LINES` lines; what tells least is left out where they do not do.
    """
    caution = Text(plain(f"{sheet.preliminary} {sheet.cautions[0]}"), style="yellow")
    foot = [*_rendered([caution], width), *paths]
    lines: list[str] = []
    for way in _ways(sheet):
        lines = _rendered(_blocks(sheet, way), width)
        if len(lines) + len(foot) <= MOST_LINES:
            break
    return lines[: MOST_LINES - len(foot)] + foot


@dataclass(frozen=True)
class _Way:
    """What is printed: rows of causes, their needs, further lines, sentences of the answer."""

    rows: int
    needs: bool = True
    further: int = 2
    answers: int = 3


def _ways(sheet: Sheet) -> Iterator[_Way]:
    """Ways to print a sheet, the fullest first."""
    least = min(len(sheet.rows), 2)
    for needs in (True, False):
        for further in (3, 2):
            for rows in range(len(sheet.rows), least - 1, -1):
                yield _Way(rows, needs=needs, further=further)
    yield _Way(least, needs=False, further=1)
    yield _Way(least, needs=False, further=1, answers=2)


def _blocks(sheet: Sheet, way: _Way) -> list[RenderableType]:
    found: list[RenderableType] = [
        Text(plain(sheet.question), style="italic"),
        Text(plain(sheet.headline.text), style="bold"),
        *(Text(plain(said.text)) for said in sheet.answer[: way.answers]),
        _named("Does anything fit?", sheet.fit.text),
    ]
    if sheet.rows:
        found.append(_table(sheet.rows[: way.rows], needs=way.needs))
    if sheet.unweighed:
        found.append(Text(plain(sheet.unweighed)))
    if sheet.excluded:
        names = "; ".join(_short(line.title) for line in sheet.excluded)
        found.append(_named("Excluded:", f"{names}."))
    further = [_named("Time to act:", sheet.time.text), _next(sheet)]
    if sheet.sway is not None:
        further.append(_named("What would change it:", sheet.sway.said.text))
    return found + further[: way.further]


def _short(title: str) -> str:
    return title.split(" (")[0]


def _named(name: str, text: str) -> Text:
    return Text.assemble((name, "bold"), " ", plain(text))


def _next(sheet: Sheet) -> Text:
    items = "; ".join(line.item.text for line in sheet.evidence)
    return _named("Next evidence:", f"{items}." if items else sheet.settles.text)


def _table(rows: tuple[CauseLine, ...], *, needs: bool) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("Cause", overflow="fold", min_width=22)
    if needs:
        table.add_column("Needs; has", overflow="fold")
    for name in ("Nearest", "Odds (range)"):
        table.add_column(name, no_wrap=True)
    table.add_column("Verdict", overflow="fold")
    for row in rows:
        cells = [_short(row.title), row.misfit.text.split(",")[0], row.odds.text, row.word.text]
        cells[2] = cells[2].replace(" to ", "-")
        cells[3] = cells[3].split(",")[0].split(" by the ")[0]
        if needs:
            cells.insert(1, row.needs[0].text.replace(": needs", "") if row.needs else "-")
        table.add_row(*map(plain, cells), style="bold" if row.leads else "")
    return table


def _rendered(blocks: list[RenderableType], width: int) -> list[str]:
    """Lines as a terminal of this width shows them, styles as escape codes."""
    scratch = Console(width=width, force_terminal=True, color_system="standard", highlight=False)
    with scratch.capture() as held:
        for block in blocks:
            scratch.print(block)
    return [line.rstrip() for line in held.get().splitlines()]


def plain(text: str) -> str:
    """Text in ASCII alone.

    Args:
        text: Any.

    Returns:
        The same with signs replaced; what has no place in ASCII becomes a question mark.
    """
    for sign, instead in ASCII.items():
        text = text.replace(sign, instead)
    return text.encode("ascii", "replace").decode("ascii")
