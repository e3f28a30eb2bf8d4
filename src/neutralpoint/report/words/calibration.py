"""What is printed of the test on flights of known cause."""

from __future__ import annotations

from neutralpoint.findings import Calibration
from neutralpoint.report.words.phrases import percent

CAUTION = "Not for flight. Probabilities of listed causes under this model; no blame is found."
RELIABILITY = "Calibration: how often statements of a given probability were true"
HEADS = ("given", "true", "statements")


def calibration_lines(found: Calibration) -> list[str]:
    """The score of `neutralpoint calibrate` in sentences.

    Args:
        found: As `calibration.json` holds it.

    Returns:
        One line each.
    """
    gained = found.mean_log_score - found.prior_log_score
    return [
        f"{found.cases:,} test flights of known cause, made by another flight model, at "
        f"{found.where}.",
        f"Mean log score {found.mean_log_score:.2f} ± {2 * found.log_score_error:.2f} nats "
        f"(0 is perfect), {gained:.2f} better than without knowledge.",
        f"90% sets of causes contained the true cause "
        f"{percent(found.cover_of_90_percent_sets)} of the time; a well-calibrated set does "
        "90% of the time.",
        f"The true cause led in {percent(found.true_cause_leads)} and was given less than 1% in "
        f"{100 * found.true_cause_below_1_percent:.1f}%.",
    ]
