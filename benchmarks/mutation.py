"""Would a test notice? One formula at a time is changed at random, and the tests that use it run.

    python benchmarks/mutation.py moments motion [--each 45] [--seed 21]
    python benchmarks/mutation.py motion --again        # those that survived last time
    python benchmarks/mutation.py moments --files tests/unit/test_moments_parts.py ...

Operators and their application are those of `cosmic-ray` (a development extra); which changes are
made is drawn at random from all that are possible in a package. The package is copied first, and
the copy is changed. Run are the files of tests/unit and tests/against that import the changed
module, or, where none does, its package, quickest first; the other tests that come by it, recovery
and end to end, which fly for minutes, are left out, so that the score is a lower bound. A change is
found where a test fails that passes undisturbed, or where the tests take five times as long.
With `--files` only those of them that are named run, which bounds the score further from below and
takes seconds where it took minutes.
Results are kept as JSON for each package and seed, and one table is made of all.
"""

from __future__ import annotations

import argparse
import ast
import compileall
import contextlib
import difflib
import importlib.util
import io
import json
import math
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import warnings
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import cosmic_ray.plugins as plugins
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "neutralpoint"
KEPT = Path(__file__).parent / "results" / "mutation"
TABLE = Path(__file__).parent / "results" / "mutation.md"
PACKAGES = ("moments", "dynamics", "airplane", "motion", "weighing", "response")
SUITES = ("tests/unit", "tests/against")
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
# Changes that no test can find, by module and a part of the changed line, with the reason.
EQUIVALENT = {
    (
        "weighing/parameters.py",
        "full_matrices=True",
    ): "only as many rows as there are sizes are used",
    (
        "weighing/effects.py",
        "else 1.0",
    ): "of an airplane without engines no equation reads the lever",
}
LIMIT = 300  # s of the processor for the tests of one change; undisturbed they take a minute
IMPORT = " (import)"
LONGEST = 1800.0  # s for a run, on a machine that does other work beside
SURVIVED, FOUND, SLOW = "survived", "found", "slow"


@dataclass
class Mutant:
    """One change, and what came of it."""

    module: str
    operator: str
    occurrence: int
    line: int
    before: str
    after: str
    outcome: str = ""
    by: str = ""
    seconds: float = 0.0


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


def changed(module: str, name: str, occurrence: int) -> tuple[Mutant, str] | None:
    """A change with its text; None where the program means the same after it, or nothing.

    The star that begins named arguments is taken for a product by the tool.
    """
    text = (SOURCE / module).read_text()
    other = mutate_code(text, plugins.get_operator(name)(), occurrence)
    try:
        if other is None or ast.dump(ast.parse(other)) == ast.dump(ast.parse(text)):
            return None
    except SyntaxError:
        return None
    lines = list(difflib.ndiff(text.splitlines(), (other or "").splitlines()))
    before = next((line[2:] for line in lines if line.startswith("- ")), "")
    after = next((line[2:] for line in lines if line.startswith("+ ")), "")
    row = text.splitlines().index(before) + 1 if before in text.splitlines() else 0
    for k, (a, b) in enumerate(zip(text.splitlines(), (other or "").splitlines(), strict=False)):
        if a != b:
            row = k + 1
            break
    if before.strip() == "*,":
        return None
    return Mutant(module, name, occurrence, row, before.strip(), after.strip()), other or ""


