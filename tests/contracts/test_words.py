"""All words in one room: below report no sentence for readers."""

from __future__ import annotations

import ast
import re

from readers_texts import literal

# Packages that hand on numbers, enums and records only.
SILENT = (
    *("numerics", "earth", "track", "motion", "airplane", "dynamics", "moments", "weighing"),
    *("response", "findings", "study"),
)
# What may hold sentences there, and why.
ALLOWED = {
    "vocabulary/cautions.py": "the cautions themselves, which every document carries",
    "weighing/items.py": "the catalogue of evidence",
    "response/lessons.py": "the catalogue of lessons",
    "response/answers.py": "why a cause is not worked out: refusals",
    "dynamics/equilibrium.py": "why no steady flight was found: refusals",
    "track/alignment.py": "what a reader of files reports",
    "track/heights.py": "what a reader of files reports",
    "study/inventory.py": "what the method takes as given, listed with the case's own",
    "study/motion/onset_findings.py": "warnings",
    "study/moments/stage.py": "why a stage cannot run",
    "study/history/stage.py": "why a stage cannot run",
    "study/heard/work_out.py": "why a stage cannot run",
    "study/wreckage/work_out.py": "why a stage cannot run",
    "study/outside/stage.py": "why a stage cannot run",
    "study/wreckage/maps.py": "the caution that every map carries",
    "study/weighing/recorded.py": "cautions of the catalogue of evidence",
    "study/weighing/evidence.py": "cautions of the catalogue of evidence",
    "study/weighing/marks.py": "cautions of the catalogue of evidence",
    "study/response/file.py": "the long names of its variables",
    "study/response/work_out.py": "why a cause is not worked out: refusals",
}
ERRORS = re.compile(r"(Error|Warned|Field)$|refus|unreadable|warn|missing|invalid|unusable")
ERROR_PARTS = re.compile(r"(^|_)(hint|message)$", re.IGNORECASE)  # made ready for an error
ABBREVIATED = re.compile(r"\b(ch|eq|fig|ref|vol|Rep)\.")  # of sources
WORDS = 6  # from which on a text is a sentence and no label


def _is_sentence(text: str) -> bool:
    ends = re.search(r"[.:?](\s|$)", ABBREVIATED.sub("", text).rstrip() + " ")
    return bool(re.match(r"[A-Z0]", text) and len(text.split()) >= WORDS and ends)


def _body(node: ast.AST) -> list[ast.AST]:
    """Children, without the docstring; attributes of files describe themselves and are left out."""
    if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)):
        first = node.body[0] if node.body else None
        documented = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
        return list(node.body[1:] if documented else node.body)
    return list(ast.iter_child_nodes(node))


def _sentences(node: ast.AST):
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return
    if isinstance(node, ast.Call) and ERRORS.search(ast.unparse(node.func)):
        return
    if isinstance(node, ast.Dict) and any(literal(k) in FILE_ATTRIBUTES for k in node.keys if k):
        return
    if isinstance(node, ast.Assign):
        name = ast.unparse(node.targets[0])
        if name.endswith("COMMENT") or ERROR_PARTS.search(name):
            return
    if isinstance(node, ast.FunctionDef) and node.name.startswith("refusal"):
        return
    text = literal(node)
    if text is not None:
        if _is_sentence(text):
            yield node.lineno, text
        return
    for child in _body(node):
        yield from _sentences(child)


# A NetCDF file describes itself, wherever it is opened.
FILE_ATTRIBUTES = {"Conventions", "comment", "long_name", "flag_meanings"}


def test_the_rule_itself():
    """The check can fail, and lets errors and labels pass."""
    said = 'x = f"The airplane was {a} at the time."'
    assert list(_sentences(ast.parse(said)))
    assert not list(_sentences(ast.parse(f"raise NeutralPointError({said[4:]})")))
    assert not list(_sentences(ast.parse('x = "Height above mean sea level"')))


def test_no_sentence_for_readers_below_report(modules):
    found = [
        f"{module.name}:{line} {text[:70]}"
        for module in modules
        if module.package in SILENT and module.name.removeprefix("src/neutralpoint/") not in ALLOWED
        for line, text in _sentences(module.tree)
    ]
    assert not found, "sentences that belong in report/words:\n" + "\n".join(found)


def test_what_is_allowed_is_there(repository):
    gone = [name for name in ALLOWED if not (repository / "src/neutralpoint" / name).exists()]
    assert not gone
