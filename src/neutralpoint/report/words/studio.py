"""What is written on pictures and films around what they show."""

from __future__ import annotations

from neutralpoint.findings import Findings

INVENTED = "Invented case: nothing in it took place."
MODEL = "model"


def subject_line(findings: Findings) -> str:
    """What the picture is about, and that it is made up where it is."""
    subject = findings.subject
    day = findings.epoch.date().isoformat()
    return f"{subject.title}, {day}." + (f" {INVENTED}" if subject.invented else "")


NAMED = 3  # files that stand on a picture of a film; all are on the end card


def source_words(findings: Findings, *, named: int = NAMED) -> str:
    """Sources and cut-off in one short line.

    Args:
        findings: The document.
        named: Files that are named.
    """
    files = [
        path for path in dict.fromkeys(s.path for s in findings.sources) if path != "case.toml"
    ]
    more = " and more" if len(files) > named else ""
    told = f"Sources: {', '.join(files[:named])}{more}. " if files else ""
    return f"{told}Data cut-off {findings.cut_off}."


def source_line(findings: Findings) -> str:
    """Files that the numbers come from, with their cut-off and the program."""
    files = list(dict.fromkeys(source.path for source in findings.sources))
    sources = f"Sources: {', '.join(files)}. " if files else ""
    return f"{sources}Data cut-off {findings.cut_off}. {_program(findings)}"


def source_brief(findings: Findings) -> str:
    """The same in a line, for a picture: a few files stand for all."""
    return f"{source_words(findings)} {_program(findings)}"


def _program(findings: Findings) -> str:
    return f"Neutral Point {findings.program_version}, seed {findings.seed}."