def imported(path: Path) -> set[str]:
    """Modules of the package that a file imports, and the names it takes from them."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("neutralpoint"):
            found |= {str(node.module)} | {f"{node.module}.{name.name}" for name in node.names}
        elif isinstance(node, ast.Import):
            found |= {name.name for name in node.names if name.name.startswith("neutralpoint")}
    return found


def suites(package: str, files: list[str]) -> dict[str, set[str]]:
    """Test files that import a package, or those of them that are named, with what each imports."""
    every = {
        str(path.relative_to(ROOT)): imported(path)
        for suite in SUITES
        for path in sorted((ROOT / suite).glob("test_*.py"))
    }
    wanted = f"neutralpoint.{package}"
    return {
        name: found
        for name, found in every.items()
        if any(one == wanted or one.startswith(f"{wanted}.") for one in found)
        and (not files or name in files)
    }


class Report:
    """Plugin of pytest: keeps the order of the files, times each, and tells what fails first."""

    def __init__(self, files: list[str]) -> None:
        self.place = {name: number for number, name in enumerate(files)}
        self.times: dict[str, float] = {}
        self.failed = ""

    def pytest_collection_modifyitems(self, items: list) -> None:
        """Called by pytest after tests/conftest.py, which puts the slowest files first."""
        items.sort(key=lambda item: self.place.get(item.nodeid.split("::")[0], 0))

    def pytest_runtest_logreport(self, report) -> None:
        """Called by pytest for each phase of a test."""
        name = report.nodeid.split("::")[0]
        self.times[name] = self.times.get(name, 0.0) + report.duration
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_collectreport(self, report) -> None:
        """Called by pytest for each file."""
        if report.failed and not self.failed:
            self.failed = f"{report.nodeid}{IMPORT}"


def run_tests(files: list[str], source: Path, limit: int) -> tuple[str, str, dict[str, float]]:
    """Run test files on a copy of the package in a child process of this one.

    Args:
        files: Below the root.
        source: Folder with the copy.
        limit: s of the processor, until the system ends the child.

    Returns:
        Outcome, the test that failed, and the time of each file, s.
    """
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        os.setsid()
        resource.setrlimit(resource.RLIMIT_CPU, (limit, limit + 5))
        _child(files, source, writing)
    os.close(writing)
    end = time.monotonic() + LONGEST
    os.set_blocking(reading, False)
    told = b""
    while time.monotonic() < end:
        with contextlib.suppress(BlockingIOError):
            piece = os.read(reading, 1 << 16)
            if not piece:
                break
            told += piece
        time.sleep(0.05)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(reading)
    if not told:
        return SLOW, "", {}
    code, failed, times = json.loads(told)
    return (SURVIVED if code == 0 else FOUND), failed, times


def _child(files: list[str], source: Path, writing: int) -> None:
    """Run pytest here and tell what came of it; never returns."""
    code, report = 3, Report(files)
    try:
        sys.path.insert(0, str(source))
        sys.dont_write_bytecode = True  # what was compiled of a change must not stand for the next
        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
        os.environ["PYTHONPATH"] = os.pathsep.join([str(source), str(ROOT)])
        os.chdir(ROOT)
        import pytest

        arguments = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:randomly", *files]
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            code = int(pytest.main(arguments, plugins=[report]))
    finally:
        os.write(writing, json.dumps([code, report.failed, report.times]).encode())
        os._exit(0)


def files_for(module: str, tests: dict[str, set[str]]) -> list[str]:
    """Test files that import a module, else all that import its package."""
    name = "neutralpoint." + module.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    return [n for n, found in tests.items() if name in found] or list(tests)


def examined(
    package: str, files: list[str], chosen: list[Mutant], texts: list[str]
) -> Iterator[Mutant]:
    """Run the tests on each change of a package, one after another.

    A test that fails counts only where it passes undisturbed, which is tried once for each.
    """
    tests = suites(package, files)
    times = {name: (ROOT / name).stat().st_size / 2000.0 for name in tests}  # s, until measured
    passing: set[str] = set()
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        source = Path(folder) / "src"
        shutil.copytree(ROOT / "src", source, ignore=shutil.ignore_patterns("__pycache__"))
        compileall.compile_dir(source, quiet=1)
        for mutant, text in zip(chosen, texts, strict=True):
            path = source / "neutralpoint" / mutant.module
            before = path.read_text()
            order = sorted(files_for(mutant.module, tests), key=times.__getitem__)
            path.write_text(text)
            Path(importlib.util.cache_from_source(str(path))).unlink(missing_ok=True)
            begun = time.monotonic()
            mutant.outcome, mutant.by, spent = run_tests(order, source, LIMIT)
            mutant.seconds = round(time.monotonic() - begun, 1)
            path.write_text(before)
            if mutant.outcome == SURVIVED:
                times |= spent
            test = mutant.by.removesuffix(IMPORT)
            if mutant.outcome == FOUND and test not in passing:
                if run_tests([test], source, LIMIT)[0] != SURVIVED:
                    raise SystemExit(f"{package}: {test} fails undisturbed")
                passing.add(test)
            yield mutant


def why_not(mutant: Mutant) -> str:
    """Why no test can find a change; empty where one could."""
    return next(
        (
            reason
            for (module, part), reason in EQUIVALENT.items()
            if mutant.module == module and part in mutant.after
        ),
        "",
    )


def _row(m: Mutant) -> str:
    row = f"| {m.module}:{m.line} | `{m.before[:90]}` | `{m.after[:90]}` | {why_not(m)} |"
    return row.replace("\\|", "or")


def interval(found: int, count: int) -> tuple[float, float]:
    """95 % interval of a share. Source: Wilson, JASA 22 (1927) 209-212."""
    z, share = 1.959964, found / count
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count)
    half *= math.sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    return middle - half, middle + half


def table() -> str:
    """The results of all packages that have been examined."""
    rows = [
        "# Would a test notice?",
        "",
        "Made by benchmarks/mutation.py: changes of one operator, number or condition, drawn at "
        "random from all that are possible, against the tests of tests/unit and tests/against that "
        "import the package. *First* is the score of the sample before tests were written for its "
        "survivors, with its 95 % interval (Wilson); *now* is that after. Equivalent changes, "
        "which no test can find, are not taken out. *Some* tests: only the files listed below.",
        "",
        "| package | possible | drawn | seed | tests | found first | score first | found now "
        "| score now |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    left, some = [], []
    for path in sorted(KEPT.glob("*.json")):
        kept = json.loads(path.read_text())
        mutants = [Mutant(**m) for m in kept["mutants"]]
        now, count = sum(m.outcome != SURVIVED for m in mutants), len(mutants)
        first = kept["first"]
        shown = [
            f"{n} | {n / count:.0%} ({interval(n, count)[0]:.0%} to {interval(n, count)[1]:.0%})"
            for n in (first, now)
        ]
        package, files = path.stem.rpartition("-")[0], kept.get("files", [])
        if files:
            named = ", ".join(name.removeprefix("tests/") for name in files)
            some.append(f"- {package}, seed {kept['seed']}: {named}")
        rows.append(
            f"| {package} | {kept['possible']} | {count} | {kept['seed']} "
            f"| {'some' if files else 'all'} | {' | '.join(shown)} |"
        )
        left += [_row(m) for m in mutants if m.outcome == SURVIVED]
    if some:
        rows += ["", "## Where only some of the tests ran", "", *some]
    if left:
        rows += [
            "",
            "## Not found",
            "",
            "| where | as it is | as it was changed | why it cannot be found |",
            "|---|---|---|---|",
        ]
    return "\n".join(rows + left) + "\n"


def main() -> int:
    """Examine packages, keep what came of each, and write the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("packages", nargs="*", default=list(PACKAGES))
    parser.add_argument("--each", type=int, default=45)
    parser.add_argument("--seed", type=int, default=21)
    parser.add_argument("--files", nargs="*", default=[], help="the only test files to run")
    parser.add_argument("--again", action="store_true", help="only those that survived last time")
    options = parser.parse_args()
    warnings.simplefilter("ignore")
    os.environ.setdefault("NEUTRALPOINT_CACHE", tempfile.mkdtemp(prefix="mutation-cache-"))
    import jax  # noqa: F401 - once here, so that every child has it loaded
    import scipy.optimize  # noqa: F401
    import xarray  # noqa: F401

    KEPT.mkdir(exist_ok=True)
    for package in options.packages:
        kept = KEPT / f"{package}-{options.seed}.json"
        if options.again:
            examine_again(package, kept)
        else:
            examine(package, kept, options.each, options.seed, options.files)
    TABLE.write_text(table())
    return 0


