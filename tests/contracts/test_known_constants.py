"""A constant of the computing packages moves on purpose, never by a slip."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil

import known_constants
from known_answers import differences


def test_constants_and_defaults_are_those_kept():
    """Meant: run `python benchmarks/known_answers.py constants` and say in the change log why."""
    assert differences(known_constants) == []


def test_no_argument_is_taken_by_place_alone():
    """Functions that name their arguments keep the star for it: a stroke would let them swap."""
    found = []
    for package in known_constants.PACKAGES:
        for about in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            module = importlib.import_module(about.name)
            found += [
                f"{about.name}.{node.name}"
                for node in ast.walk(ast.parse(inspect.getsource(module)))
                if isinstance(node, ast.FunctionDef) and node.args.posonlyargs
            ]
    assert found == []
