"""Decoders and readers that are installed on request."""

from __future__ import annotations

import importlib
from types import ModuleType

from neutralpoint.errors import NeutralPointError


def optional(module: str, extra: str, where: str) -> ModuleType:
    """A module of an optional extra.

    Args:
        module: Name to import.
        extra: Extra of the package that installs it.
        where: File that needs it, read or written, for errors.

    Returns:
        The module.

    Raises:
        NeutralPointError: `extra-missing` where it is not installed.
    """
    try:
        return importlib.import_module(module)
    except ImportError as missing:
        raise NeutralPointError(
            "extra-missing",
            f"This file needs the optional extra `{extra}`.",
            where=where,
            hint=f'Install it with: pip install "neutralpoint[{extra}]".',
        ) from missing
