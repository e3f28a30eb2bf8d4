"""Every text that a reader meets: strings of the program, pages, documents.

Used by the checks of words; nothing here judges.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

# Strings of these hold no text for readers: patterns that look for words, and identifiers.
PATTERNS = ("report/wording/rules.py", "report/wording/review.py", "report/wording/numbers.py")
# Documents, examples, catalogue: all but the change log, decisions and what is for developers.
LEFT_OUT = ("docs/explanation/architecture.md",)
SCRIPT_STRING = re.compile(
    r'"((?:[^"\\\n]|\\.)*)"|\'((?:[^\'\\\n]|\\.)*)\'|`((?:[^`\\]|\\.)*)`', re.DOTALL
)
SCRIPT_COMMENT = re.compile(r"/\*.*?\*/|^\s*//[^\n]*$", re.DOTALL | re.MULTILINE)
TEMPLATE_CODE = re.compile(r"\{[{%#].*?[}%#]\}|<style.*?</style>", re.DOTALL)
SPOKEN = re.compile(r'(?:aria-label|title|alt|placeholder)="([^"]*)"')
TAG, CODE = re.compile(r"<[^>]+>"), re.compile(r"`[^`\n]*`")


@dataclass(frozen=True)
class ReadersText:
    """A text with its place.

    Attributes:
        kind: python, page, template or docs.
        file: Path from the repository root.
        line: Where it begins.
        text: The words; what is filled in stands as 0.
    """

    kind: str
    file: str
    line: int
    text: str


def readers_texts(repository: Path) -> Iterator[ReadersText]:
    """All of them.

    Args:
        repository: Its root.

    Yields:
        Text by text.
    """
    kinds = (
        ("python", (repository / "src").rglob("*.py"), _python),
        ("page", (repository / "frontend/src").rglob("*.ts"), _script),
        ("template", (repository / "src").rglob("*.j2"), _template),
        ("docs", _documents(repository), _document),
    )
    for kind, files, read in kinds:
        for file in sorted(files):
            name = file.relative_to(repository).as_posix()
            if name.endswith(PATTERNS) or name in LEFT_OUT:
                continue
            for line, text in read(file.read_text("utf-8"), name):
                yield ReadersText(kind, name, line, CODE.sub("", text))


def literal(node: ast.AST) -> str | None:
    """The text of a string or formatted string; None for all else."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        parts = node.values
        return "".join(str(p.value) if isinstance(p, ast.Constant) else "0" for p in parts)
    return None


def python_strings(node: ast.AST) -> Iterator[tuple[int, str]]:
    """Strings of a module that read as words, without docstrings."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return
    text = literal(node)
    if text is not None and (" " in text.strip() or re.match(r"[A-Z][a-z]", text)):
        yield getattr(node, "lineno", 0), text
    if isinstance(node, ast.Constant):
        return
    for child in ast.iter_child_nodes(node):
        yield from python_strings(child)


def _python(source: str, name: str) -> Iterator[tuple[int, str]]:
    tree = ast.parse(source)
    yield from python_strings(tree)
    if "/cli/" in name:  # what a command prints as its help
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef) and (said := ast.get_docstring(node)):
                yield node.lineno, said.split("Args:")[0]


def _script(source: str, _: str) -> Iterator[tuple[int, str]]:
    bare = SCRIPT_COMMENT.sub(lambda m: "\n" * m[0].count("\n"), source)
    for match in SCRIPT_STRING.finditer(bare):
        text = next(group for group in match.groups() if group is not None)
        text = re.sub(r"\$\{[^{}]*\}", "0", text)
        if " " in text.strip() or re.match(r"[A-Z][a-z]", text):
            yield bare[: match.start()].count("\n") + 1, text


def _template(source: str, _: str) -> Iterator[tuple[int, str]]:
    bare = TEMPLATE_CODE.sub(lambda m: " " + "\n" * m[0].count("\n"), source)
    for line, text in enumerate(bare.splitlines(), start=1):
        for part in (TAG.sub(" ", text), *SPOKEN.findall(text)):
            if part.strip():
                yield line, part.strip()


def _documents(repository: Path) -> list[Path]:
    source, examples = repository / "src/neutralpoint", repository / "examples"
    return [
        repository / "README.md",
        *(repository / "docs").rglob("*.md"),
        *(source / "cli/starter").iterdir(),
        *(source / "app/example").glob("*.toml"),
        *(source / "airplane/catalogue").glob("*.toml"),
        *examples.glob("*/*.md"),
        *examples.glob("*/*.toml"),
    ]


def _document(source: str, _: str) -> Iterator[tuple[int, str]]:
    yield from enumerate(source.splitlines(), start=1)
