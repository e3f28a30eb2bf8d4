"""The result of moments_verdicts.py in tables, and as the score that stands beside the verdicts."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.stats import beta

from neutralpoint.moments import Hands, Word
from neutralpoint.vocabulary import CauseName

# Excluded by where the airplane got to and not by a moment; counted apart.
BY_STATE = (CauseName.WING_STALL, CauseName.SPIRAL_DIVE)
LEVELS = (0.01, 0.05, 0.1)  # shares of the probability that are looked at


def interval(hits: int, of: int) -> tuple[float, float]:
    """90% interval of a share, Clopper and Pearson (1934)."""
    low = beta.ppf(0.05, hits, of - hits + 1) if hits else 0.0
    high = beta.ppf(0.95, hits + 1, of - hits) if hits < of else 1.0
    return float(low), float(high)


def share(flags: list[bool]) -> str:
    """A share with its 90% interval."""
    if not flags:
        return "-"
    low, high = interval(sum(flags), len(flags))
    return (
        f"{100.0 * np.mean(flags):.1f} % ({sum(flags)} of {len(flags)}; "
        f"{100.0 * low:.1f} to {100.0 * high:.1f})"
    )


def truth_excluded(rows: list[dict]) -> list[bool]:
    """For each flight whose true cause was judged: was it called *cannot*?"""
    judged = [row["judged"].get(row["cause"]) for row in rows]
    return [one.word is Word.CANNOT for one in judged if one and one.word is not Word.NOT_JUDGED]


def wrong_excluded(rows: list[dict], *, by_moment: bool = True) -> list[bool]:
    """For each wrong cause of each flight: was it called *cannot*?"""
    return [
        one.word is Word.CANNOT
        for row in rows
        for cause, one in row["judged"].items()
        if cause is not row["cause"]
        and one.word is not Word.NOT_JUDGED
        and not (by_moment and cause in BY_STATE)
    ]


def any_excluded(rows: list[dict]) -> list[bool]:
    """For each flight: was any wrong cause but stall and spiral called *cannot*?"""
    return [any(wrong_excluded([row])) for row in rows]


def score(rows: list[dict], seed: int) -> dict:
    """The figures that stand beside the verdicts of a study."""
    rows = [row for row in rows if row["second"]]
    upsets = [row for row in rows if row["upset"]]
    figures = {
        "true-cause-excluded": truth_excluded(rows),
        "wrong-causes-excluded": wrong_excluded(upsets),
        "upsets-with-an-exclusion": any_excluded(upsets),
    }
    return {
        "seed": seed,
        "flights": len(rows),
        "figures": [
            {
                "name": name,
                "value": float(np.mean(flags)),
                "low90": interval(sum(flags), len(flags))[0],
                "high90": interval(sum(flags), len(flags))[1],
                "cases": len(flags),
            }
            for name, flags in figures.items()
        ],
    }


def report(rows: list[dict], seed: int) -> str:
    """The whole result."""
    upsets = [row for row in rows if row["upset"]]
    by_moment = share(wrong_excluded(upsets))
    often = [row for row in rows if row["second"]]
    often_upsets = [row for row in upsets if row["second"]]
    lines = [
        "# The words of the verdicts on a second truth",
        "",
        f"{len(rows)} flights of three invented airplanes, {len(upsets)} of them upsets (path "
        "angle changed by more than 15 deg, or load factor by more than 0.5), seed "
        f"{seed}. Derivatives of the truth err independently and evenly within +- 20 % (the "
        "analyst takes them for log-normal and tied), the slipstream moves the moment by up to 0.2 "
        "chords of arm, the pitching moment bends with the angle of attack, a quarter of the "
        "flights is in air of 1.0 to 1.8 m/s rms, wind error 5 kt (95%), and the pilot is another "
        "than any of the program's. Loading unknown to the analyst. "
        "`python benchmarks/moments_verdicts.py` writes this.",
        "",
        "At one fix a second:",
        "",
        f"- True cause called *cannot*: {share(truth_excluded(often))}.",
        f"- Wrong causes called *cannot* in upsets, stall and spiral left out: "
        f"{share(wrong_excluded(often_upsets))}.",
        f"- Upsets in which at least one wrong cause other than stall and spiral is called "
        f"*cannot*: {share(any_excluded(often_upsets))}.",
        "",
        "All sensors:",
        "",
        f"- True cause called *cannot*: {share(truth_excluded(rows))}.",
        f"- Wrong causes called *cannot* in upsets, stall and spiral left out: {by_moment}; with "
        f"them {share(wrong_excluded(upsets, by_moment=False))}.",
        f"- Upsets in which at least one wrong cause other than stall and spiral is called "
        f"*cannot*: {share(any_excluded(upsets))}.",
        "",
    ]
    lines += _strata(rows) + _matrix(upsets) + _truths(rows) + _columns(upsets)
    return "\n".join([*lines, *_speed(rows), ""])


def _strata(rows: list[dict]) -> list[str]:
    strata: dict[str, Callable[[dict], str]] = {
        "sensors": lambda row: row["sensors"],
        "airplane": lambda row: row["airplane"],
        "air": lambda row: "rough" if row["rough"] else "calm to light",
        "pilot": lambda row: row["manner"],
    }
    lines = ["## By stratum", "", "| stratum | flights | true cause *cannot* | wrong *cannot*, "]
    lines[-1] += "upsets | any wrong *cannot*, upsets |"
    lines += ["|---|---|---|---|---|"]
    for name, key in strata.items():
        for value in sorted({key(row) for row in rows}):
            mine = [row for row in rows if key(row) == value]
            upsets = [row for row in mine if row["upset"]]
            lines.append(
                f"| {name}: {value} | {len(mine)} | {share(truth_excluded(mine))} | "
                f"{share(wrong_excluded(upsets))} | {share(any_excluded(upsets))} |"
            )
    return [*lines, ""]


def _matrix(rows: list[dict]) -> list[str]:
    """Which cause is excluded under which truth."""
    truths = [cause for cause in CauseName if any(row["cause"] is cause for row in rows)]
    causes = [cause for cause in CauseName if any(cause in row["judged"] for row in rows)]
    lines = ["## Which cause is called *cannot* under which truth, upsets, in per cent", ""]
    lines += ["| cause | " + " | ".join(truth.value for truth in truths) + " |"]
    lines += ["|---" * (len(truths) + 1) + "|"]
    for cause in causes:
        cells = []
        for truth in truths:
            words = [
                row["judged"][cause].word
                for row in rows
                if row["cause"] is truth and cause in row["judged"]
            ]
            excluded = f"{100.0 * np.mean([w is Word.CANNOT for w in words]):.0f}" if words else "-"
            cells.append(f"**{excluded}**" if cause is truth else excluded)
        lines.append(f"| {cause.value} | {' | '.join(cells)} |")
    return [*lines, ""]


def _truths(rows: list[dict]) -> list[str]:
    """The word and the probability of the true cause."""
    lines = ["## The true cause", "", "| true cause | judged | can | can if | cannot | "]
    lines[-1] += " | ".join(f"p < {level:g}" for level in LEVELS) + " |"
    lines += ["|---" * (5 + len(LEVELS)) + "|"]
    for cause in CauseName:
        judged = [row["judged"].get(cause) for row in rows if row["cause"] is cause]
        judged = [one for one in judged if one and one.word is not Word.NOT_JUDGED]
        if not judged:
            continue
        words = [sum(one.word is word for one in judged) for word in (Word.CAN, Word.CAN_IF)]
        words.append(sum(one.word is Word.CANNOT for one in judged))
        low = [f"{100 * np.mean([j.probability < level for j in judged]):.1f}%" for level in LEVELS]
        cells = [str(len(judged)), *map(str, words), *low]
        lines.append(f"| {cause.value} | {' | '.join(cells)} |")
    return [*lines, ""]


def _columns(rows: list[dict]) -> list[str]:
    """What each kind of hands leaves possible."""
    lines = ["## By hands: shares with a probability under 1%, upsets, stall and spiral left out"]
    lines += ["", "| hands | true cause | wrong causes |", "|---|---|---|"]
    for hands in Hands:
        low: dict[bool, list[bool]] = {True: [], False: []}
        for row in rows:
            for cause, one in row["judged"].items():
                if cause not in BY_STATE:
                    low[cause is row["cause"]] += [
                        able.probability < LEVELS[0]
                        for able in one.abilities
                        if able.hands is hands
                    ]
        lines.append(f"| {hands.value} | {share(low[True])} | {share(low[False])} |")
    return [*lines, ""]


def _speed(rows: list[dict]) -> list[str]:
    motion, moments, judged = np.median([row["seconds"] for row in rows], axis=0)
    return [
        f"The words take {judged / (motion + moments):.1f} times as long as motion and moments "
        "together (medians of one run)."
    ]
