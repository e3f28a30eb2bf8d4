"""When a motion parts from the same flight without its fault: the truth that onsets are held to."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter1d

from neutralpoint.quantities import DEGREE

# The least that one reading a second shows beside ordinary flying: path angle, bank, airspeed and
# load factor, smoothed over half a second. Analyst's.
VISIBLE = {
    "flight_path_angle": 1.0 * DEGREE,
    "bank_angle": 4.0 * DEGREE,
    "true_airspeed": 2.0,
    "normal_load_factor": 0.1,
}
# A flight that never parts by so many times that has no upset worth a date, unless by chance.
PLAIN = 4.0


def departure(
    time: np.ndarray, flown: dict[str, np.ndarray], twin: dict[str, np.ndarray]
) -> tuple[float, float]:
    """When a flight parts from its twin, and how far it ever does.

    Args:
        time: s, a uniform grid, shape (m,).
        flown: The quantities of `VISIBLE`, SI, each of shape (m,).
        twin: The same without the fault.

    Returns:
        s, NaN where it never does; largest difference in units of `VISIBLE`.
    """
    step = time[1] - time[0]
    ratio = np.zeros(time.size)
    for name, least in VISIBLE.items():
        one, other = flown[name], twin[name]
        if name == "bank_angle":
            one, other = np.unwrap(one), np.unwrap(other)
        ratio = np.maximum(ratio, np.abs(gaussian_filter1d(one - other, 0.5 / step)) / least)
    parted = ratio > 1.0
    return float(time[parted.argmax()]) if parted.any() else float("nan"), float(ratio.max())
