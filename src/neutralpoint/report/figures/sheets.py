"""All figures of a case as files for print."""

from __future__ import annotations

from pathlib import Path

from matplotlib.figure import Figure as Sheet

from neutralpoint.report.figures.compose import compose_figure, compose_stage
from neutralpoint.report.figures.draw_matplotlib import path_sheet, save_sheets, strip_sheets
from neutralpoint.report.figures.felt_sheet import felt_sheets
from neutralpoint.report.figures.heard_sheet import heard_sheets
from neutralpoint.report.figures.history_sheet import history_sheet
from neutralpoint.report.figures.load_sheet import load_sheets
from neutralpoint.report.figures.signature_sheet import signature_sheets
from neutralpoint.report.figures.timeline import timeline_sheet
from neutralpoint.report.figures.wreckage_sheet import wreckage_sheets
from neutralpoint.report.results import Results
from neutralpoint.report.words.sections import sections_of

PRINT_TIMES = 500


def all_sheets(results: Results) -> dict[str, Sheet]:
    """Every figure of the printed report.

    Args:
        results: A results folder, read.

    Returns:
        Sheets by file name without suffix.
    """
    figure = compose_figure(results, limit=PRINT_TIMES)
    sheets = {
        f"motion-{number}": sheet
        for number, sheet in enumerate(strip_sheets(figure.strips), start=1)
    }
    sheets["path"] = path_sheet(figure.views, figure.strips)
    if results.findings.events:
        sheets["timeline"] = timeline_sheet(results.findings)
    sheets |= {
        f"signatures-{number}": sheet
        for number, sheet in enumerate(signature_sheets(results), start=1)
    }
    sheets |= {f"load-diagram-{n}": s for n, s in enumerate(load_sheets(results), start=1)}
    if (earlier := history_sheet(results)) is not None:
        sheets["history"] = earlier
    sheets |= {f"heard-{n}": s for n, s in enumerate(heard_sheets(results), start=1)}
    sheets |= {f"perceived-{n}": s for n, s in enumerate(felt_sheets(results), start=1)}
    sheets |= {f"wreckage-{n}": s for n, s in enumerate(wreckage_sheets(results), start=1)}
    for section in sections_of(results.findings):
        if section.panels:
            strips = compose_stage(results, section.panels, limit=PRINT_TIMES)
            sheets |= {
                f"{section.stage}-{number}": sheet
                for number, sheet in enumerate(strip_sheets(strips), start=1)
            }
    return sheets


def write_figures(results: Results, folder: Path) -> list[Path]:
    """Write every figure as SVG and PNG.

    Args:
        results: A results folder, read.
        folder: Where to; it is made.

    Returns:
        The files written.
    """
    return save_sheets(all_sheets(results), folder)
