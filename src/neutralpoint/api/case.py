"""A case folder as an object: checked, studied, and its saved results opened."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from neutralpoint.api.results import StudyResults

if TYPE_CHECKING:
    from neutralpoint.findings import Findings

RESULTS = "results"
Tell = Callable[[str, float], None]


def _quiet(text: str, share: float) -> None:
    """Tell nobody."""


class CaseFolder:
    """A case folder with its `case.toml`. Nothing here writes outside `results/` of it.

    Args:
        folder: The case folder.
    """

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)

    def __repr__(self) -> str:
        """The call that makes it again."""
        return f"Case({str(self.folder)!r})"

    def check(self) -> dict[str, Any]:
        """Read every file of the case and say what it holds; nothing is computed or written.

        Returns:
            What `neutralpoint check --json` prints: files, channels, assumptions, warnings.

        Raises:
            NeutralPointError: Of the case file and its sources.
        """
        from neutralpoint.case.text import first_look
        from neutralpoint.study.check import check_case

        first_look(self.folder)
        return check_case(self.folder, lambda step: None).model_dump(mode="json")

    def study(
        self, until: str | None = None, *, full: bool = False, tell: Tell = _quiet
    ) -> StudyResults:
        """Run every stage that the case has the data for; what is saved and holds is not run again.

        Args:
            until: Last stage to run, such as `motion` or `moments`; None for all.
            full: Time to act with all pilots; else a quick look.
            tell: Told what is being done and which share is done, 0 to 1.

        Returns:
            The results, saved in `results/` of the case.

        Raises:
            NeutralPointError: Of the case and its stages; `case-busy` where another process
                studies it; `argument-invalid` for a stage that is not known.
        """
        from neutralpoint.case.text import first_look
        from neutralpoint.study import run_study

        first_look(self.folder)
        run_study(self.folder, lambda step: tell(step.text, step.fraction), until=until, full=full)
        return self.results

    @property
    def results(self) -> StudyResults:
        """The saved results of the case; `results-missing` is raised where there are none."""
        return StudyResults(self.folder / RESULTS)

    @property
    def findings(self) -> Findings:
        """The findings document of the saved results."""
        return self.results.findings
