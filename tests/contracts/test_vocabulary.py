"""One vocabulary: quantities from the registry alone, class names once, causes by one key."""

from __future__ import annotations

import ast
from collections import defaultdict

from neutralpoint.vocabulary import CIRCULAR, QUANTITIES
from neutralpoint.vocabulary.quantity import (
    ANGLE_UNITS,
    FELT,
    FLOWN,
    LIMITS,
    MOMENTS,
    MOTION,
    NEEDED,
    READINGS,
    RECOVERY,
)

REGISTRY = "src/neutralpoint/vocabulary/quantity.py"


def _tables(tree: ast.Module):
    """Dicts written out at the top of a module, keyed by names of quantities and nothing else."""
    for node in tree.body:
        value = getattr(node, "value", None)
        for part in ast.walk(value) if isinstance(value, ast.expr) else ():
            if not isinstance(part, ast.Dict) or len(part.keys) < 2:
                continue
            keys = {key.value for key in part.keys if isinstance(key, ast.Constant)}
            if len(keys) == len(part.keys) and keys <= set(QUANTITIES):
                yield part.lineno


def test_the_rule_itself():
    """The check can fail, and lets a table of something else pass."""
    assert list(_tables(ast.parse('X = {"mach": 1, "altitude": 2}')))
    assert not list(_tables(ast.parse('X = {"mach": 1, "other": 2}')))


def test_no_table_of_quantities_beside_the_registry(modules):
    found = [
        f"{module.name}:{line}"
        for module in modules
        if module.name != REGISTRY
        for line in _tables(module.tree)
    ]
    assert not found, "tables keyed by quantities: " + ", ".join(found)


def test_a_quantity_stands_once():
    kinds = (MOTION, READINGS, MOMENTS, NEEDED, LIMITS, FELT, FLOWN, RECOVERY)
    listed = [q.name for kind in kinds for q in kind]
    assert len(listed) == len(set(listed)) == len(QUANTITIES)


def test_quantities_are_whole():
    """What prints has a title that starts with a capital; only angles are circular."""
    for quantity in QUANTITIES.values():
        assert quantity.title[0].isupper(), quantity.name
        assert quantity.shown.factor > 0.0, quantity.name
        assert quantity.name not in CIRCULAR or quantity.unit == "rad", quantity.name
    assert {q.name for q in QUANTITIES.values() if q.column_units == ANGLE_UNITS} == {
        "latitude",
        "longitude",
        "track_angle",
    }


def test_class_names_are_unique(modules):
    places = defaultdict(list)
    for module in modules:
        for node in ast.walk(module.tree):
            if isinstance(node, ast.ClassDef):
                places[node.name].append(f"{module.name}:{node.lineno}")
    twice = {name: where for name, where in places.items() if len(where) > 1}
    assert not twice, "\n".join(f"{name}: {', '.join(where)}" for name, where in twice.items())
