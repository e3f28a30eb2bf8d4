"""What other packages add, found by their entry points: readers of tracks, and examinations.

A package names a function under the group; `docs/how-to/write-a-plug-in.md` holds the protocols. A
case names a plug-in but brings none: only what is installed beside the program runs.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib.metadata import entry_points
from typing import Any

from neutralpoint.errors import NeutralPointError

SOURCES = "neutralpoint.sources"
EXAMINATIONS = "neutralpoint.examinations"


def plugin_names(group: str) -> list[str]:
    """Names of the plug-ins of a group that are installed.

    Args:
        group: `SOURCES` or `EXAMINATIONS`.

    Returns:
        Sorted.
    """
    return sorted({entry.name for entry in entry_points(group=group)})


def load_plugin(group: str, name: str, where: str) -> Callable[..., Any]:
    """The function of a plug-in.

    Args:
        group: `SOURCES` or `EXAMINATIONS`.
        name: Of the plug-in.
        where: Who asks for it, for errors.

    Returns:
        The function.

    Raises:
        NeutralPointError: `plugin-missing`, or `plugin-fault` where it cannot be loaded.
    """
    found = [entry for entry in entry_points(group=group) if entry.name == name]
    if not found:
        known = ", ".join(plugin_names(group)) or "none"
        raise NeutralPointError(
            "plugin-missing",
            f"No plug-in {name[:60]!r} of the group `{group}` is installed; there is {known}.",
            where=where,
            hint="Install the package that brings it, beside the program.",
        )
    return called(lambda: found[0].load(), name, where)


def called(work: Callable[[], Any], name: str, where: str) -> Any:
    """What a plug-in gives; a fault of it is told as its own.

    Args:
        work: Calls it.
        name: Of the plug-in.
        where: Who asks for it, for errors.

    Returns:
        What it returned.

    Raises:
        NeutralPointError: What the plug-in raises as such; `plugin-fault` for anything else.
    """
    try:
        return work()
    except NeutralPointError:
        raise
    except Exception as broken:  # whatever a stranger's code raises
        raise faulty(name, f"it ended with {type(broken).__name__}: {broken}"[:300], where) from (
            broken
        )


def faulty(name: str, said: str, where: str) -> NeutralPointError:
    """The error for a plug-in that does not keep to its protocol.

    Args:
        name: Of the plug-in.
        said: What is wrong.
        where: Who asks for it.

    Returns:
        The error.
    """
    return NeutralPointError(
        "plugin-fault",
        f"The plug-in {name!r} is at fault: {said}.",
        where=where,
        hint="Tell those who wrote it; the program and the case are not to blame.",
    )
