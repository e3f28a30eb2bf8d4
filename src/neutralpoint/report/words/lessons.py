"""What each lesson for design and training is, in a sentence."""

from __future__ import annotations

from neutralpoint.findings import LessonRow

# By key; "lesson: " stands before it where it is listed among the procedures.
SENTENCES = {
    "latching button": "Design: a button that acts once and stays, within reach of a thumb.",
    "manual wheel": "Design: a trim wheel that can be grasped and turned.",
    "button released": "Training: what it costs when the thumb leaves the button after 5 s, to "
    "work another switch or because the hand is wanted elsewhere: the trim runs on.",
    "earlier power cut": "Training: power comes back before anything else.",
    "sound of trim": "Design: a sound once the trim has moved for a second.",
}
RENAMED = {"button let go": "button released"}  # keys of older files


def lesson_name(key: str) -> str:
    """A lesson as a table names it.

    Args:
        key: As the findings or the results file hold it; what follows a colon is not read.

    Returns:
        Its name.
    """
    name = key.removeprefix("lesson: ").partition(":")[0]
    return RENAMED.get(name, name)


def lesson_line(key: str) -> str:
    """A lesson with what it is.

    Args:
        key: As for `lesson_name`.

    Returns:
        Name and sentence.
    """
    name = lesson_name(key)
    return f"{name.capitalize()}: {SENTENCES[name]}" if name in SENTENCES else name.capitalize()


def lesson_lines(rows: list[LessonRow]) -> list[str]:
    """The lessons of some rows, each once.

    Args:
        rows: Of one or more causes.

    Returns:
        Lines in the order of the rows.
    """
    return list(dict.fromkeys(lesson_line(row.lesson) for row in rows))
