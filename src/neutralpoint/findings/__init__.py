"""The findings of a study: one versioned document from which every page and figure is made.

What comes in: what each stage of a study established, in SI units and radians. What goes out:
`findings.json`, checked against one published schema, beside the NetCDF files that it names. It
is assumed that all times are seconds after the document's `epoch`, and that every statement says
whether it is a fact, derived from facts, or inferred.
"""

from neutralpoint.findings.bands import banded, bands
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
    CauseOdds,
    CauseVerdict,
    Estimated,
    HandsRow,
    Need,
    Score,
    Settling,
)
from neutralpoint.findings.document import (
    SCHEMA_VERSION,
    Assumption,
    Banded,
    Correction,
    DataGap,
    EstimatedValue,
    Event,
    Findings,
    FlaggedRow,
    KeyTime,
    Limit,
    MovedReference,
    PanelRequest,
    ReadingStep,
    RefusedRows,
    ResolutionRow,
    ResultFile,
    SectionTable,
    Source,
    StageSection,
    Statement,
    Subject,
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
    "LIKELIHOOD",
    "SCHEMA_VERSION",
    "STOP_SHORT",
    "Assumption",
    "Banded",
    "CauseOdds",
    "CauseVerdict",
    "CheckedClaim",
    "Claim",
    "ClaimedNumber",
    "Correction",
    "DataGap",
    "Doubt",
    "Estimated",
    "EstimatedValue",
    "Event",
    "Findings",
    "FlaggedRow",
    "HandsRow",
    "KeyTime",
    "Limit",
    "MovedReference",
    "Need",
    "PanelRequest",
    "ReadingStep",
    "RefusedRows",
    "ResolutionRow",
    "ResultFile",
    "Sampled",
    "Score",
    "SectionTable",
    "Settling",
    "Source",
    "StageSection",
    "Statement",
    "Subject",
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
