"""From numerics to response nothing reads files, clocks or the environment, prints or plots."""

from __future__ import annotations

import ast

FORBIDDEN_IMPORTS = {
    *("pydantic", "pint", "tomlkit", "tomllib", "json", "csv", "pickle"),
    *("matplotlib", "rich", "typer", "jinja2", "click", "logging", "warnings"),
    *("pathlib", "os", "sys", "shutil", "glob", "tempfile", "subprocess", "socket", "urllib"),
    *("random", "secrets", "time", "xarray", "h5netcdf", "h5py", "threading"),
}
# Readers take bytes or text; reading delimited text and NetCDF bytes needs the usual readers.
ALLOWED = {("sources", name) for name in ("csv", "json", "xarray", "h5py")}
FORBIDDEN_CALLS = {"print", "open", "input", "exec", "eval", "breakpoint"}
FORBIDDEN_METHODS = {"now", "today", "utcnow", "getenv", "read_text", "read_bytes", "write_text"}
GLOBAL_RANDOM = {"seed", "rand", "randn", "random", "normal", "uniform", "choice", "shuffle"}


def _imports(tree: ast.Module):
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name.split(".")[0], node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module.split(".")[0], node.lineno


def _impure_calls(tree: ast.Module):
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        function = node.func
        if isinstance(function, ast.Name) and function.id in FORBIDDEN_CALLS:
            yield function.id, node.lineno
        if not isinstance(function, ast.Attribute):
            continue
        if function.attr in FORBIDDEN_METHODS:
            yield f".{function.attr}", node.lineno
        owner = ast.unparse(function.value)
        if owner in {"np.random", "numpy.random"} and function.attr in GLOBAL_RANDOM:
            yield f"{owner}.{function.attr}", node.lineno
        if function.attr == "default_rng" and not node.args:
            yield "default_rng() without a seed", node.lineno


def _impurities(tree: ast.Module, package: str):
    for name, line in _imports(tree):
        if name in FORBIDDEN_IMPORTS and (package, name) not in ALLOWED:
            yield f"import {name}", line
    yield from _impure_calls(tree)


def test_the_rule_itself():
    """The check can fail."""
    code = "import os\nprint(1)\nnp.random.seed(2)\ndatetime.now()\nnp.random.default_rng()"
    assert len(list(_impurities(ast.parse(code), "motion"))) == 5
    assert not list(_impurities(ast.parse("rng = np.random.default_rng(3)"), "motion"))


def test_computation_is_pure(pure_modules):
    found = [
        f"{module.name}:{line} {what}"
        for module in pure_modules
        for what, line in _impurities(module.tree, module.package)
    ]
    assert not found, "not allowed from numerics to response:\n" + "\n".join(found)


def test_no_assert_on_input(modules):
    """An `assert` vanishes under -O and says nothing to the user."""
    found = [
        f"{module.name}:{node.lineno}"
        for module in modules
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Assert)
    ]
    assert not found, "assert in the package:\n" + "\n".join(found)
