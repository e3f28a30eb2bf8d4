"""The words, judged on a second truth: is the true cause ever excluded, and are the wrong ones?

    python benchmarks/moments_verdicts.py [RUNS] [SEED] [PROCESSES]

Blind upsets of `moments_blind_flights.py` (other airplanes, other pilots, gusts) are seen by
degraded sensors, smoothed, inverted and judged. Two shares are printed, with strata: how often the
true cause is called *cannot*, and how often the others are. Writes results/moments_verdicts.md and,
for the score beside the verdicts, src/neutralpoint/study/moments/score.json.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
from moments_blind_flights import MANNERS, ROUGH, simulate
from moments_chain import WINDOW
from moments_flights import TRACKS, Run
from moments_seen import Seen, seen_flights, worked_through
from moments_verdicts_report import report, score
from recorded import SURVEILLANCE

from neutralpoint.quantities import DEGREE
from neutralpoint.vocabulary import CauseName

RESULTS = Path(__file__).parent / "results" / "moments_verdicts.md"
SCORE = Path(__file__).parents[1] / "src/neutralpoint/study/moments/score.json"
SEED = 20301101
SENSORS = (*TRACKS, SURVEILLANCE[2])  # two of one fix a second, and radar
UPSET_PATH, UPSET_LOAD = 15.0 * DEGREE, 0.5  # an upset goes beyond either; analyst's


def true_cause(run: Run) -> CauseName:
    """The name of the truth on this airplane."""
    tab = run.airplane.trim_drive.kind == "tab"
    if run.kind is CauseName.STABILIZER_RUNAWAY and tab:
        return CauseName.TAB_RUNAWAY
    return run.kind


def is_upset(run: Run) -> bool:
    """Whether the flight left its path as an upset does."""
    after, s = run.time > run.onset, run.series
    path = s["path_angle"][after] - s["path_angle"][~after].mean()
    load = s["load_factor"][after] - 1.0
    return bool(np.abs(path).max() > UPSET_PATH or np.abs(load).max() > UPSET_LOAD)


def study(seen: Seen) -> dict:
    """One flight from its track to the words."""
    run, how, nominal = seen.run, seen.how, seen.nominal
    chain, _ = seen.analysed(window=max(WINDOW, 2.0 * how.interval))
    return {
        "cause": true_cause(run),
        "airplane": nominal.name,
        "sensors": how.label,
        "second": how.interval <= 1.0,
        "rough": run.gust >= ROUGH,
        "manner": MANNERS[int(seen.plan.manner)],
        "upset": is_upset(run),
        "judged": {one.cause: one for one in chain.verdicts},
        "seconds": chain.seconds,
    }


def main() -> None:
    """Run and write."""
    runs, seed, processes = (
        int(given) if given else usual
        for given, usual in zip([*sys.argv[1:], "", "", ""], (330, SEED, 2), strict=False)
    )
    made = seen_flights(simulate, SENSORS, runs=runs, seed=seed)
    rows = worked_through(study, made, processes)
    text = report(rows, seed)
    print(text)
    RESULTS.write_text(text, encoding="utf-8")
    SCORE.write_text(json.dumps(score(rows, seed), indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
