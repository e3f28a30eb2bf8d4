"""The findings of a study: one versioned document from which every page and figure is made.

What comes in: what each stage of a study established, in SI units and radians. What goes out:
`findings.json`, checked against one published schema, beside the NetCDF files that it names. It
is assumed that all times are seconds after the document's `epoch`, and that every statement says
whether it is a fact, derived from facts, or inferred.
"""

from neutralpoint.findings.bands import CIRCULAR, banded, bands
from neutralpoint.findings.cautions import CAUTIONS, STOP_SHORT
from neutralpoint.findings.claims import (
    CheckedClaim,
    Claim,
    ClaimedNumber,
    Doubt,
    Sampled,
    check_claim,
    odds_of,
    verdicts_of,
)
from neutralpoint.findings.conclusions import (
    Estimated,
    HandsRow,
    Need,
    Odds,
    Score,
    Settling,
    Verdict,
)
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
from neutralpoint.findings.likelihood import (
    LIKELIHOOD,
    confidence_word,
    likelihood_word,
    printed_probability,
    said_likelihood,
    word_allows,
)

__all__ = [
    "CAUTIONS",
    "CIRCULAR",
    "LIKELIHOOD",
    "SCHEMA_VERSION",
    "STOP_SHORT",
    "Assumption",
    "Banded",
    "CheckedClaim",
    "Claim",
    "ClaimedNumber",
    "Correction",
    "Doubt",
    "Estimate",
    "Estimated",
    "Event",
    "Findings",
    "FlaggedRow",
    "Gap",
    "HandsRow",
    "KeyTime",
    "Limit",
    "Need",
    "Odds",
    "Panel",
    "RefusedRows",
    "Resolution",
    "ResultFile",
    "Sampled",
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
    "check_claim",
    "confidence_word",
    "key_times",
    "likelihood_word",
    "odds_of",
    "printed_probability",
    "read_findings",
    "said_likelihood",
    "schema_text",
    "verdicts_of",
    "word_allows",
    "write_findings",
]
