"""What is said of a need beside what there is: nothing more than the comparison shows."""

from __future__ import annotations

import math

from neutralpoint.findings import Findings
from neutralpoint.findings.judgement import NeedAgainstHas
from neutralpoint.quantities import POUND_FORCE
from neutralpoint.vocabulary import QUANTITIES

AGAINST = {
    "within": "within",
    "part": "partly within",
    "beyond": "beyond",
    "below": "below the stall",
    "open": "cannot be judged",
}
WITHIN = "Within: not excluded by this alone."
FORCE = "needed_column_force"
MORE_THAN_NOT = 0.5  # probability from which it is told how long a limit was passed
NOT_RECORDED = (
    "Not recorded: what this alone would have had to be, and no evidence that anybody or anything "
    "did it."
)
FEW = 3  # names in a row; the others are counted


def fits(need: NeedAgainstHas) -> str:
    """Whether the 90% band of what is needed lies within what is available, in words."""
    least = -math.inf if need.least is None else need.least
    most = math.inf if need.most is None else need.most
    if math.isinf(least) and math.isinf(most):
        return AGAINST["open"]
    if need.low90 > most or need.high90 < least:
        return AGAINST["beyond"]
    if need.quantity == "angle_of_attack" and least <= need.low90 and need.high90 <= most:
        return AGAINST["below"]
    return AGAINST["within" if least <= need.low90 and need.high90 <= most else "part"]


def joined_names(names: list[str]) -> str:
    """Causes that share a need, the others counted: `Stabilizer runaway, separation and 2 more`."""
    if len(names) > FEW:
        return f"{', '.join(names[: FEW - 1])} and {len(names) - FEW + 1} more"
    lowered = [names[0], *(name[:1].lower() + name[1:] for name in names[1:])]
    return " and ".join([", ".join(lowered[:-1]), lowered[-1]] if len(lowered) > 1 else lowered)


def axis_words(variable: str) -> str:
    """The sign convention of a curve of what was needed; empty without one."""
    positive = QUANTITIES[variable].positive if variable in QUANTITIES else ""
    push = ", push negative" if variable == FORCE else ""
    return f"{positive} positive{push}" if positive else ""


def signs_said(names: list[str]) -> str:
    """The sign conventions of quantities in one sentence; empty without any."""
    told = [
        f"{name.short}: {name.positive}\u00a0+"
        for name in (QUANTITIES[one] for one in dict.fromkeys(names))
        if name.positive
    ]
    return f"Signs: {'; '.join(told)}." if told else ""


def curve_said(variable: str, findings: Findings) -> list[str]:
    """What is said beside a curve of what was needed.

    Args:
        variable: Of the curve.
        findings: The document.

    Returns:
        Sentences; none for other curves.
    """
    if not variable.startswith("needed_"):
        return []
    forces = [] if findings.moments is None or variable != FORCE else findings.moments.forces
    above = [
        f"Above {row.force / POUND_FORCE:.0f} lb ({row.name}) for {row.median:.0f} s (90%: "
        f"{row.low90:.0f} to {row.high90:.0f} s)."
        for row in forces
        if row.probability > MORE_THAN_NOT
    ][-1:]
    rules = [rule_words(row.source) for row in forces if "CFR" in row.source][-1:]
    return [NOT_RECORDED, *above, *(f"Limits of design, by rule: {source}." for source in rules)]


def rule_words(source: str) -> str:
    """The first rule of a source; of part 23 the text before it was written anew.

    Source: amendment 23-64 took effect on 2017-08-30; from memory.
    """
    rule = source.split(",")[0]
    return f"{rule} before 2017" if rule.startswith("14 CFR 23.") else rule
