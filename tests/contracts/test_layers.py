"""Every package has a place in the layers, and its `__init__` says what comes in and goes out."""

from __future__ import annotations

import ast
import re
import tomllib


def _layered(repository) -> set[str]:
    settings = tomllib.loads((repository / "pyproject.toml").read_text("utf-8"))
    contract = settings["tool"]["importlinter"]["contracts"][0]
    return {
        name.strip().removeprefix("neutralpoint.")
        for layer in contract["layers"]
        for name in layer.split("|")
    }


def test_no_package_escapes_the_layers(modules, repository):
    present = {module.package for module in modules} - {"__init__", "__main__"}
    assert present == _layered(repository)


def test_what_is_imported_is_there(modules, repository):
    """A name that moved is missed before a command is run that loads it."""
    source = repository / "src"
    names = {module.path: _defined(module.tree) for module in modules}
    missing = []
    for module in modules:
        for node in ast.walk(module.tree):
            if not (isinstance(node, ast.ImportFrom) and node.module and not node.level):
                continue
            place = source.joinpath(*node.module.split("."))
            path = place / "__init__.py" if place.is_dir() else place.with_suffix(".py")
            if not node.module.startswith("neutralpoint"):
                continue
            there = names.get(path, set())
            missing += [
                f"{module.name}:{node.lineno} {node.module}.{alias.name}"
                for alias in node.names
                if alias.name not in there
                and not (place / alias.name).is_dir()
                and not (place / f"{alias.name}.py").is_file()
            ]
    assert not missing


def _defined(tree: ast.Module) -> set[str]:
    """Names that a module gives somewhere; a few too many, for those of functions count."""
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            found.add(node.name)
        elif isinstance(node, ast.ImportFrom | ast.Import):
            found |= {(alias.asname or alias.name).split(".")[0] for alias in node.names}
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            found.add(node.id)
    return found


def test_no_vague_modules(modules):
    vague = {"utils", "util", "helpers", "helper", "common", "core", "misc"}
    found = [module.name for module in modules if vague & set(module.path.with_suffix("").parts)]
    assert not found


def test_saved_results_know_no_stage(modules):
    """Report and app live on saved findings: they import no stage of the computation."""
    stages = {"motion", "airplane", "dynamics", "moments", "explanations", "weighing", "response"}
    found = []
    for module in modules:
        if module.package not in {"report", "app"}:
            continue
        for node in ast.walk(module.tree):
            names = []
            if isinstance(node, ast.ImportFrom) and node.module:
                names = [node.module]
            elif isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            for name in names:
                parts = name.split(".")
                if parts[0] == "neutralpoint" and len(parts) > 1 and parts[1] in stages:
                    found.append(f"{module.name}:{node.lineno} {name}")
    assert not found


def test_packages_introduce_themselves(modules):
    """Three sentences at least: what comes in, what goes out, what is assumed."""
    short = []
    built = {module.package for module in modules if module.path.name != "__init__.py"}
    for module in modules:
        if module.path.name != "__init__.py" or module.package not in built:
            continue
        text = ast.get_docstring(module.tree) or ""
        if len(re.findall(r"[.;](?:\s|$)", text)) < 3:
            short.append(module.name)
    assert not short, f"fewer than three sentences: {short}"
