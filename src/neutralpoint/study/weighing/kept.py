"""What the track alone says of the causes, kept so that prior and evidence can change beside it.

Arrays go into one `.npz` file, everything else into a JSON text within it; nothing is pickled, for
a case folder may come from anybody.
"""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np

from neutralpoint.files import own_file, own_folder, written
from neutralpoint.study.weighing.flights import FOLDER
from neutralpoint.weighing.nearest import Near
from neutralpoint.weighing.odds import Odds
from neutralpoint.weighing.weigh import Posterior, Weighed

KINDS = {kind.__name__: kind for kind in (Weighed, Odds, Near, Posterior)}


def keep(found: Weighed, results: Path, digest: str) -> None:
    """Save, whole or not at all.

    Args:
        found: Of the track alone.
        results: The results folder.
        digest: Of everything that it was worked out from.
    """
    folder = own_folder(results / FOLDER)
    arrays: dict[str, np.ndarray] = {}
    tree = _flat(found, arrays)
    with written(folder / "track.npz") as fresh, fresh.open("wb") as file:
        contents: dict[str, Any] = {"tree": np.array(json.dumps([digest, tree])), **arrays}
        np.savez(file, **contents)


def kept(results: Path, digest: str) -> Weighed | None:
    """Read what was saved.

    Args:
        results: The results folder.
        digest: Of everything that it would be worked out from.

    Returns:
        The weighing; None where there is none of that digest.
    """
    path = own_file(results / FOLDER, "track.npz")
    if path is None:
        return None
    try:
        with np.load(path, allow_pickle=False) as saved:
            of, tree = json.loads(str(saved["tree"]))
            return _whole(tree, saved) if of == digest else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _flat(value: Any, arrays: dict[str, np.ndarray]) -> Any:
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


def _whole(tree: dict, saved) -> Any:
    (word, content), *more = tree.items()
    if word == "kind":
        parts = {key: _whole(part, saved) for key, part in more[0][1].items()}
        return KINDS[content](**parts)
    if word == "map":
        return {key: _whole(part, saved) for key, part in content.items()}
    if word == "row":
        return tuple(_whole(part, saved) for part in content)
    return saved[content] if word == "array" else content
