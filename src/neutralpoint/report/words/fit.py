"""What is said where no listed cause comes near the track: above all odds, for they only rank."""

from __future__ import annotations

from neutralpoint.findings import JudgementFindings
from neutralpoint.report.words.phrases import small_percent


def no_cause_fits(judged: JudgementFindings | None) -> str:
    """That no listed cause comes near, wherever odds are shown.

    Args:
        judged: One judgement a cause.

    Returns:
        Two sentences; empty where a cause comes near or this was not worked out.
    """
    if judged is None or judged.fit.none_near is not True:
        return ""
    best, p_value = judged.fit.best, judged.fit.p_value
    near = (
        ""
        if best is None or p_value is None
        else f": even of the nearest, {best.spoken}, a fit as poor as this or poorer would occur "
        f"in {small_percent(p_value)} of flights"
    )
    return (
        f"No listed cause comes near this track{near}. The odds below rank causes that do not fit; "
        "none of them is favored."
    )
