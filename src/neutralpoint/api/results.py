"""A results folder as xarray objects, with plots on matplotlib axes."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import xarray as xr

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import present
from neutralpoint.findings import Findings, read_findings
from neutralpoint.plugins import EXAMINATIONS, called, load_plugin
from neutralpoint.report.words.outside import without_odds
from neutralpoint.study.outside.origin import dataset_of
from neutralpoint.vocabulary.cautions import IN_BRIEF

if TYPE_CHECKING:
    from matplotlib.axes import Axes

RANGE = "lowest and highest: of the networks, no confidence interval."
CURVES = 4000  # times of a curve that are drawn


class StudyResults:
    """What a study saved. Files are read when they are asked for, and once.

    Args:
        folder: The results folder.

    Raises:
        NeutralPointError: `results-missing` without findings; `results-version`.
    """

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)
        self.findings: Findings = read_findings(self.folder)

    def __repr__(self) -> str:
        """The call that makes it again."""
        return f"Results({str(self.folder)!r})"

    @cached_property
    def track(self) -> xr.Dataset:
        """Every reading as it was used; SI and radians, times UTC."""
        return xr.load_dataset(present(self.folder, "track.nc"), engine="h5netcdf")

    @cached_property
    def motion(self) -> xr.Dataset:
        """Sample paths of what the airplane did, dimensions sample and time; SI and radians."""
        return xr.load_dataset(present(self.folder, "motion.nc"), engine="h5netcdf")

    @cached_property
    def moments(self) -> xr.Dataset:
        """Sample paths of what the motion took, dimensions sample and time; SI and radians."""
        return xr.load_dataset(present(self.folder, "moments.nc"), engine="h5netcdf")

    @cached_property
    def weighing(self) -> xr.DataTree:
        """Draws and flights of every cause in the groups that ArviZ reads (`posterior`, ...)."""
        return xr.load_datatree(present(self.folder, "weighing.nc"), engine="h5netcdf")

    @cached_property
    def response(self) -> xr.DataTree:
        """Time to act, a group a cause; SI."""
        return xr.load_datatree(present(self.folder, "response.nc"), engine="h5netcdf")

    @cached_property
    def history(self) -> xr.Dataset:
        """Measures and curves of the earlier flights, dimensions flight, drawn and moment; SI."""
        return xr.load_dataset(present(self.folder, "history.nc"), engine="h5netcdf")

    @cached_property
    def outside(self) -> xr.DataTree:
        """What causes and examinations of other packages came to, a group each."""
        return xr.load_datatree(present(self.folder, "outside.nc"), engine="h5netcdf")

    @property
    def odds(self) -> xr.Dataset:
        """Probability of each cause, with its prior and its range over the networks; no band.

        Dimension cause, the most probable first. `results-missing` is raised where no odds were
        computed.
        """
        weighed = self.findings.weighing
        if weighed is None:
            raise NeutralPointError(
                "results-missing",
                "No odds were computed for this case.",
                where=str(self.folder),
                hint="Study the case with an airplane file.",
            )
        rows = sorted(weighed.rows, key=lambda row: -row.probability)
        names = ("prior", "probability", "lowest", "highest")
        return xr.Dataset(
            {name: ("cause", np.array([getattr(row, name) for row in rows])) for name in names},
            {"cause": [str(row.cause) for row in rows]},
            {"comment": " ".join(filter(None, [RANGE, without_odds(self.findings)]))},
        )

    def examine(self, name: str) -> xr.Dataset:
        """What an examination of another, installed package makes of these results.

        Args:
            name: Of the plug-in, in the group `neutralpoint.examinations`.

        Returns:
            Its dataset, with the caution of every result in its attributes.

        Raises:
            NeutralPointError: `plugin-missing`; `plugin-fault` where it fails or returns no
                dataset whose variables have units; of the plug-in.
        """
        where = "Results.examine"
        work = load_plugin(EXAMINATIONS, name, where)
        found = dataset_of(called(lambda: work(self), name, where), name, where)
        return found.assign_attrs(caution=IN_BRIEF)

    def plot(self, quantity: str, ax: Axes | None = None) -> Axes:
        """Draw one quantity of the motion: median, 50% and 90% bands, readings, hatched gaps.

        Args:
            quantity: Name of a variable of `motion` that the report draws.
            ax: Where to; None for axes of their own.

        Returns:
            The axes; seconds after the first time across, the unit of the trade upward.

        Raises:
            NeutralPointError: `argument-invalid` for another quantity, with those there are.
        """
        from neutralpoint.report.figures.compose import compose_figure
        from neutralpoint.report.figures.draw_matplotlib import draw_panel
        from neutralpoint.report.results import load_results

        strips = compose_figure(load_results(self.folder), limit=CURVES).strips
        panel = next((one for one in strips.panels if one.key == quantity), None)
        if panel is None:
            raise NeutralPointError(
                "argument-invalid",
                f"There is no chart of {quantity[:60]!r}.",
                where="Results.plot",
                hint=f"One of: {', '.join(one.key for one in strips.panels)}.",
            )
        ax = _axes(ax)
        draw_panel(ax, panel, strips)
        ax.set_xlabel(f"s after the first time, {strips.day}")
        return ax

    def plot_odds(self, ax: Axes | None = None, most: int = 8) -> Axes:
        """Draw the odds: a bar a cause, its prior as a tick, its range over the networks as a line.

        Args:
            ax: Where to; None for axes of their own.
            most: Causes that are drawn, the most probable.

        Returns:
            The axes; probability across, the most probable cause on top.

        Raises:
            NeutralPointError: `results-missing` where no odds were computed.
        """
        from neutralpoint.report.figures import palette
        from neutralpoint.vocabulary import CauseName

        odds = self.odds.isel(cause=slice(most))
        ax = _axes(ax)
        row = np.arange(odds.sizes["cause"])
        ax.barh(row, odds["probability"].values, color=palette.INKS[0], alpha=0.6)
        ax.hlines(row, odds["lowest"].values, odds["highest"].values, color=palette.INKS[0])
        ax.plot(odds["prior"].values, row, "|", color=palette.HATCH, ms=12, label="prior")
        ax.set_yticks(row, [CauseName(str(name)).title for name in odds["cause"].values])
        ax.invert_yaxis()
        ax.set_xlim(0.0, 1.0)
        ax.set_xlabel("probability given the priors stated; line: range over the networks")
        ax.legend(loc="lower right", frameon=False)
        return ax


def _axes(ax: Axes | None) -> Axes:
    if ax is not None:
        return ax
    from matplotlib import pyplot

    return pyplot.subplots(layout="constrained")[1]
