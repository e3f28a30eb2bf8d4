"""What the contracts look at: the parsed modules and the tracked files of the project."""

from __future__ import annotations

import ast
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "neutralpoint"

# Numerics to response: pure computation, SI only.
PURE = (
    "numerics",
    "quantities",
    "earth",
    "track",
    "sources",
    "motion",
    "airplane",
    "dynamics",
    "moments",
    "explanations",
    "weighing",
    "response",
)


@dataclass(frozen=True)
class Module:
    """A parsed source file and the package it lives in."""

    path: Path
    package: str
    text: str
    tree: ast.Module

    @property
    def name(self) -> str:
        """Path below the repository root, as a reader would type it."""
        return self.path.relative_to(ROOT).as_posix()


def _read(path: Path) -> Module:
    text = path.read_text("utf-8")
    package = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
    return Module(path, package, text, ast.parse(text))


@pytest.fixture(scope="session")
def modules() -> list[Module]:
    """All modules of the package."""
    return [_read(path) for path in sorted(PACKAGE.rglob("*.py"))]


@pytest.fixture(scope="session")
def pure_modules(modules) -> list[Module]:
    """The modules from numerics to response."""
    return [module for module in modules if module.package in PURE]


@pytest.fixture(scope="session")
def tracked_texts() -> dict[str, str]:
    """Every text file that git tracks, by its path."""
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout: nothing says which files belong to the project")
    texts = {}
    for name in filter(None, listed.stdout.split("\0")):
        path = ROOT / name
        if not path.is_file():
            continue
        try:
            texts[name] = path.read_text("utf-8")
        except UnicodeDecodeError:
            continue
    return texts
