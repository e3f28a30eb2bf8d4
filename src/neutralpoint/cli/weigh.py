"""`weigh` and `next-evidence`: the odds of a case, and what would settle it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from neutralpoint.cli.output import console, progress, show_json
from neutralpoint.cli.studying import write_page

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
CAUTION = "Not for flight. Probabilities of listed causes under this model; no blame is found."


def weigh(
    case: CasePath,
    quick: Annotated[bool, typer.Option("--quick", help="Fewer flights, no parameters.")] = False,
    as_json: AsJson = False,
) -> None:
    """Weigh the causes of a case; writes CASE/results/weighing.json."""
    from neutralpoint.study import run_stage
    from neutralpoint.study.weighing import read_weighing

    with progress() as tell:
        results = run_stage(case, "weighing", tell, {"full": not quick})
        write_page(results, tell)
    found = read_weighing(results)
    if as_json:
        show_json(found)
        return
    out = console()
    for row in sorted(found["causes"], key=lambda row: -row["probability"]):
        out.print(
            f"{row['probability']:6.3f}  ({row['low']:.3f} to {row['high']:.3f})  {row['name']}"
        )
    out.print(found["score"])
    out.print(CAUTION)


def next_evidence(case: CasePath, as_json: AsJson = False) -> None:
    """Rank evidence not yet collected by what it is expected to tell."""
    from neutralpoint.study.weighing import next_items, score_sentence

    rows = next_items(case / "results")
    if as_json:
        show_json(rows)
        return
    out = console()
    for row in rows:
        out.print(f"{row['bits']:5.2f} bits, cost {row['cost']}: {row['item']} ({row['source']})")
        for then in row["outcomes"]:
            leaders = ", ".join(f"{name} {value:.2f}" for name, value in then["leaders"])
            out.print(f"        {then['outcome']} ({then['chance']:.2f}): {leaders}")
        if row["caution"]:
            out.print(f"        {row['caution']}")
    out.print(score_sentence())
    out.print(CAUTION)
