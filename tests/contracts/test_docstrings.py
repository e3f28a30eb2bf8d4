"""Public functions of the computation say what they take and give, and where physics is from."""

from __future__ import annotations

import ast
import re

import pytest

FUNCTION = (ast.FunctionDef, ast.AsyncFunctionDef)


def _public_functions(tree: ast.Module):
    """Functions and methods that a caller may name, with the class they are in."""
    for node in tree.body:
        if isinstance(node, FUNCTION) and not node.name.startswith("_"):
            yield node.name, node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for member in node.body:
                if isinstance(member, FUNCTION) and not member.name.startswith("_"):
                    yield f"{node.name}.{member.name}", member


def _takes(node) -> bool:
    arguments = node.args
    named = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs]
    return any(argument.arg not in {"self", "cls"} for argument in named) or bool(arguments.vararg)


def _gives(node) -> bool:
    return node.returns is not None and ast.unparse(node.returns) not in {"None", "NoReturn"}


def _is_property(node) -> bool:
    return any("property" in ast.unparse(decorator) for decorator in node.decorator_list)


def _faults(node) -> list[str]:
    text = ast.get_docstring(node)
    if not text:
        return ["no docstring"]
    faults = []
    if _takes(node) and "Args:" not in text:
        faults.append("no Args")
    # A property is read like an attribute: its one line says what it is.
    if _gives(node) and not _is_property(node) and "Returns:" not in text:
        faults.append("no Returns")
    return faults


def test_the_rule_itself():
    """The check can fail."""
    (node,) = ast.parse('def f(x) -> int:\n    """Half."""').body
    assert _faults(node) == ["no Args", "no Returns"]


def test_arguments_and_returns(pure_modules):
    found = [
        f"{module.name}:{node.lineno} {name}: {', '.join(faults)}"
        for module in pure_modules
        for name, node in _public_functions(module.tree)
        if (faults := _faults(node))
    ]
    assert not found, f"{len(found)} docstrings:\n" + "\n".join(found)


PHYSICAL = (
    "earth/atmosphere.py",
    "earth/airspeed.py",
    "earth/geodesy.py",
    "airplane/lift.py",
    "airplane/longitudinal.py",
    "airplane/lateral.py",
    "airplane/planform.py",
    "airplane/inertia.py",
    "dynamics/aerodynamics.py",
    "dynamics/propulsion.py",
    "dynamics/column.py",
    "dynamics/equations.py",
    "dynamics/turbulence.py",
)


@pytest.mark.parametrize("name", PHYSICAL)
def test_physical_relations_have_a_source(pure_modules, name):
    """In the modules that are nothing but physics, every public relation names its source."""
    (module,) = [m for m in pure_modules if m.name == f"src/neutralpoint/{name}"]
    missing = [
        f"{module.name}:{node.lineno} {called}"
        for called, node in _public_functions(module.tree)
        if _takes(node) and "Source:" not in (ast.get_docstring(node) or "")
    ]
    assert not missing, "no Source:\n" + "\n".join(missing)


def _is_written_number(node: ast.expr) -> bool:
    """True for a literal that holds a number other than -2 to 2: nothing computed from names."""
    names = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
    if names - {"np", "jnp", "math", "frozenset", "dict", "tuple"}:
        return False
    return any(
        isinstance(part, ast.Constant)
        and isinstance(part.value, (int, float))
        and part.value not in {0, 1, 2}
        for part in ast.walk(node)
    )


def _constants(tree: ast.Module):
    """Module-level written numbers, in a name of capitals."""
    for node in tree.body:
        if isinstance(node, ast.Assign):
            target = node.targets[0]
        elif isinstance(node, ast.AnnAssign) and node.value is not None:
            target = node.target
        else:
            continue
        if isinstance(target, ast.Name) and target.id.isupper() and _is_written_number(node.value):
            yield target.id, node


def test_constants_carry_a_comment(pure_modules):
    """A number without a word on where it is from does not merge."""
    found = []
    for module in pure_modules:
        lines = module.text.splitlines()
        for name, node in _constants(module.tree):
            here = range(node.lineno - 1, node.end_lineno)
            above = node.lineno - 2
            # A comment stands over a run of constants without a blank line between.
            while above >= 0 and lines[above].strip() and not lines[above].startswith("#"):
                above -= 1
            commented = above >= 0 and lines[above].startswith("#")
            if not commented and not any("#" in lines[i] for i in here):
                found.append(f"{module.name}:{node.lineno} {name}")
    assert not found, "numbers without a comment:\n" + "\n".join(found)


def test_named_checks_exist(modules, repository):
    """`Checked against:` and other pointers to files of the project point at something."""
    pattern = re.compile(r"\b(?:tests|authorities|benchmarks|experiments|docs)/[\w./-]+\.\w+")
    found = [
        f"{module.name}: {path}"
        for module in modules
        for path in sorted(set(pattern.findall(module.text)))
        if not (repository / path).exists()
    ]
    found += [
        f"{module.name}: decisions/{number}"
        for module in modules
        for number in sorted(set(re.findall(r"decisions/(\d{4})", module.text)))
        if not list((repository / "decisions").glob(f"{number}-*.md"))
    ]
    assert not found, "named but not there:\n" + "\n".join(found)
