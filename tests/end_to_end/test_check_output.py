"""What `neutralpoint check` prints: every file, what it holds, how it was read, what is odd."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rich.console import Console

from neutralpoint.cli.checking import show_check
from neutralpoint.study import check_case

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def printed() -> str:
    out = Console(width=200, record=True, file=None, quiet=False, force_terminal=False)
    with out.capture() as capture:
        show_check(check_case(EXAMPLES / "quorleigh"), out)
    return capture.get()


@pytest.mark.parametrize(
    "pattern",
    [
        r"track\.csv  \(track, [\d,]+ bytes\)",
        r"SHA-256    [0-9a-f]{64}",
        r"rows       177\b",
        r"time       2031-04-14 18:52:00\.\d UTC to",
        r"clock      time stamps in steps of 0\.01 s",
        r"readings   position: 177 readings, one in 1\.0\d s \(median\), steps of 1e-05 deg",
        r"readings   pressure altitude: .* steps of 25 ft",
        r"readings   vertical rate: .* steps of 64 ft/min",
        r"gap        7\.9 s from 2031-04-14 18:52:59",
        r"assumed    Times carry their zone\.",
        r"assumed    ground_speed: kt, named in the case; the distance flown agrees",
        r"assumed    Used: 13 levels from [\d,]+ to [\d,]+ ft of pressure altitude; wind at 13",
        r"assumed    Used: QQCH of 2031-04-14 18:44 UTC, 10 min from the middle of the",
        r"5 x stale repeat",
        r"track\.csv:92  .* pressure altitude: impossible jump",
        r"age of positions +0\.1 s \+- 0\.3 s +default",
        r"altimeter setting +1009\.5 hPa \+- 1 hPa +case file",
    ],
)
def test_every_part_of_the_inventory_is_printed(printed, pattern):
    assert re.search(pattern, printed), printed
