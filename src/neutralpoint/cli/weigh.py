"""`weigh`, `next-evidence` and `calibrate`: odds, what would settle them, how far to trust them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table

from neutralpoint.cli.output import console, progress, show_json
from neutralpoint.cli.studying import write_page
from neutralpoint.errors import NeutralPointError
from neutralpoint.vocabulary import CauseName

if TYPE_CHECKING:
    from neutralpoint.findings import WeighingFindings

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
CAUTION = "Not for flight. Probabilities of listed causes under this model; no blame is found."


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
    from neutralpoint.findings import read_findings

    weights = _weights(prior or [])
    from neutralpoint.study import run_stage
    from neutralpoint.study.weighing.file import read_weighing

    with progress() as tell:
        settings = {"prior": weights, "dask": dask}
        results = run_stage(case, "weighing", tell, settings)
        write_page(results, tell)
    if as_json:
        show_json(read_weighing(results))
        return
    found = read_findings(results).weighing
    if found is not None:
        _show_odds(found)


def printed(probability: float) -> str:
    """A probability that never reads as none."""
    return "< 0.001" if probability < 0.0005 else f"{probability:.3f}"


def _show_odds(found: WeighingFindings) -> None:
    from neutralpoint.report.words.odds_tables import sided
    from neutralpoint.report.words.prior import prior_sentence, reading_title
    from neutralpoint.report.words.score import place_sentence, score_sentence

    out = console()
    table = Table(box=None, pad_edge=False)
    table.add_column("probability", justify="right")
    table.add_column(f"over {found.networks} networks")
    table.add_column("prior", justify="right")
    table.add_column("ln B", justify="right")
    table.add_column("cause", no_wrap=True)
    table.add_column("evidence against the first, in words")
    for row in found.rows:
        table.add_row(
            printed(row.probability),
            f"{row.lowest:.3f} to {row.highest:.3f}",
            f"{row.prior:.3f}",
            f"{row.log_bayes_factor:+.1f}",
            row.cause,
            "" if row.cause is found.leader else sided(row),
        )
    out.print(table)
    for group in found.mechanisms:
        out.print(
            f"{printed(group.probability)} {group.mechanism.title}: {', '.join(group.causes)}"
        )
    out.print(prior_sentence(found.prior))
    for reading in found.readings[1:]:
        chance = dict(reading.probability)
        null = chance.pop(CauseName.NO_FAILURE, 0.0)
        fault = max(chance, key=chance.__getitem__)
        out.print(
            f"With {reading_title(reading)}: {CauseName.NO_FAILURE} {null:.3f}, {fault} "
            f"{chance[fault]:.3f}."
        )
    for item in found.evidence:
        nats, cause = max(zip(item.nats, found.weighed, strict=True))
        out.print(f"{item.name}: {nats:+.2f} nats for {cause}. {item.caution}")
    out.print(f"The nearest rival is {found.rival}.")
    out.print(place_sentence(found))
    out.print(score_sentence(found.score))
    out.print(CAUTION)


def next_evidence(case: CasePath, as_json: AsJson = False) -> None:
    """Rank evidence not yet collected by what it is expected to tell.

    Bits are the expected fall of entropy over the causes; their range is over the seeds of the
    odds. Items that the case has given are left out.
    """
    from neutralpoint.report.words.evidence import best_by_cost, leaders
    from neutralpoint.report.words.score import score_sentence
    from neutralpoint.study.weighing.file import read_weighing
    from neutralpoint.study.weighing.findings import blind_score
    from neutralpoint.study.weighing.next_evidence import next_items

    results = case / "results"
    items = next_items(results)
    if as_json:
        show_json([item.model_dump(mode="json") for item in items])
        return
    out = console()
    for item in items:
        out.print(
            f"{item.bits:5.2f} bits ({item.lowest:.2f} to {item.highest:.2f}), cost {item.cost}: "
            f"{item.item} ({item.source})"
        )
        for then in item.outcomes:
            out.print(f"        {then.outcome} ({then.chance:.2f}): {', '.join(leaders(then))}")
        if item.caution:
            out.print(f"        {item.caution}")
    for cost, item in best_by_cost(items):
        out.print(f"Most informative of {cost} cost: {item.item}, {item.bits:.2f} bits.")
    out.print(score_sentence(blind_score(results, read_weighing(results)["stratum"])))
    out.print(CAUTION)


def calibrate(
    case: Annotated[
        Path | None,
        typer.Argument(metavar="[CASE]", help="Case folder; else an airplane of the catalogue."),
    ] = None,
    cases: Annotated[
        int, typer.Option("--cases", min=1, max=20000, help="About how many blind cases.")
    ] = 208,
    seed: Annotated[int | None, typer.Option("--seed", min=0, help="Of the blind cases.")] = None,
    out: Annotated[
        Path | None, typer.Option("--out", help="File for the score, instead of the case's.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Judge the odds on blind cases from another model; writes CASE/results/calibration.json.

    The score of a case is printed beside its conclusions from then on. A run that was stopped is
    taken up where it ended.
    """
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
        show_json(found | {"file": None if path is None else str(path), "caution": CAUTION})
        return
    _show_score(found)
    if path is not None:
        console().print(str(path), soft_wrap=True)


def _show_score(found: dict) -> None:
    out = console()
    gained = found["mean_log_score"] - found["prior_log_score"]
    out.print(
        f"{found['cases']} blind cases of another flight model, at {found['where']}.\n"
        f"Mean log score {found['mean_log_score']:.2f} +- {2 * found['log_score_error']:.2f} nats, "
        f"{gained:.2f} better than without knowledge.\n"
        f"90% sets of causes held the true one in {100 * found['cover_of_90_percent_sets']:.0f}%."
        f"\nThe true cause led in {100 * found['true_cause_leads']:.0f}%, and was given less than "
        f"1% in {100 * found['true_cause_below_1_percent']:.1f}%."
    )
    table = Table(box=None, pad_edge=False, title="How often what was given a probability was true")
    for name in ("given", "true", "statements"):
        table.add_column(name, justify="right")
    diagram = found["reliability"]
    for stated, happened, count in zip(
        diagram["stated"], diagram["happened"], diagram["count"], strict=True
    ):
        if count:
            table.add_row(f"{stated:.3f}", f"{happened:.3f}", str(count))
    out.print(table)
    out.print(CAUTION)
