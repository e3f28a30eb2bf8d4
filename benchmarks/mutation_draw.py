"""Draws changes of a package with the operators of `cosmic-ray` (requirements/mutation.txt)."""

from __future__ import annotations

import ast
import random

import cosmic_ray.plugins as plugins
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from mutation_marks import SOURCE, Mutant, Sample

# Slips that a person makes; changes that cannot even be computed would flatter the score.
SWAPS = {
    "ReplaceBinaryOperator": "Add_Sub Sub_Add Mul_Div Div_Mul Pow_Mul",
    "ReplaceComparisonOperator": "Lt_GtE LtE_Gt Gt_LtE GtE_Lt Eq_NotEq NotEq_Eq Is_IsNot IsNot_Is",
    "ReplaceUnaryOperator": "Delete_USub Delete_Not Delete_Invert",
}
OPERATORS = [
    *(f"core/{kind}_{pair}" for kind, pairs in SWAPS.items() for pair in pairs.split()),
    *(f"core/{name}" for name in ("NumberReplacer", "ReplaceAndWithOr", "ReplaceOrWithAnd")),
    *(f"core/{name}" for name in ("ReplaceTrueWithFalse", "ReplaceFalseWithTrue", "AddNot")),
    *(f"core/{name}" for name in ("ZeroIterationForLoop", "ReplaceContinueWithBreak")),
]


def possible(package: str) -> list[tuple[str, str, int]]:
    """Every change of a package: module, operator and how many positions before it."""
    found = []
    for path in sorted((SOURCE / package).rglob("*.py")):
        nodes = list(ast_nodes(get_ast(path.read_text())))
        for name in OPERATORS:
            operator = plugins.get_operator(name)()
            count = sum(1 for node in nodes for _ in operator.mutation_positions(node))
            module = path.relative_to(SOURCE).as_posix()
            found += [(module, name, occurrence) for occurrence in range(count)]
    return found


def changed(module: str, name: str, occurrence: int) -> Mutant | None:
    """A change; None where the program means the same after it, or nothing.

    The star that begins named arguments is taken for a product by the tool.
    """
    text = (SOURCE / module).read_text()
    other = mutate_code(text, plugins.get_operator(name)(), occurrence)
    try:
        if other is None or ast.dump(ast.parse(other)) == ast.dump(ast.parse(text)):
            return None
    except SyntaxError:
        return None
    before, after = text.split("\n"), other.split("\n")
    shorter = min(len(before), len(after))
    top = next(k for k in range(shorter) if before[k] != after[k])
    tail = next(k for k in range(shorter - top + 1) if before[-1 - k] != after[-1 - k])
    old, new = before[top : len(before) - tail], after[top : len(after) - tail]
    if old[0].strip() == "*,":
        return None
    return Mutant(module, top + 1, "\n".join(old), "\n".join(new), name.removeprefix("core/"))


def drawn(package: str, count: int, seed: int) -> Sample:
    """A sample of so many changes of a package."""
    every = possible(package)
    sample = Sample(package, seed, len(every), [])
    for change in random.Random(seed).sample(every, len(every)):
        made = changed(*change)
        if made is not None and made.old != made.new:
            sample.mutants.append(made)
        if len(sample.mutants) == count:
            break
    return sample
