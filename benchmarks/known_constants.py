"""Constants and defaults of the packages that compute, as they stand."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
import pkgutil
from types import ModuleType
from typing import Any

from known_answers import digests, numbers

import neutralpoint.airplane
import neutralpoint.dynamics
import neutralpoint.moments
import neutralpoint.motion
import neutralpoint.response
import neutralpoint.weighing

MOST = 150  # entries of one constant; of more a digest is kept
PACKAGES = (
    neutralpoint.airplane,
    neutralpoint.dynamics,
    neutralpoint.moments,
    neutralpoint.motion,
    neutralpoint.response,
    neutralpoint.weighing,
)


def known() -> dict[str, Any]:
    """By module: its constants, and the defaults of its functions and records."""
    found = {}
    for package in PACKAGES:
        for about in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            found[about.name.removeprefix("neutralpoint.")] = _of(
                importlib.import_module(about.name)
            )
    return found


def _assigned(module: ModuleType) -> set[str]:
    """Names that a module gives a value itself."""
    found = set()
    for node in ast.parse(inspect.getsource(module)).body:
        targets = node.targets if isinstance(node, ast.Assign) else []
        targets = [node.target] if isinstance(node, ast.AnnAssign) else targets
        for target in targets:
            found |= {name.id for name in ast.walk(target) if isinstance(name, ast.Name)}
    return found


def _of(module: ModuleType) -> dict[str, Any]:
    own, assigned = {}, _assigned(module)
    for name, value in vars(module).items():
        if name.lstrip("_").isupper() and name in assigned:
            own[name] = value
        elif getattr(value, "__module__", "") == module.__name__ and not name.startswith("__"):
            own |= {f"{name}.{key}": default for key, default in _defaults(value).items()}
    large = {n: v for n, v in own.items() if sum(1 for _ in numbers("", v)) > MOST}
    return {n: v for n, v in own.items() if n not in large} | digests(large)


def _defaults(thing: Any) -> dict[str, Any]:
    thing = getattr(thing, "__wrapped__", thing)  # as it was before it was compiled
    if dataclasses.is_dataclass(thing):
        fields = dataclasses.fields(thing)
        return {f.name: f.default for f in fields if f.default is not dataclasses.MISSING}
    if not inspect.isfunction(thing):
        return {}
    parameters = inspect.signature(thing).parameters.values()
    return {p.name: p.default for p in parameters if p.default is not inspect.Parameter.empty}
