"""Air that somebody reported counts where altitudes come too seldom to tell it."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
from motion_synthetic import LIFT, WEATHER, constant, fly, observe
from recorded import Degradation

from neutralpoint.case import load_case, parse_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.motion import estimate_motion
from neutralpoint.motion.process import vertical_family
from neutralpoint.motion.regimes import GUSTS_TOLD, UPWARD, chances, sizes, upward
from neutralpoint.quantities import FOOT, GRAVITY

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
RADAR = Degradation("radar", 4.8, 100.0 * FOOT, position_sigma=30.0, jitter=0.05, velocity=False)

# Load that each word stands for at its peaks, g: FAA AC 00-30, from memory. A peak of a few minutes
# is three times the root mean square of what is nearly normal.
PEAKS = {"smooth": (0.0, 0.2), "light": (0.2, 0.5), "moderate": (0.5, 1.0), "severe": (1.0, 2.0)}
LONG = 400  # s, after which gusts have forgotten where they began


@pytest.mark.parametrize("word", GUSTS_TOLD)
def test_gusts_of_each_word_make_the_load_it_stands_for(word):
    """Of the acceleration that the process settles at, by its own covariance in the long run."""
    manners = upward(word)
    family = vertical_family(0.25, 0.3, sizes(manners))
    settled = family.over(round(LONG / 0.25))[1][:, 6, 6]
    load = np.sqrt(chances(manners) @ settled) / GRAVITY
    low, high = PEAKS[word]
    assert low < 3.0 * load < high


def test_without_a_report_the_air_is_as_the_data_leave_it():
    assert upward(None) is UPWARD


@pytest.mark.slow  # two motions by radar, 1.2 s; gusts of each word are held above
def test_by_a_slow_radar_told_air_narrows_or_widens_the_load():
    track = observe(
        fly(45.0, climb=constant(0.0), heading=constant(0.4)), np.random.default_rng(2), RADAR
    )
    width = {
        word: estimate_motion(
            track,
            weather=WEATHER,
            lift=LIFT,
            rng=np.random.default_rng(1),
            turbulence=word,
            samples=8,
        )
        .paths["normal_load_factor"]
        .std(axis=0)
        .mean()
        for word in ("smooth", "severe")
    }
    assert width["severe"] > 1.5 * width["smooth"]


def test_the_case_says_the_air_and_the_report_names_it(tmp_path):
    folder = tmp_path / "case"
    shutil.copytree(EXAMPLES / "drumoule", folder, ignore=shutil.ignore_patterns("results"))
    file = folder / "case.toml"
    text = file.read_text()
    file.write_text('turbulence = "light"\n' + text)
    assert [t.value for t in load_case(folder).taken if t.name == "turbulence"] == ["light"]
    with pytest.raises(NeutralPointError, match="turbulence"):
        parse_case('turbulence = "choppy"\n' + text)
