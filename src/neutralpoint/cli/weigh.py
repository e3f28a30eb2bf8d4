"""`weigh`, `next-evidence` and `calibrate`: odds, what would settle them, how far to trust them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table

from neutralpoint.cli.output import console, progress, show_caution, show_result
from neutralpoint.cli.studying import write_page
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import present

if TYPE_CHECKING:
    from neutralpoint.findings import Calibration, WeighingFindings

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def _weights(settings: list[str]) -> dict[str, float]:
    """Prior weights from `cause=weight`."""
    from neutralpoint.explanations import CAUSES

    found: dict[str, float] = {}
    for entry in settings:
        name, _, value = entry.partition("=")
        try:
            weight = float(value)
        except ValueError:
            weight = 0.0
        if name not in CAUSES or not 0.0 < weight < float("inf"):
            raise NeutralPointError(
                "argument-invalid",
                f"{entry!r} is no cause with a weight above 0.",
                where="--prior",
                hint=f"Write it as spiral=2, with one of: {', '.join(CAUSES)}.",
            )
        found[name] = weight
    return found


def weigh(
    case: CasePath,
    prior: Annotated[
        list[str] | None,
        typer.Option(
            "--prior", metavar="CAUSE=WEIGHT", help="Prior weight, else 1; may be repeated."
        ),
    ] = None,
    dask: Annotated[
        str, typer.Option("--dask", metavar="ADDRESS", help="Fly on the Dask cluster there.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Weigh the causes of a case; writes CASE/results/weighing.json and weighing.nc.

    Another prior flies nothing again: flights and what the track says of them are kept.
    """
    from neutralpoint.case.text import first_look

    first_look(case)
    from neutralpoint.findings import read_findings

    weights = _weights(prior or [])
    from neutralpoint.study import run_stage
    from neutralpoint.study.settings import WeighingSettings
    from neutralpoint.study.weighing.saved import read_weighing

    with progress() as tell:
        chosen = WeighingSettings(prior=weights, dask=dask)
        results = run_stage(case, "weighing", tell, chosen)
        write_page(results, tell)
    if as_json:
        show_result(read_weighing(results).model_dump(mode="json"))
        return
    found = read_findings(results).weighing
    if found is not None:
        _show_odds(found)


def _show_odds(found: WeighingFindings) -> None:
    from neutralpoint.report.words import weighed as words
    from neutralpoint.report.words.calibration import CAUTION

    out = console()
    table = Table(box=None, pad_edge=False)
    for head in words.odds_heads(found):
        number = head in ("odds", "prior", "ln B")
        table.add_column(head, justify="right" if number else "left", no_wrap=head == "cause")
    for row in found.rows:
        table.add_row(*words.odds_cells(row, found.leader))
    out.print(table)
    for line in [*words.odds_lines(found), CAUTION]:
        out.print(line)
    show_caution(out)


def next_evidence(case: CasePath, as_json: AsJson = False) -> None:
    """Rank evidence not yet collected by its expected information.

    Bits are the expected fall of entropy over the causes; their range is over the seeds of the
    odds. Items that the case has given are left out.
    """
    results = case / "results"
    present(results, "weighing.json", "weigh")
    from neutralpoint.report.words.calibration import CAUTION
    from neutralpoint.report.words.score import score_sentence
    from neutralpoint.report.words.weighed import next_lines
    from neutralpoint.study.weighing.findings import blind_score
    from neutralpoint.study.weighing.next_evidence import next_items
    from neutralpoint.study.weighing.saved import read_weighing

    items = next_items(results)
    if as_json:
        show_result({"items": [item.model_dump(mode="json") for item in items]})
        return
    out = console()
    for line in next_lines(items):
        out.print(line)
    out.print(score_sentence(blind_score(results, read_weighing(results).stratum)))
    out.print(CAUTION)
    show_caution(out)


def calibrate(
    case: Annotated[
        Path | None,
        typer.Argument(metavar="[CASE]", help="Case folder; else an airplane of the catalogue."),
    ] = None,
    cases: Annotated[
        int,
        typer.Option("--cases", min=1, max=20000, help="About how many test flights."),
    ] = 208,
    seed: Annotated[int | None, typer.Option("--seed", min=0, help="Of the test flights.")] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="File for the score, instead of the case's.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Judge the odds on test flights of known cause; writes CASE/results/calibration.json.

    Another flight model makes them. The score of a case is printed beside its conclusions from then
    on. A run that was stopped is taken up where it ended.
    """
    if case is not None:
        from neutralpoint.case.text import first_look

        first_look(case)
    from neutralpoint.report.words.calibration import CAUTION
    from neutralpoint.study import run_stage
    from neutralpoint.study.weighing.calibrate import run_calibrate

    with progress() as tell:
        found, path = run_calibrate(case, tell, cases=cases, seed=seed, out=out)
        if (
            case is not None
            and out is None
            and (case / "results" / "stage-weighing.json").is_file()
        ):
            results = run_stage(case, "weighing", tell, fresh=True)
            write_page(results, tell)
    if as_json:
        kept = {"file": None if path is None else str(path), "caution": CAUTION}
        show_result(found.model_dump(mode="json") | kept)
        return
    _show_score(found)
    if path is not None:
        console().print(str(path), soft_wrap=True)


def _show_score(found: Calibration) -> None:
    from neutralpoint.report.words import calibration as words

    out = console()
    for line in words.calibration_lines(found):
        out.print(line)
    table = Table(box=None, pad_edge=False, title=words.RELIABILITY)
    for name in words.HEADS:
        table.add_column(name, justify="right")
    diagram = found.reliability
    for stated, happened, count in zip(
        diagram.stated, diagram.happened, diagram.count, strict=True
    ):
        if count:
            table.add_row(f"{stated:.3f}", f"{happened:.3f}", str(count))
    out.print(table)
    out.print(words.CAUTION)
    show_caution(out)
