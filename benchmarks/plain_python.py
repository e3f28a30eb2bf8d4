"""A JAX function of scalars written out as plain Python, for a comparison without JAX.

Each primitive becomes one line with floats and `math`: what a careful person would write by hand.
"""

from __future__ import annotations

import math

import jax
from jax.extend.core import Literal

LINES = {
    "add": "{0} + {1}",
    "add_any": "{0} + {1}",
    "sub": "{0} - {1}",
    "mul": "{0} * {1}",
    "div": "{0} / {1}",
    "neg": "-{0}",
    "max": "max({0}, {1})",
    "min": "min({0}, {1})",
    "sqrt": "sqrt({0})",
    "exp": "exp({0})",
    "log": "log({0})",
    "sin": "sin({0})",
    "cos": "cos({0})",
    "abs": "abs({0})",
    "square": "{0} * {0}",
    "asin": "asin({0})",
    "sign": "copysign(1.0, {0})",
    "lt": "{0} < {1}",
    "gt": "{0} > {1}",
    "select_n": "{2} if {0} else {1}",
    "clamp": "min(max({1}, {0}), {2})",
    "convert_element_type": "{0}",
    "stop_gradient": "{0}",
}


def write(function, *arguments, module=math):
    """A function of floats that returns the flat list of results of a JAX function of scalars.

    Args:
        function: Of scalars, traced once.
        *arguments: Example scalars.
        module: Where the elementary functions come from: `math` or `numpy`.

    Returns:
        The plain function.
    """
    closed = jax.make_jaxpr(function)(*arguments)
    names: dict = {}
    lines: list[str] = []

    def name(x):
        return (
            repr(float(x.val)) if isinstance(x, Literal) else names.setdefault(x, f"v{len(names)}")
        )

    def emit(jaxpr):
        for eqn in jaxpr.eqns:
            inner = eqn.params.get("jaxpr") or eqn.params.get("call_jaxpr")
            if inner is not None:
                body = getattr(inner, "jaxpr", inner)
                for outer, own in zip(eqn.invars, body.invars, strict=True):
                    lines.append(f"{name(own)} = {name(outer)}")
                emit(body)
                for outer, own in zip(eqn.outvars, body.outvars, strict=True):
                    lines.append(f"{name(outer)} = {name(own)}")
                continue
            values = [name(x) for x in eqn.invars]
            if eqn.primitive.name == "integer_pow":
                text = " * ".join([values[0]] * eqn.params["y"])
            else:
                text = LINES[eqn.primitive.name].format(*values)
            lines.append(f"{name(eqn.outvars[0])} = {text}")

    emit(closed.jaxpr)
    for variable, value in zip(closed.jaxpr.constvars, closed.consts, strict=True):
        lines.insert(0, f"{name(variable)} = {float(value)!r}")
    head = ", ".join(name(x) for x in closed.jaxpr.invars)
    tail = ", ".join(name(x) for x in closed.jaxpr.outvars)
    source = f"def plain({head}):\n    " + "\n    ".join(lines) + f"\n    return [{tail}]\n"
    space = {k: getattr(module, k) for k in ("sqrt", "exp", "log", "sin", "cos", "copysign")}
    space["asin"] = getattr(module, "asin", None) or module.arcsin
    exec(source, space)
    return space["plain"]
