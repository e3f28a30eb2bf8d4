"""Numbers of today, kept: a formula that changes moves one of them, and the change log says why.

    python benchmarks/known_answers.py [moments motion ...]   # after a change that is meant

What a package makes of small invented input is taken apart into numbers; a test asks whether they
are still the same. Nothing is said by it about what is right: that is held by the tests against
outside truth. Each set is made by a function `known` of `known_<set>.py`.
"""

from __future__ import annotations

import argparse
import dataclasses
import enum
import hashlib
import importlib
import json
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

KEPT = Path(__file__).parent / "results" / "known"
SETS = ("airplane", "constants", "dynamics", "moments", "motion", "response", "weighing")
WHOLE = 6  # numbers of an array that are kept one by one; of more, five that any change moves


def numbers(name: str, value: Any) -> Iterator[tuple[str, Any]]:
    """Take a value apart into named numbers and words.

    Args:
        name: Of the value.
        value: Record, mapping, sequence, array, number or word; anything else is passed over.
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        value = {f.name: getattr(value, f.name) for f in dataclasses.fields(value)}
    if value is None or isinstance(value, str | enum.Enum):
        yield name, str(value)
    elif isinstance(value, Mapping):
        for key, one in value.items():
            yield from numbers(f"{name}.{key}", one)
    elif isinstance(value, list | tuple) and not _plain(value):
        for place, one in enumerate(value):
            yield from numbers(f"{name}[{place}]", one)
    elif isinstance(value, list | tuple | int | float) or hasattr(value, "__array__"):
        yield name, summary(np.asarray(value, float))


def digests(parts: Mapping[str, Any]) -> dict[str, str]:
    """Digest of each part to six digits, where there are too many numbers to keep."""
    found = {}
    for name, value in parts.items():
        told = [
            (key, one if isinstance(one, str) else _six(one)) for key, one in numbers("", value)
        ]
        found[name] = hashlib.sha256(json.dumps(told).encode()).hexdigest()[:16]
    return found


def _six(values: list[float] | str) -> list[str] | str:
    if isinstance(values, str):
        return values
    return [f"{0.0 if abs(one) < 1e-12 else one:.6g}" for one in values]


def _plain(values: list | tuple) -> bool:
    """Whether every value is a number."""
    return all(isinstance(one, int | float | np.number) for one in values)


def summary(values: np.ndarray) -> list[float]:
    """A few numbers of an array, one of which moves when any of its values or places does."""
    flat = values.ravel()
    if flat.size <= WHOLE:
        return [float(one) for one in flat]
    known = flat[np.isfinite(flat)]
    if known.size == 0:
        return [float(flat.size), 0.0]
    weight = 1.5 + np.cos(1.0 + np.arange(flat.size))[np.isfinite(flat)]
    size = math.sqrt(float((known**2).mean()))
    extremes = [float(known.min()), float(known.max())]
    return [float(known.size), size, float((weight * known).mean()), float(known[-1]), *extremes]


def moved(kept: Any, made: Any, tolerance: float) -> bool:
    """Whether an entry is another than it was.

    Args:
        kept: Words or numbers.
        made: The same of today.
        tolerance: Share of the largest of the numbers by which each may differ.
    """
    if isinstance(kept, str) or isinstance(made, str) or len(kept) != len(made):
        return kept != made
    old, new = np.asarray(kept, float), np.asarray(made, float)
    finite = np.abs(old[np.isfinite(old)])
    size = float(finite.max()) if finite.size else 0.0
    return not np.allclose(old, new, rtol=tolerance, atol=tolerance * size + 1e-12, equal_nan=True)


def made(source: ModuleType) -> dict[str, Any]:
    """Numbers of today of a set."""
    return dict(numbers("", source.known()))


def kept_at(source: ModuleType) -> Path:
    """Where the numbers of a set are kept."""
    return KEPT / f"{source.__name__.removeprefix('known_')}.json"


def differences(source: ModuleType, tolerance: float = 1e-5) -> list[str]:
    """Entries of a set that are others than those kept.

    Args:
        source: Module that makes the set.
        tolerance: For rounding, which differs between machines.
    """
    kept, today = json.loads(kept_at(source).read_text()), made(source)
    gone = [
        f"{entry}: {'gone' if entry in kept else 'new'}" for entry in kept.keys() ^ today.keys()
    ]
    return gone + [
        f"{entry}: was {kept[entry]}, is {today[entry]}"
        for entry in kept.keys() & today.keys()
        if moved(kept[entry], today[entry], tolerance)
    ]


def _short(value: Any) -> Any:
    """Ten digits are more than the tolerance asks for."""
    return value if isinstance(value, str) else [float(f"{one:.10g}") for one in value]


def main() -> int:
    """Keep the numbers of today."""
    parser = argparse.ArgumentParser()
    parser.add_argument("sets", nargs="*", default=SETS)
    KEPT.mkdir(exist_ok=True)
    for name in parser.parse_args().sets:
        source = importlib.import_module(f"known_{name}")
        today = {entry: _short(value) for entry, value in made(source).items()}
        lines = [f"{json.dumps(entry)}: {json.dumps(value)}" for entry, value in today.items()]
        kept_at(source).write_text("{\n" + ",\n".join(lines) + "\n}\n")
        print(f"{name}: {len(today)}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
