"""A bare name is SI; names that carry another unit live only at the edges."""

from __future__ import annotations

import ast

EDGES = {"quantities", "sources", "documents", "airplane_file", "case", "report", "app", "cli"}
# Not here: `_min` (minimum) and `_in` (inside), which are also words; `_m`, `_s`, `_kg` are SI.
UNITS = {
    *("ft", "feet", "foot", "nm", "nmi", "mi", "inch", "inches", "yd", "km"),
    *("kt", "kts", "knot", "knots", "mph", "kmh", "fpm", "ftmin", "fps"),
    *("deg", "degs", "degrees", "dps", "rpm"),
    *("lb", "lbs", "lbf", "lbm", "slug", "slugs", "kgf", "oz"),
    *("hpa", "mb", "mbar", "inhg", "psi", "psf", "bar", "atm", "mmhg"),
    *("celsius", "fahrenheit", "degc", "degf", "hp", "shp", "gal", "usgal", "hours", "minutes"),
}


def _names(tree: ast.Module):
    """Names a module introduces: functions, arguments, variables, fields, keywords."""
    for node in ast.walk(tree):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)):
            yield node.name, node.lineno
        elif isinstance(node, ast.arg) or (isinstance(node, ast.keyword) and node.arg):
            yield node.arg, node.lineno
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node.id, node.lineno
        elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
            yield node.attr, node.lineno


def _carries_unit(name: str) -> bool:
    words = name.lower().strip("_").split("_")
    return len(words) > 1 and words[-1] in UNITS


def test_the_rule_itself():
    """The check can fail, and lets SI names pass."""
    assert _carries_unit("altitude_ft") and _carries_unit("_SPEED_KT")
    assert not any(map(_carries_unit, ("altitude", "height_m", "lift_min", "lb", "FOOT")))


def test_other_units_stay_at_the_edges(modules):
    found = [
        f"{module.name}:{line} {name}"
        for module in modules
        if module.package not in EDGES
        for name, line in _names(module.tree)
        if _carries_unit(name)
    ]
    assert not found, "not SI outside the edges:\n" + "\n".join(found)
