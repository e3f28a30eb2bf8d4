"""What is said of a case: the one way from findings to sections, wherever they are printed."""

from __future__ import annotations

from neutralpoint.findings import Findings, StageSection, Statement
from neutralpoint.report.words.evidence import evidence_section
from neutralpoint.report.words.felt import felt_section
from neutralpoint.report.words.heard import heard_section
from neutralpoint.report.words.history import history_section
from neutralpoint.report.words.limits import limits_section
from neutralpoint.report.words.moments import moments_section
from neutralpoint.report.words.motion import motion_statements, motion_undetermined
from neutralpoint.report.words.odds import odds_section
from neutralpoint.report.words.onset import onset_section
from neutralpoint.report.words.outside import outside_section
from neutralpoint.report.words.physics import physics_section
from neutralpoint.report.words.response import response_section
from neutralpoint.report.words.signatures import signatures_section
from neutralpoint.report.words.wreckage import wreckage_section


def sections_of(findings: Findings) -> list[StageSection]:
    """The sections after the flight path, in the order of the argument.

    Args:
        findings: The document.

    Returns:
        Sections; those of a document of version 2 as it has them.
    """
    said = []
    if findings.motion is not None and findings.motion.onset is not None:
        said.append(onset_section(findings.motion.onset, findings))
    if findings.moments is not None:
        said.append(moments_section(findings.moments, findings))
    if (boxes := physics_section(findings)) is not None:
        said.append(boxes)
    if findings.limits is not None:
        said.append(limits_section(findings.limits, findings))
    if findings.history is not None:
        said.append(history_section(findings.history))
    if (wreckage := wreckage_section(findings)) is not None:
        said.append(wreckage)
    if (heard := heard_section(findings)) is not None:
        said.append(heard)
    if (felt := felt_section(findings)) is not None:
        said.append(felt)
    if findings.weighing is not None:
        said.append(odds_section(findings.weighing, findings))
    if (signatures := signatures_section(findings)) is not None:
        said.append(signatures)
    if findings.evidence is not None:
        said.append(evidence_section(findings.evidence))
    if findings.response is not None:
        said.append(response_section(findings.response, findings))
    if findings.outside is not None:
        said.append(outside_section(findings.outside, findings))
    return [*said, *findings.worded.sections]


def statements_of(findings: Findings) -> list[Statement]:
    """What the flight path shows, beside its extremes."""
    own = [] if findings.motion is None else motion_statements(findings.motion)
    return [*own, *findings.worded.statements]


def undetermined_of(findings: Findings) -> list[Statement]:
    """What the data leave open."""
    own = [] if findings.motion is None else motion_undetermined(findings.motion)
    return [*own, *findings.worded.undetermined]
