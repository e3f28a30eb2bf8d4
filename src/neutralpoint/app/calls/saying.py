"""What is concluded and said: odds with other priors, next evidence, claims, wording."""

from __future__ import annotations

from typing import Any

from neutralpoint.app import editing
from neutralpoint.app.bodies import numbers_of, wanted
from neutralpoint.app.calls.call import Call, Entry
from neutralpoint.app.contents import FINDINGS
from neutralpoint.app.editing import CLAIMS_FILE, SCRIPT_FILE
from neutralpoint.app.history import read_text
from neutralpoint.findings import ReliabilityDiagram, read_findings
from neutralpoint.report import load_ledger, review_text
from neutralpoint.report.claims.file import parse_claims
from neutralpoint.report.claims.ledger import drafts_text
from neutralpoint.report.words.evidence import leaders
from neutralpoint.report.words.fit import no_cause_fits
from neutralpoint.report.words.placeholders import placeholders
from neutralpoint.report.words.prior import UNSAVED, prior_sentence
from neutralpoint.report.words.score import score_sentence


def _odds(call: Call) -> Any:
    """The odds with prior weights of the page; nothing is flown or written."""
    from neutralpoint.study.weighing.file import odds_rows
    from neutralpoint.study.weighing.findings import blind_score
    from neutralpoint.study.weighing.saved import read_weighing, saved_odds, saved_weights
    from neutralpoint.study.weighing.score import score

    given = call.body.get("prior")
    weights = None if given is None else numbers_of(wanted(call.body, "prior", dict), "prior")
    results = call.notebook.results
    saved = read_weighing(results)
    odds, _ = saved_odds(saved, weights)
    rows = odds_rows(odds, against=odds.causes[odds.order()[0]])
    diagram = score(results, saved.stratum).blind.reliability
    stated, found = saved_weights(saved), read_findings(results)
    return {
        "rows": [
            {"cause": row.name, **row.model_dump(mode="json"), "weight": stated[row.name]}
            for row in rows
        ],
        # As the report has it: the score that these odds were computed beside.
        "score": score_sentence(
            found.weighing.score if found.weighing else blind_score(results, saved.stratum)
        ),
        "prior": prior_sentence(saved.prior) if weights is None else UNSAVED,
        "fit": no_cause_fits(found.judgement),
        "leader": saved.leader,
        "twin": saved.twin,
        "evidence": [item.model_dump(mode="json") for item in saved.evidence],
        "reliability": _reliability(diagram),
    }


def _reliability(found: ReliabilityDiagram) -> list[dict[str, float | None]]:
    """How often causes that were given a probability were true: one entry a bin that was used."""
    return [
        {"predicted": stated, "observed": seen, "count": count}
        for stated, seen, count in zip(found.stated, found.happened, found.count, strict=True)
        if count > 0
    ]


def _evidence(call: Call) -> Any:
    from neutralpoint.study.weighing.next_evidence import next_items

    return [
        {
            **item.model_dump(mode="json"),
            "outcomes": [
                {"outcome": one.outcome, "chance": one.chance, "leaders": leaders(one)}
                for one in item.outcomes
            ],
        }
        for item in next_items(call.notebook.results)
    ]


def _claims(call: Call) -> Any:
    folder, results = call.notebook.folder, call.notebook.results
    if not (results / FINDINGS).is_file():  # nothing to hold them against yet
        text = read_text(folder / CLAIMS_FILE) or ""
        return {"text": text, "draft_text": "", "claims": [], "drafts": [], "corrections": []}
    ledger = load_ledger(folder, results)
    return {
        "text": read_text(folder / CLAIMS_FILE) or "",
        "draft_text": drafts_text([row.claim for row in ledger.drafts], read_findings(results)),
        "claims": [_held(row) for row in ledger.claims],
        "drafts": [_held(row) for row in ledger.drafts],
        "corrections": [row.model_dump(mode="json") for row in ledger.corrections],
    }


def _held(row: Any) -> dict[str, Any]:
    return {**row.model_dump(mode="json"), "holds": row.holds}


def _put_claims(call: Call) -> Any:
    notebook = call.notebook
    parse_claims(call.body, read_findings(notebook.results))
    with notebook.lock:
        editing.replace_claims(notebook.folder, call.body)
    notebook.changed()
    return _claims(call)


def _wording(call: Call) -> Any:
    shelf = call.notebook.shelf
    review = review_text(wanted(call.body, "text", str), shelf.results().findings, shelf.lookup())
    return [
        {
            "line": flag.line,
            "words": flag.said,
            "problem": flag.why,
            "suggestion": flag.instead,
            "sentence": flag.sentence,
            "rule": flag.rule,
        }
        for flag in review.flags
    ]


def _script(call: Call) -> Any:
    """The analyst's own text, and the numbers that it may name."""
    results = call.notebook.results
    known = placeholders(read_findings(results)) if (results / FINDINGS).is_file() else {}
    return {"text": read_text(call.notebook.folder / SCRIPT_FILE) or "", "numbers": known}


def _put_script(call: Call) -> Any:
    notebook = call.notebook
    with notebook.lock:
        editing.replace_script(notebook.folder, call.body)
    return {"saved": SCRIPT_FILE}


SAYING: tuple[Entry, ...] = (
    ("POST", "odds", "json", _odds),
    ("GET", "evidence", "", _evidence),
    ("GET", "claims", "", _claims),
    ("PUT", "claims", "text", _put_claims),
    ("POST", "wording", "json", _wording),
    ("GET", "script", "", _script),
    ("PUT", "script", "text", _put_script),
)
