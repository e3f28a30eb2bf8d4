"""Every code is raised somewhere, and every code raised exists."""

from __future__ import annotations

import ast

from neutralpoint.errors import CODES


def _literals(tree: ast.Module) -> set[str]:
    """Strings of a module, and the parts before a bar: validators carry `code|message|hint`."""
    return {
        node.value.split("|")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def _raised(tree: ast.Module):
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("NeutralPointError"):
            code = node.args[0] if node.args else None
            if isinstance(code, ast.Constant):
                yield code.value, node.lineno


def test_codes_raised_exist(modules):
    unknown = [
        f"{module.name}:{line} {code}"
        for module in modules
        for code, line in _raised(module.tree)
        if code not in CODES
    ]
    assert not unknown


def test_codes_are_used(modules):
    used = set().union(
        *(_literals(module.tree) for module in modules if module.package != "errors")
    )
    assert sorted(set(CODES) - used) == []


def test_codes_read_as_sentences():
    for code, text in CODES.items():
        assert code == code.lower() and " " not in code
        assert text[0].isupper() and text.endswith("."), code
