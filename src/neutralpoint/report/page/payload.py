"""A figure as JSON with its arrays aside as raw float32, for the page and for the workbench."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np


def payload(thing: Any) -> tuple[Any, bytes]:
    """Split a figure into plain JSON and one block of little-endian float32.

    Args:
        thing: Any nesting of dataclasses, dicts, tuples, strings, numbers and arrays.

    Returns:
        The JSON value, in which each array is `{"at": first, "shape": [...]}` counted in floats,
        and the block. NaN stands for a gap.
    """
    blocks: list[np.ndarray] = []
    plain = _plain(thing, blocks)
    data = np.concatenate(blocks) if blocks else np.zeros(0, "<f4")
    return plain, data.astype("<f4").tobytes()


def _plain(thing: Any, blocks: list[np.ndarray]) -> Any:
    if isinstance(thing, np.ndarray):
        at = sum(block.size for block in blocks)
        blocks.append(np.ascontiguousarray(thing, "<f4").ravel())
        return {"at": at, "shape": list(thing.shape)}
    if dataclasses.is_dataclass(thing):
        names = [field.name for field in dataclasses.fields(thing)]
        return {name: _plain(getattr(thing, name), blocks) for name in names}
    if isinstance(thing, dict):
        return {name: _plain(part, blocks) for name, part in thing.items()}
    if isinstance(thing, tuple | list):
        return [_plain(part, blocks) for part in thing]
    if thing is None or isinstance(thing, str | int | float):
        return thing
    raise TypeError(type(thing).__name__)
