"""A change of one formula, what came of it, and the page of all that were drawn."""

from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass
from pathlib import Path

from scipy.stats import binomtest

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "neutralpoint"
KEPT = Path(__file__).parent / "results" / "mutation"
PAGE = Path(__file__).parent / "results" / "mutation.md"
SURVIVED, FOUND, SLOW = "survived", "found", "slow"
# Changes that no test can find, counted apart. By rule: a pattern, what it becomes, and the reason.
RULES = (
    (
        r"strict=True",
        r"strict=False",
        "only lengths that differ could show it, and the program as it is would have stopped there",
    ),
    (
        r"(reshape\([^()]*)-1",
        r"\1- 2",
        "NumPy takes any negative length for the open one",
    ),
)
# One by one: module and a part of the changed line, with the reason.
EQUIVALENT = {
    ("weighing/parameters.py", "full_matrices=True"): "only as many rows as there are sizes are "
    "used",
    ("weighing/network.py", "inputs / data.mirror"): "a sign divides as it multiplies",
    ("weighing/check.py", "share[ -1, "): "of one row, the first is the last",
    ("weighing/effects.py", "else 1.0"): "of an airplane without engines no equation reads the "
    "lever",
    ("weighing/window.py", "(0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0)"): "taken off again after it is "
    "smoothed, by weights that add up to 1 (`moved`)",
    ("motion/age.py", "sum(axis=1)"): "of two axes the second is the last",
    ("motion/attitude.py", "trusted[:, 0] = False"): "the first node is the last trusted one "
    "where none was before; the line is gone",
    ("motion/regimes.py", "weight.size + 1"): "the first sum that a share of the whole sum does "
    "not pass is one of them",
    ("motion/bounds.py", "LONGEST / 3599.0"): "both are printed as 24 h",
    ("dynamics/equilibrium.py", '["alpha"])[ -1]'): "of one value the first is the last",
    ("dynamics/flight.py", "(0.5, 0.5, 1.0, 1.0)"): "where the last stage would lead is not read",
    ("dynamics/flight.py", "(0.5, 0.5, 1.0, -1.0)"): "where the last stage would lead is not read",
    ("dynamics/flight.py", 'default_backend() == "cpu"'): "how the four stages are laid out, not "
    "what they come to",
    ("dynamics/once.py", "1.0 - 0.0 *"): "taking off nothing is adding nothing",
    ("dynamics/quickly.py", "lambda x: x"): "only whether it compiles is asked",
    ("dynamics/trim_motor.py", "jnp.isinf(beyond), 2.0"): "a share above 1 is cut to 1",
    ("dynamics/trim_motor.py", "jnp.clip(left, 0.0, 2.0)"): "beyond the load moment less than 1 is "
    "left",
}


@dataclass
class Mutant:
    """One change: the lines from `line` on, as they are and as they become.

    `first` is what came of it before tests were written for survivors, `outcome` what comes now.
    """

    module: str
    line: int
    old: str
    new: str
    operator: str = ""
    first: str = ""
    outcome: str = ""
    by: str = ""
    seconds: float = 0.0

    def place(self, text: str) -> int | None:
        """Lines of the module before the change; None where its lines are no longer there.

        Lines move as the module grows: the nearest that read so are meant.
        """
        lines, old = text.split("\n"), self.old.split("\n")
        places = [k for k in range(len(lines)) if lines[k : k + len(old)] == old]
        return min(places, key=lambda k: abs(k + 1 - self.line), default=None)

    def applied(self, text: str) -> str | None:
        """The module with the change; None where its lines are no longer there."""
        at = self.place(text)
        if at is None:
            return None
        lines, old = text.split("\n"), self.old.split("\n")
        return "\n".join([*lines[:at], *self.new.split("\n"), *lines[at + len(old) :]])


@dataclass
class Sample:
    """Changes drawn of one package."""

    package: str
    seed: int
    possible: int
    mutants: list[Mutant]
    found_first: int | None = None  # where only the count is known of what was found at first

    @property
    def path(self) -> Path:
        """Where it is kept."""
        return KEPT / f"{self.package}-{self.seed}.json"

    def keep(self) -> None:
        """Write it."""
        self.path.write_text(json.dumps(asdict(self), indent=1) + "\n")


