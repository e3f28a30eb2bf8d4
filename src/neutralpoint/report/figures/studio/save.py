"""Draw pictures and write them; the same case gives the same bytes."""

from __future__ import annotations

import io
from pathlib import Path

import matplotlib as mpl
from matplotlib.figure import Figure as Sheet

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import told_of_system, write_whole
from neutralpoint.report.figures.look import style_of
from neutralpoint.report.figures.studio.entries import Entry, list_figures
from neutralpoint.report.figures.studio.formats import FORMATS, GROUNDS, Format, look_of
from neutralpoint.report.figures.studio.frame import Picture, framed
from neutralpoint.report.figures.studio.notes import Note, draw_notes, read_notes
from neutralpoint.report.results import Results
from neutralpoint.report.words.ending import STOP_SHORT, shown_until

# No clock and no name of a program: files of one case are the same wherever they are made.
METADATA: dict[str, dict[str, str | None]] = {
    "svg": {"Date": None, "Creator": None},
    "png": {"Software": None},
    "pdf": {"CreationDate": None, "ModDate": None, "Producer": None, "Creator": None},
}
KINDS = tuple(METADATA)


def draw_figure(
    results: Results,
    key: str,
    *,
    form: str = "wide",
    ground: str = "light",
    within: tuple[float, float] | None = None,
    stop_short: float = STOP_SHORT,
    notes: tuple[Note, ...] = (),
) -> Sheet:
    """Draw one picture.

    Args:
        results: A results folder, read.
        key: Of the picture, as `list_figures` has it.
        form: One of `FORMATS`.
        ground: One of `GROUNDS`.
        within: First and last moment, s after the first of the record; None for all but the last.
        stop_short: Seconds at the end of the record that are not shown, as in a film; 0 for none.
        notes: Of the analyst.

    Returns:
        The picture, ready to be saved or put into a notebook.

    Raises:
        NeutralPointError: `figure-unknown` where there is none of that name, form or ground.
    """
    shape, entry = _shape(form, ground), _entry(results, key)
    look = look_of(shape, ground)
    with mpl.rc_context(style_of(look)):
        sheet = Sheet(figsize=(shape.width / shape.dots, shape.height / shape.dots),
                      dpi=shape.dots, facecolor=look.paper)  # fmt: skip
        body = Picture(sheet, look, shape, results, within if entry.timed else None,
                       shown_until(results, stop_short))  # fmt: skip
        entry.draw(body)
        framed(body, entry.title, entry.note)
        sheet.draw_without_rendering()  # axes take their places, which notes stand by
        draw_notes(body, key, notes)
        return sheet


def _shape(form: str, ground: str) -> Format:
    if form not in FORMATS:
        raise _unknown(f"There is no form {form!r}.", f"Forms: {', '.join(FORMATS)}.")
    if ground not in GROUNDS:
        raise _unknown(f"There is no ground {ground!r}.", f"Grounds: {', '.join(GROUNDS)}.")
    return FORMATS[form]


def _entry(results: Results, key: str) -> Entry:
    entries = {entry.key: entry for entry in list_figures(results)}
    if key not in entries:
        raise _unknown(f"The case has no figure {key!r}.", f"Figures: {', '.join(entries)}.")
    return entries[key]


def _unknown(message: str, hint: str) -> NeutralPointError:
    return NeutralPointError("figure-unknown", message, where="figures", hint=hint)


def figure_bytes(sheet: Sheet, kind: str) -> bytes:
    """A picture as the bytes of a file.

    Args:
        sheet: As drawn by `draw_figure`.
        kind: `svg`, `png` or `pdf`.

    Returns:
        The bytes; the same for the same case.

    Raises:
        NeutralPointError: `figure-unknown` for another kind.
    """
    if kind not in METADATA:
        raise _unknown(f"There is no kind of file {kind!r}.", f"Kinds: {', '.join(KINDS)}.")
    buffer = io.BytesIO()
    with mpl.rc_context(
        {"svg.fonttype": "path", "svg.hashsalt": "neutralpoint", "pdf.fonttype": 42}
    ):
        sheet.savefig(buffer, format=kind, dpi=sheet.dpi, metadata=METADATA[kind],
                      facecolor=sheet.get_facecolor())  # fmt: skip
    return buffer.getvalue()


def save_figures(
    case: Path,
    results: Results,
    folder: Path,
    *,
    keys: list[str],
    forms: list[str],
    grounds: list[str],
    kinds: list[str],
    within: tuple[float, float] | None = None,
    stop_short: float = STOP_SHORT,
) -> list[Path]:
    """Write pictures of a case.

    Args:
        case: The case folder, for its notes.
        results: Its results, read.
        folder: Where to; it is made.
        keys: Which pictures.
        forms: In which shapes.
        grounds: On which grounds.
        kinds: As which kinds of file.
        within: First and last moment of pictures along time.
        stop_short: Seconds at the end of the record that are not shown, as in a film.

    Returns:
        The files written.

    Raises:
        NeutralPointError: `figure-unknown` or `figures-invalid`; files written before stand.
    """
    notes, saved = read_notes(case), []
    with told_of_system(folder):
        folder.mkdir(parents=True, exist_ok=True)
    for key in keys:
        for form in forms:
            for ground in grounds:
                sheet = draw_figure(results, key, form=form, ground=ground, within=within,
                                    stop_short=stop_short, notes=notes)  # fmt: skip
                for kind in kinds:
                    path = folder / f"{key}-{form}-{ground}.{kind}"
                    saved.append(write_whole(path, figure_bytes(sheet, kind)))
    return saved
