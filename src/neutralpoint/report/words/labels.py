"""The names of stages and actions, the same in report, workbench, jobs and documents."""

from __future__ import annotations

from neutralpoint.findings import Findings

# By stage, in the order of the argument.
STAGES = {
    "answer": "Answer",
    "evidence": "Evidence",
    "motion": "Flight path",
    "moments": "Required moment",
    "physics": "Physics to check by hand",
    "beside": "Beside the track",
    "limits": "Limits passed",
    "history": "Earlier flights",
    "wreckage": "Where it came down",
    "heard": "What was heard",
    "felt": "Seen and felt",
    "causes": "Candidate causes",
    "weighing": "Odds",
    "signatures": "Signatures",
    "response": "Time to act",
    "outside": "From other packages",
    "settling": "Next evidence",
    "findings": "Findings",
}
# Entries of the workbench: key, title and the stage whose results they show.
ENTRIES = (
    ("answer", STAGES["answer"], ""),
    ("evidence", STAGES["evidence"], ""),
    ("motion", STAGES["motion"], "motion"),
    ("moments", STAGES["moments"], "moments"),
    ("beside", STAGES["beside"], "limits"),
    ("causes", STAGES["causes"], ""),
    ("odds", STAGES["weighing"], "weighing"),
    ("time", STAGES["response"], "response"),
    ("settle", STAGES["settling"], ""),
    ("compare", "Compare studies", ""),
    ("claims", STAGES["findings"], ""),
    ("pictures", "Figures and film", ""),
    ("work", "Job log", ""),
)


def outdated_words(findings: Findings) -> str:
    """Which stages were worked out before the case was changed.

    Args:
        findings: The document.

    Returns:
        A sentence; empty where none was.
    """
    if not findings.outdated:
        return ""
    return (
        "The case or the program changed after these were computed: "
        f"{outdated_names(findings)}. "
        "Run the study again before anything here is quoted."
    )


def outdated_names(findings: Findings) -> str:
    """The same stages, listed."""
    return ", ".join(STAGES[name] for name in findings.outdated)
