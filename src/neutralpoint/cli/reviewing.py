"""What `neutralpoint claims` and `neutralpoint wording` print for people."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.text import Text

from neutralpoint.report import Ledger, Review
from neutralpoint.report.words.claims import WordedClaim


def show_ledger(ledger: Ledger, out: Console) -> None:
    """Print claims with what stands against them, then drafts.

    Args:
        ledger: What was found.
        out: Where to print.
    """
    if not ledger.claims:
        out.print("There is no claims.toml. The findings support these (--draft writes them):")
    for row in ledger.claims or ledger.drafts:
        _show_claim(row, out)
    for entry in ledger.corrections:
        out.print(Text(f"corrected {entry.date}: {entry.what} ({entry.why})"))


def _show_claim(row: WordedClaim, out: Console) -> None:
    mark = ("supported", "green") if row.holds else ("NOT SUPPORTED", "bold red")
    out.print(Text.assemble("\n", (row.claim.name, "bold"), "  ", mark))
    out.print(Text(f"  {row.claim.says}"))
    known = [row.claim.kind, row.said_likelihood, row.confidence and f"confidence {row.confidence}"]
    out.print(Text(f"  {', '.join(filter(None, known))}"))
    for doubt in row.doubts:
        out.print(Text(f"  {doubt.code}: {doubt.sentence}"))


def show_review(review: Review, script: Path, out: Console) -> None:
    """Print flags with line, reason and suggestion.

    Args:
        review: What was found.
        script: The text's file.
        out: Where to print.
    """
    for flag in review.flags:
        out.print(
            Text.assemble(
                f"{script}:{flag.line}: ", (flag.rule, "bold"), f": \u201c{flag.said}\u201d"
            ),
            soft_wrap=True,
        )
        out.print(Text(f"  {flag.sentence}"), soft_wrap=True)
        out.print(Text(f"  why     {flag.why}\n  instead {flag.instead}"), soft_wrap=True)
    out.print(f"{len(review.flags)} flag(s) in {review.sentences} sentence(s).")
    if not review.flags:
        out.print("The rules find the usual ways to overclaim, not every way: read it again.")