def examine(package: str, kept: Path, each: int, seed: int, files: list[str]) -> None:
    """Draw changes of a package, run its tests on them and keep the outcomes.

    A sample of the same seed that is there already is taken up where it ended, with its files.
    """
    every = possible(package)
    drawn: list[tuple[Mutant, str]] = []
    for change in random.Random(seed).sample(every, len(every)):
        if len(drawn) < each and (made := changed(*change)) is not None:
            drawn.append(made)
    result = {"possible": len(every), "seed": seed, "files": files, "first": 0, "mutants": []}
    if kept.exists():
        result = json.loads(kept.read_text())
    done = {(m["module"], m["operator"], m["occurrence"]) for m in result["mutants"]}
    left = [d for d in drawn if (d[0].module, d[0].operator, d[0].occurrence) not in done]
    texts = [text for _, text in left]
    for mutant in examined(package, result.get("files", []), [m for m, _ in left], texts):
        _tell(mutant)
        result["mutants"].append(asdict(mutant))
        result["first"] += mutant.outcome != SURVIVED
        kept.write_text(json.dumps(result, indent=1) + "\n")
        TABLE.write_text(table())


def examine_again(package: str, kept: Path) -> None:
    """Run the tests once more on the changes that were not found."""
    result = json.loads(kept.read_text())
    mutants = [Mutant(**m) for m in result["mutants"]]
    made = {}
    for mutant in mutants:
        if mutant.outcome == SURVIVED:
            made[mutant.module, mutant.operator, mutant.occurrence] = (
                mutant,
                mutate_code(
                    (SOURCE / mutant.module).read_text(),
                    plugins.get_operator(mutant.operator)(),
                    mutant.occurrence,
                )
                or "",
            )
    chosen, texts = [m for m, _ in made.values()], [t for _, t in made.values()]
    for mutant in examined(package, result.get("files", []), chosen, texts):
        _tell(mutant)
    kept.write_text(json.dumps(result | {"mutants": [asdict(m) for m in mutants]}, indent=1) + "\n")


def _tell(m: Mutant) -> None:
    told = f"{m.outcome:8} {m.seconds:5.1f} s {m.module}:{m.line} {m.before[:60]} -> {m.after[:60]}"
    print(f"{told} [{m.by[-60:]}]", flush=True)


if __name__ == "__main__":
    raise SystemExit(main())
