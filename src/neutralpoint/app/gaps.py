"""What a case still needs before its stages can be worked out, in words and by field."""

from __future__ import annotations

from pathlib import Path

from neutralpoint.airplane_file.catalogue import catalogue_names
from neutralpoint.app.contents import named_files
from neutralpoint.app.form import TITLES
from neutralpoint.app.form_fields import key_of
from neutralpoint.case import Draft

HINTS = {
    "tracks": "Drop the file of a track, or add one below.",
    "weather": "Add what is known of the wind; one constant wind with its error will do.",
    "title": "A few words that name the case.",
    "question": "What is to be answered?",
    "cut_off": "The day after which no data were taken, as 2031-05-01.",
    "columns": "Preview the file, and say what its columns hold.",
}
FIRST, LATER = "motion", "moments"


def gaps(folder: Path, draft: Draft) -> list[dict[str, str]]:
    """What is missing.

    Args:
        folder: The case folder.
        draft: Its case file, without a fault.

    Returns:
        Path, words, hint, and the first stage that needs it, of each.
    """
    found = [_gap(path, error.hint, FIRST) for path, error in draft.missing]
    if draft.document is None:
        for path, file, _ in named_files(draft.table):
            if path != "airplane.file" and not (folder / file).is_file():
                hint = f"{file} is not in the case folder: drop it here."
                found.append(_gap(path, hint, FIRST))
    airplane = draft.table.get("airplane", {})
    listed = ", ".join(catalogue_names())
    if "file" not in airplane:
        hint = f"A file of your own, or a name of the catalogue ({listed}); the motion needs none."
        found.append(_gap("airplane.file", hint, LATER))
    elif not _is_known(folder, str(airplane["file"])):
        hint = (
            f"{airplane['file']} is neither a file of the case folder nor an airplane of the "
            f"catalogue ({listed}): drop the file here, or name one of these."
        )
        found.append(_gap("airplane.file", hint, FIRST))
    return found


def _is_known(folder: Path, name: str) -> bool:
    return name in catalogue_names() or (folder / name).is_file()


def still_needed(found: list[dict[str, str]]) -> str:
    """Why no stage can be worked out; empty where the motion can.

    Args:
        found: Of `gaps`.

    Returns:
        One sentence.
    """
    wanted = [gap["words"] for gap in found if gap["stage"] == FIRST]
    return f"The case still needs: {', '.join(wanted)}." if wanted else ""


def _gap(path: str, hint: str, stage: str) -> dict[str, str]:
    key = key_of(path) or (path,)
    own = HINTS.get(str(key[-1]), hint)
    return {"path": path, "words": _words(key), "hint": own, "stage": stage}


def _words(key: tuple[str | int, ...]) -> str:
    """A key as a person reads it: `airplane: wing area`, `track 1: file`."""
    parts: list[str] = []
    for part in key:
        if isinstance(part, int):
            parts[-1] += f" {part + 1}"
        else:
            named = TITLES.get(part, part) if not parts else part
            parts.append(named.replace("_", " ").lower())
    return ": ".join(parts)
