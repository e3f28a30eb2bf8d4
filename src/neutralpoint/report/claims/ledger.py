"""The claims of a case, read, held against its results and its wording, and written as drafts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import tomlkit
import xarray as xr
from tomlkit.items import Table

from neutralpoint.errors import NeutralPointError
from neutralpoint.files import present, write_new
from neutralpoint.findings import (
    Claim,
    ClaimedNumber,
    Correction,
    Doubt,
    Findings,
    read_findings,
)
from neutralpoint.numerics.extremes import highest, lowest
from neutralpoint.report.claims.check import Sampled, check_claim
from neutralpoint.report.claims.contradictions import contradictions
from neutralpoint.report.claims.drafts import draft_claims
from neutralpoint.report.claims.file import NAME, read_claims
from neutralpoint.report.figures.display import SHOWN
from neutralpoint.report.results import MOTION, opened
from neutralpoint.report.wording.review import review_text
from neutralpoint.report.words.claims import WordedClaim, worded_claim
from neutralpoint.report.words.tables import time_of_day

HALF_STEP = 0.5  # s: a claim speaks of the time of the grid nearest to it, within this


@dataclass(frozen=True)
class Ledger:
    """What an analyst says of a case.

    Attributes:
        claims: Each with its doubts.
        corrections: What was published and changed later.
        drafts: What the findings would bear, proposed.
    """

    claims: list[WordedClaim]
    corrections: list[Correction]
    drafts: list[WordedClaim]


def load_ledger(case: Path, results: Path) -> Ledger:
    """Read `claims.toml` and hold every claim against the results.

    Args:
        case: The case folder.
        results: The results folder.

    Returns:
        The ledger; without a file only drafts.

    Raises:
        NeutralPointError: `claims-invalid`, `results-missing` or `results-version`.
    """
    findings = read_findings(results)
    claims, corrections = read_claims(case, findings)
    contrary = contradictions(claims)
    # Only what a claim speaks of is read: all of six hours are 800 MB.
    with opened(present(results, MOTION)) as motion:
        return Ledger(
            claims=[
                _checked(claim, findings, motion, against)
                for claim, against in zip(claims, contrary, strict=True)
            ],
            corrections=[*findings.corrections, *corrections],
            drafts=[_checked(claim, findings, motion) for claim in draft_claims(findings)],
        )


def write_drafts(case: Path, results: Path) -> Path:
    """Write the drafts as a `claims.toml` to work on; an existing one is never touched.

    Args:
        case: The case folder.
        results: The results folder.

    Returns:
        Path of the file.

    Raises:
        NeutralPointError: `case-exists` where there is one.
    """
    path = case / NAME
    findings = read_findings(results)
    text = drafts_text(draft_claims(findings), findings)
    try:
        write_new(path, text.encode())
    except FileExistsError as there:
        raise NeutralPointError(
            "case-exists",
            f"The case already has a {NAME}; it was not touched.",
            where=str(path),
            hint="Move it away first, or copy from the JSON of `neutralpoint claims CASE --json`.",
        ) from there
    return path


def drafts_text(drafts: list[Claim], findings: Findings) -> str:
    """Drafts as TOML in the analyst's units."""
    document = tomlkit.document()
    document.add(tomlkit.comment("Statements to publish about this case: strike out, reword, add."))
    document.add(tomlkit.comment("`neutralpoint claims CASE` checks it against the findings."))
    document.add("schema", tomlkit.item(1))
    entries = tomlkit.aot()
    for draft in drafts:
        entries.append(_entry(draft, findings))
    document.add("claims", entries)
    return tomlkit.dumps(document)


def _entry(draft: Claim, findings: Findings) -> Table:
    table = tomlkit.table()
    for key in ("name", "says", "kind", "data", "method"):
        table.add(key, getattr(draft, key))
    if draft.number is not None:
        shown = SHOWN[draft.number.quantity]
        unit = {"\u00b0": "deg", "g": ""}.get(shown.unit, shown.unit)
        table.add("quantity", draft.number.quantity)
        at = time_of_day(findings, draft.number.time)
        table.add("at", tomlkit.parse(f"at = {at}")["at"])
        for key in ("low", "high"):
            number = getattr(draft.number, key) / shown.factor
            table.add(key, f"{number:.{shown.decimals}f} {unit}".strip())
        if draft.number.extreme is not None:
            table.add("extreme", draft.number.extreme)
    for key in ("cause", "likelihood", "evidence", "agreement", "results"):
        value = getattr(draft, key)
        if value not in (None, "", {}):
            table.add(key, value)
    return table


def _checked(
    claim: Claim, findings: Findings, motion: xr.Dataset, against: Sequence[Doubt] = ()
) -> WordedClaim:
    checked = check_claim(claim, findings, lambda number: _samples(motion, number))
    flags = review_text(claim.says, findings).flags
    worded = [Doubt(code="wording", about=flag.said, why=flag.why) for flag in flags]
    return worded_claim(checked.model_copy(update={"doubts": [*checked.doubts, *worded, *against]}))


def _samples(motion: xr.Dataset, number: ClaimedNumber) -> Sampled | None:
    name, time = number.quantity, number.time
    times = motion["time"].values.astype(float)
    at = int(np.argmin(np.abs(times - time)))
    if name not in motion or abs(times[at] - time) > HALF_STEP:
        return None
    flag = f"observable_{name}"
    seen = motion[flag].values.astype(bool) if flag in motion else np.ones(times.size, bool)
    if number.extreme is None:
        samples = motion[name][:, at].values
    else:
        borne = seen & (motion["on_ground"].values == 0) if "on_ground" in motion else seen
        extreme = highest if number.extreme == "highest" else lowest
        samples = extreme(motion[name].values[:, borne]).value
    return Sampled(
        samples=samples.astype(float),
        observable=bool(seen[at]),
        unit=str(motion[name].attrs.get("units", "")),
    )
