"""The findings of a study: one versioned document from which every page and figure is made.

What comes in: what each stage of a study established, in SI units and radians. What goes out:
`findings.json`, checked against one published schema, beside the NetCDF files that it names. It
is assumed that all times are seconds after the document's `epoch`, and that every statement says
whether it is a fact, derived from facts, or inferred.
"""

from neutralpoint.findings.bands import CIRCULAR, banded, bands
from neutralpoint.findings.cautions import CAUTIONS, STOP_SHORT
from neutralpoint.findings.conclusions import Odds, Score, Settling, Verdict
from neutralpoint.findings.document import (
    SCHEMA_VERSION,
    Assumption,
    Banded,
    Correction,
    Estimate,
    Event,
    Findings,
    FlaggedRow,
    Gap,
    KeyTime,
    Limit,
    Panel,
    RefusedRows,
    Resolution,
    ResultFile,
    Section,
    Source,
    Statement,
    Step,
    Subject,
    Table,
    Warned,
)
from neutralpoint.findings.file import read_findings, schema_text, write_findings
from neutralpoint.findings.keytimes import key_times

__all__ = [
    "CAUTIONS",
    "CIRCULAR",
    "SCHEMA_VERSION",
    "STOP_SHORT",
    "Assumption",
    "Banded",
    "Correction",
    "Estimate",
    "Event",
    "Findings",
    "FlaggedRow",
    "Gap",
    "KeyTime",
    "Limit",
    "Odds",
    "Panel",
    "RefusedRows",
    "Resolution",
    "ResultFile",
    "Score",
    "Section",
    "Settling",
    "Source",
    "Statement",
    "Step",
    "Subject",
    "Table",
    "Verdict",
    "Warned",
    "banded",
    "bands",
    "key_times",
    "read_findings",
    "schema_text",
    "write_findings",
]
