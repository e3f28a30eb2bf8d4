"""Which lines of the package a test file runs, and which of them a change alters.

A change that no test file runs cannot be found by any; of those that run it, all are asked.
"""

from __future__ import annotations

import ast
import json
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

LINES = "lines.json"  # in the folder of a worker
OFTEN = 5000  # calls of a function after which it is no longer watched
OF_A_FUNCTION = 0x1  # flag of the code of functions; modules and classes run when they are imported

Ran = dict[str, list[int]]  # by module, as `motion/rows.py`


class Watch:
    """Notes the lines of functions of the package that run, from `start` on.

    Args:
        folder: Of the worker, with the package in `src`.
    """

    def __init__(self, folder: Path) -> None:
        self.folder, self.source = folder, str(folder / "src" / "neutralpoint") + "/"
        self.ran: dict[str, set[int]] = {}
        self.left: dict[CodeType, set[int]] = {}
        self.calls: dict[CodeType, int] = {}

    def start(self) -> None:
        """Watch this thread and those that begin from now on."""
        threading.settrace(self._call)
        sys.settrace(self._call)

    def keep(self) -> None:
        """Write what ran."""
        sys.settrace(None)
        told = {name.removeprefix(self.source): sorted(ran) for name, ran in self.ran.items()}
        (self.folder / LINES).write_text(json.dumps(told))

    def _call(self, frame: FrameType, _event: str, _arg: Any) -> Callable[..., Any] | None:
        code = frame.f_code
        if not (code.co_flags & OF_A_FUNCTION and code.co_filename.startswith(self.source)):
            return None
        left = self.left.get(code)
        if left is None:
            left = self.left[code] = {line for *_, line in code.co_lines() if line}
        self.calls[code] = calls = self.calls.get(code, 0) + 1
        if not left or calls > OFTEN:
            return None
        ran = self.ran.setdefault(code.co_filename, set())

        def line(frame: FrameType, _event: str, _arg: Any) -> Callable[..., Any] | None:
            ran.add(frame.f_lineno)
            left.discard(frame.f_lineno)
            return line if left else None

        return line(frame, "", None)


def read_lines(folder: Path) -> Ran:
    """What `keep` wrote; nothing where a file ended before."""
    path = folder / LINES
    return json.loads(path.read_text()) if path.is_file() else {}


def altered(text: str, line: int) -> set[int]:
    """Lines of the statement of a function that a change alters.

    Args:
        text: The module as it is.
        line: That is changed.

    Returns:
        Its lines, of one that holds others its head; empty for what runs on import.
    """
    within, found = False, set()
    nodes: list[ast.AST] = [ast.parse(text)]
    while nodes:
        node = nodes.pop()
        for child in ast.iter_child_nodes(node):
            if not isinstance(child, ast.stmt | ast.excepthandler | ast.match_case):
                continue
            first, last = _span(child)
            if not first <= line <= last:
                continue
            body = getattr(child, "body", None)
            head = min(_span(body[0])[0], last + 1) if body else last + 1
            found = set(range(first, max(head, first + 1)))
            function = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef)
            if function and line < head and not within:
                return set()
            within = within or function
            nodes.append(child)
    return found if within else set()


def _span(node: ast.AST) -> tuple[int, int]:
    if isinstance(node, ast.match_case):
        return node.pattern.lineno, node.body[-1].end_lineno or node.pattern.lineno
    first = min((d.lineno for d in getattr(node, "decorator_list", [])), default=node.lineno)
    return first, node.end_lineno or first
