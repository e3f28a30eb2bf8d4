"""What other packages add, found by their entry points: readers, examinations and causes.

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
CAUSES = "neutralpoint.causes"


def plugin_names(group: str) -> list[str]:
    """Names of the plug-ins of a group that are installed.

    Args:
        group: `SOURCES`, `EXAMINATIONS` or `CAUSES`.

    Returns:
        Sorted.
    """
    return sorted({entry.name for entry in entry_points(group=group)})


def load_plugin(group: str, name: str, where: str) -> Callable[..., Any]:
    """The function of a plug-in.

    Args:
        group: `SOURCES`, `EXAMINATIONS` or `CAUSES`.
        name: Of the plug-in.
        where: Who asks for it, for errors.

    Returns:
        The function.

    Raises:
        NeutralPointError: `plugin-missing`, or `plugin-fault` where it cannot be loaded.
    """
    found = [entry for entry in entry_points(group=group) if entry.name == name]
    if not found:
        raise missing(group, name, where)
    return called(lambda: found[0].load(), name, where)


def missing(group: str, name: str, where: str) -> NeutralPointError:
    """The error for a plug-in that is not installed.

    Args:
        group: `SOURCES`, `EXAMINATIONS` or `CAUSES`.
        name: Of the plug-in.
        where: Who asks for it.

    Returns:
        The error.
    """
    known = ", ".join(plugin_names(group)) or "none"
    return NeutralPointError(
        "plugin-missing",
        f"No plug-in {name[:60]!r} of the group `{group}` is installed; there is {known}.",
        where=where,
        hint="Install the package that brings it, beside the program.",
    )


def package_of(group: str, name: str) -> tuple[str, str]:
    """The package that brings a plug-in, and its version.

    Args:
        group: `SOURCES`, `EXAMINATIONS` or `CAUSES`.
        name: Of the plug-in.

    Returns:
        Both; the place that its entry point names and no version where no package is known.
    """
    found = [entry for entry in entry_points(group=group) if entry.name == name]
    if not found:
        return "", ""
    brought = found[0].dist
    return (found[0].module, "") if brought is None else (brought.name, brought.version)


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
