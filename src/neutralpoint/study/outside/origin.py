"""Where a plug-in comes from, in the words of its package."""

from __future__ import annotations

from typing import Any

import xarray as xr

from neutralpoint.findings import OutsideOrigin
from neutralpoint.plugins import faulty, package_of

STORED = frozenset("fiubmMU")  # kinds of values that the file holds
LONGEST = 300  # characters of a sentence of a plug-in


def dataset_of(found: Any, name: str, where: str) -> xr.Dataset:
    """What a plug-in returned, where it is a dataset whose variables have units.

    Args:
        found: What it returned.
        name: Of the plug-in.
        where: Who asked, for errors.

    Returns:
        The dataset.

    Raises:
        NeutralPointError: `plugin-fault` for anything else.
    """
    if not isinstance(found, xr.Dataset):
        raise faulty(name, f"it returned a {type(found).__name__} and no dataset", where)
    bare = [str(n) for n, each in found.data_vars.items() if "units" not in each.attrs]
    if bare:
        raise faulty(name, f"there are no units on {', '.join(bare)[:120]}", where)
    odd = [str(n) for n, each in found.variables.items() if each.dtype.kind not in STORED]
    if odd:
        raise faulty(name, f"no file can hold the values of {', '.join(odd)[:120]}", where)
    return found


def text_of(found: xr.Dataset, key: str, name: str, where: str, *, needed: bool) -> str:
    """A sentence of a plug-in, on one line.

    Args:
        found: What it returned.
        key: Attribute of the dataset.
        name: Of the plug-in.
        where: Who asked, for errors.
        needed: Whether it must be there.

    Returns:
        The sentence; empty where it is neither there nor needed.

    Raises:
        NeutralPointError: `plugin-fault` where it is missing, no text or too long.
    """
    text = found.attrs.get(key, "")
    if not isinstance(text, str) or len(text) > LONGEST or (needed and not text.strip()):
        raise faulty(name, f"attribute `{key}` is no text of 1 to {LONGEST} characters", where)
    return " ".join(text.split())


def origin_of(found: xr.Dataset, group: str, name: str, where: str) -> OutsideOrigin:
    """Name, package and source of a plug-in.

    Args:
        found: What it returned; `title` and `source` in its attributes.
        group: Of its entry point.
        name: Of the plug-in.
        where: Who asked, for errors.

    Returns:
        Its origin.

    Raises:
        NeutralPointError: `plugin-fault` without a title or a source.
    """
    package, version = package_of(group, name)
    return OutsideOrigin(
        name=name,
        package=package,
        version=version,
        title=text_of(found, "title", name, where, needed=True),
        source=text_of(found, "source", name, where, needed=True),
    )
