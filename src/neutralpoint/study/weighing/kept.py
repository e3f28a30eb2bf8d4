"""What the track alone says of the causes, kept so that prior and evidence can change beside it.

Arrays are kept as they are, everything else as a JSON text beside them.
"""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from neutralpoint.store import Arrays, Store
from neutralpoint.weighing.nearest import Near
from neutralpoint.weighing.odds import Odds
from neutralpoint.weighing.weigh import Posterior, Weighed

KINDS = {kind.__name__: kind for kind in (Weighed, Odds, Near, Posterior)}
KIND, TREE = "track", "tree"


def keep(found: Weighed, store: Store, digest: str) -> None:
    """Save, whole or not at all, instead of what was saved before.

    Args:
        found: Of the track alone.
        store: Of the case.
        digest: Of everything that it was worked out from.
    """
    arrays: Arrays = {}
    tree = _flat(found, arrays)
    store.write(_name(digest), {TREE: np.array(json.dumps(tree)), **arrays})
    store.forget(KIND, [_name(digest)])


def kept(store: Store, digest: str) -> Weighed | None:
    """Read what was saved.

    Args:
        store: Of the case.
        digest: Of everything that it would be worked out from.

    Returns:
        The weighing; None where there is none of that digest.
    """
    saved = store.read(_name(digest))
    if saved is None:
        return None
    try:
        return _whole(json.loads(str(saved[TREE])), saved)
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return None


def _name(digest: str) -> str:
    return f"{KIND}-{digest}"


def _flat(value: Any, arrays: Arrays) -> Any:
    """A value as JSON, its arrays set aside by number."""
    if is_dataclass(value):
        parts = {f.name: _flat(getattr(value, f.name), arrays) for f in fields(value)}
        return {"kind": type(value).__name__, "parts": parts}
    if isinstance(value, dict):
        return {"map": {key: _flat(part, arrays) for key, part in value.items()}}
    if isinstance(value, tuple | list):
        return {"row": [_flat(part, arrays) for part in value]}
    if isinstance(value, np.ndarray):
        name = f"a{len(arrays)}"
        arrays[name] = value
        return {"array": name}
    return {"plain": value}


def _whole(tree: dict, saved: Arrays) -> Any:
    (word, content), *more = tree.items()
    if word == "kind":
        parts = {key: _whole(part, saved) for key, part in more[0][1].items()}
        return KINDS[content](**parts)
    if word == "map":
        return {key: _whole(part, saved) for key, part in content.items()}
    if word == "row":
        return tuple(_whole(part, saved) for part in content)
    return saved[content] if word == "array" else content
