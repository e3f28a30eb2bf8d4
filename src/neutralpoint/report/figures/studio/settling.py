"""Picture of evidence not in hand: how much of the uncertainty it would remove on average."""

from __future__ import annotations

from matplotlib.ticker import FuncFormatter, MaxNLocator

from neutralpoint.report.figures.studio.bars import bar, rows_of
from neutralpoint.report.figures.studio.frame import ChartPlace, Picture
from neutralpoint.report.words.uncertainty import (
    COSTS,
    HOW,
    outcomes_said,
    removes,
    uncertainty_share,
)


def draw_evidence(body: Picture) -> None:
    """Evidence not in hand, what removes most of it first."""
    found, weighing = body.findings.evidence, body.findings.weighing
    if found is None or weighing is None:
        return
    items = sorted(found.items[: body.form.rows], key=lambda item: -item.bits)
    shares = [uncertainty_share(item.bits, weighing) for item in items]
    labels = [(f"{_sentence(item.item)}: {removes(share)}", COSTS[item.cost])
              for item, share in zip(items, shares, strict=True)]  # fmt: skip
    axes = rows_of(body, labels)
    for place, share in enumerate(shares):
        bar(
            axes, body, place, 100.0 * share, body.look.inks[0] if place == 0 else body.look.band_50
        )
    axes.set_xlim(0.0, 100.0)
    axes.xaxis.set_major_locator(MaxNLocator(5))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:g}%"))
    axes.set_xlabel("uncertainty of the cause removed on average")
    body.said += HOW[: None if body.form.key in ("wide", "tall") else 2]
    if body.form.key in ("wide", "tall") and items:
        body.said.append(outcomes_said(items[0], weighing))
    body.places["evidence"] = ChartPlace(axes)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