def read_sample(path: Path) -> Sample:
    """A kept sample."""
    kept = json.loads(path.read_text())
    return Sample(**kept | {"mutants": [Mutant(**m) for m in kept["mutants"]]})


def why_not(mutant: Mutant) -> str:
    """Why no test can find a change; empty where one could."""
    for pattern, other, reason in RULES:
        if mutant.new != mutant.old and mutant.new == re.sub(pattern, other, mutant.old):
            return reason
    return next(
        (
            reason
            for (module, part), reason in EQUIVALENT.items()
            if mutant.module == module and part in mutant.new
        ),
        "",
    )


def _share(found: int, count: int) -> str:
    low, high = binomtest(found, count).proportion_ci(0.95, method="wilson")
    return f"{found} | {found / count:.0%} ({low:.0%} to {high:.0%})"


def _line(text: str) -> str:
    """The first line that says something, fit for a cell of a table."""
    return next((t.strip() for t in text.split("\n") if t.strip()), "")[:90].replace("|", "or")


def _left(m: Mutant) -> str:
    """Row of a change that was not found; of several lines the one that differs."""
    old, new = m.old.split("\n"), m.new.split("\n")
    at = next((k for k, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), 0)
    cells = f"`{_line(old[at])}` | `{_line(chr(10).join(new[at:]))}`"
    return f"| {m.module}:{m.line + at} | {cells} | {why_not(m)} |"


def page() -> str:
    """The results of all samples whose tests have run."""
    rows = [
        "# Would a test notice?",
        "",
        "Made by benchmarks/mutation.py: changes of one operator, number or condition, drawn at "
        "random from all that are possible in a package, against the quick tests that import the "
        "package, within some 45 s of the processor a change. *First* is the score of the sample "
        "before tests were written for its survivors, with its 95% interval (Wilson); *now* is "
        "that after, and is no longer a fair sample. *Can be* leaves out changes that no test can "
        "find, by a rule or with the reason beside them; in the other columns they count as not "
        "found. What flies for minutes is not asked: the score is a lower bound. *Kept* are those "
        "that only the numbers of today found (benchmarks/known_answers.py): these tests say that "
        "something moved, not what is right; quick checks by hand and against outside truth are "
        "asked before them.",
        "",
        "The fair samples are those of seed 3014 of dynamics, 3013 of motion, 3012 of weighing "
        "(and of motion and dynamics, before tests for their survivors), and 3011 of the others: "
        "drawn and tried on "
        "2026-11-29 with every test written before its verdicts were seen, until time ran out, "
        "each package up to the first change that was not finished. Those of 3012 to 3014 ran "
        "with one worker for at most 15 minutes a package, the tests "
        "chosen by the lines that they run; before, files were chosen by what they import, and in "
        "motion and weighing the quick ones had used up the time of a change before the kept "
        "numbers were asked. Samples of 2031 were tried on a machine where tests that need the "
        "compiler died at first, which counts as not found. Before 3014 of dynamics was drawn, the "
        "whole package was read for what quick tests leave open, and 58 changes of its earlier "
        "samples were asked of the new tests (all found); nine of its 60 are among those samples.",
        "",
        "| package | possible | tried | seed | found first | score first | can be | score first "
        "| found now | score now | kept |",
        "|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    left = []
    for sample in map(read_sample, sorted(KEPT.glob("*.json"))):
        tried = [m for m in sample.mutants if m.outcome]
        if not tried:
            continue
        counts = [sum(getattr(m, w) != SURVIVED for m in tried) for w in ("first", "outcome")]
        if sample.found_first is not None:
            counts[0] = sample.found_first
        can = sum(not why_not(m) for m in tried)
        first, now = (_share(count, len(tried)) for count in counts)
        fair = _share(counts[0], can).split(" | ")[1]
        rows.append(
            f"| {sample.package} | {sample.possible} | {len(tried)} | {sample.seed} "
            f"| {first} | {can} | {fair} | {now} | {sum('test_known_' in m.by for m in tried)} |"
        )
        left += [_left(m) for m in tried if m.outcome == SURVIVED]
    if left:
        rows += [
            "",
            "## Not found",
            "",
            "| where | as it is | as it was changed | why it cannot be found |",
            "|---|---|---|---|",
        ]
    return "\n".join(rows + left) + "\n"
