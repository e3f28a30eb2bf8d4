"""The boxes as they are printed: whoever puts the printed numbers in gets the printed result."""

import math
import re
from datetime import UTC, datetime

import pytest

from neutralpoint.findings import (
    Banded90,
    Findings,
    MistrimBox,
    PhugoidBox,
    PhysicsFindings,
    ShiftBox,
    SignatureFindings,
    TrimTrial,
)
from neutralpoint.quantities import DEGREE, FOOT, KNOT, POUND_FORCE
from neutralpoint.report.words.physics import physics_section


def span(median: float, share: float = 0.1) -> Banded90:
    low, high = sorted((median * (1.0 - share), median * (1.0 + share)))
    return Banded90(low90=low, median=median, high90=high)


SHIFT = ShiftBox(
    time=60.0,
    moment=span(-9000.0 * FOOT * POUND_FORCE),
    weight=11_000.0 * POUND_FORCE,
    load_factor=span(0.9),
    shift=span(-0.91 * FOOT),
    aft=0.3 * FOOT,
    forward=-0.2 * FOOT,
    within=0.002,
    margin=span(0.2),
    chord=1.8,
    speed=span(200.0 * KNOT, 0.02),
    speed_after=span(150.0 * KNOT, 0.05),
)
MISTRIM = MistrimBox(
    drive="stabilizer",
    mistrim=span(4.0 * DEGREE),
    nose_down=True,
    speed=span(200.0 * KNOT, 0.02),
    force=span(60.0 * POUND_FORCE),
    other=span(280.0 * KNOT, 0.02),
    force_other=span(117.6 * POUND_FORCE),
    force_model=span(118.0 * POUND_FORCE),
    available=75.0 * POUND_FORCE,
    crossover=span(223.6 * KNOT),
    elevator=span(-9.0 * DEGREE),
    stop=-20.0 * DEGREE,
    balanced=1.0,
    balanced_other=1.0,
)
PHUGOID = PhugoidBox(
    speed=span(105.0, 0.02),
    mean_speed=span(110.0, 0.02),
    lanchester=span(47.6, 0.02),
    period=span(45.0, 0.05),
    damping=span(0.06),
    span=70.0,
    cycles=1.5,
    seen="none",
    explained=0.4,
)


def trial(name: str, after: float) -> TrimTrial:
    return TrimTrial(
        trial=name,
        speed_before=span(220.0 * KNOT, 0.02),
        path_before=span(-2.0 * DEGREE),
        fastest=span(240.0 * KNOT),
        slowest=span(190.0 * KNOT),
        steepest=span(-14.0 * DEGREE),
        highest=span(3.0 * DEGREE),
        predicted=span(216.0 * KNOT, 0.03),
        speed_after=span(after * KNOT, 0.03),
        path_after=span(-8.0 * DEGREE),
        density_ratio=span(0.97, 0.01),
        seconds=60.0,
        averaged=36.0,
    )


def signatures(*trials: TrimTrial) -> SignatureFindings:
    return SignatureFindings(
        file="signatures.nc", begin=50.0, end=110.0, flights=20, rows=[], trials=list(trials)
    )


@pytest.fixture
def said():
    """The boxes of a document with the given parts, by key."""

    def make(physics=None, trials=(), key_times=()):
        document = Findings.model_construct(
            epoch=datetime(2031, 3, 1, 12, tzinfo=UTC),
            physics=physics or PhysicsFindings(),
            signatures=signatures(*trials),
            key_times=list(key_times),
        )
        section = physics_section(document)
        return {} if section is None else {box.key: box for box in section.boxes}

    return make


def numbers(line: str) -> list[float]:
    """Numbers of a printed line, true minus signs and commas read."""
    plain = line.replace("\u2212", "-").replace(",", "")
    return [float(found) for found in re.findall(r"(?<![\w.])[-+]?\d+(?:\.\d+)?", plain)]


def test_shift_can_be_worked_from_the_printed_numbers(said):
    box = said(PhysicsFindings(shift=SHIFT))["shift"]
    moment, load, weight, result = numbers(box.worked[0])[:4]
    assert moment / (load * weight) == pytest.approx(result, abs=0.005)  # last printed digit
    assert "0.91 ft forward, the way that lowers the nose" in box.sentence
    assert "0.2%" in box.sentence
    assert "from 200 to 150 kt" in box.sentence


def test_shift_without_a_list_of_the_load_says_so(said):
    bare = SHIFT.model_copy(
        update={"aft": None, "forward": None, "within": None, "speed_after": None}
    )
    box = said(PhysicsFindings(shift=bare))["shift"]
    assert len(box.worked) == 1
    assert "lists no load" in box.sentence


def test_mistrim_can_be_worked_from_the_printed_numbers(said):
    box = said(PhysicsFindings(mistrim=MISTRIM))["mistrim"]
    force, fast, slow, result = numbers(box.worked[0])[:4]
    assert force * (fast / slow) ** 2 == pytest.approx(result, abs=0.5)
    speed, available, held, crossing = numbers(box.worked[1])[:4]
    assert speed * math.sqrt(available / held) == pytest.approx(crossing, abs=0.5)
    assert "strength runs out before the elevator does" in box.sentence


def test_phugoid_can_be_worked_from_the_printed_numbers(said):
    box = said(PhysicsFindings(phugoid=PHUGOID))["phugoid"]
    pi, root, speed, gravity, period = numbers(box.worked[0].replace("m/s\u00b2", "m/s"))[:5]
    assert pi * root * speed / gravity == pytest.approx(period, abs=0.5)
    assert box.sentence.startswith("No oscillation is seen")


@pytest.mark.parametrize(
    ("seen", "exchange", "words"),
    [("phugoid", 0.95, "that is a phugoid"), ("another", 0.2, "is not the period of its phugoid")],
)
def test_what_oscillates_is_named(said, seen, exchange, words):
    box = PHUGOID.model_copy(
        update={"seen": seen, "seen_period": span(44.0, 0.05), "exchange": exchange}
    )
    assert words in said(PhysicsFindings(phugoid=box))["phugoid"].sentence


def test_trim_speed_can_be_worked_from_the_printed_numbers(said):
    box = said(trials=[trial("idle", 215.0)])["trim-speed"]
    speed, after, before, ratio, result = numbers(box.worked[0])[:5]
    slopes = math.cos(math.radians(after)) / math.cos(math.radians(before))
    # Angles to a tenth of a degree, the ratio to three figures.
    assert speed * math.sqrt(slopes * ratio) == pytest.approx(result, abs=1.0)
    assert "goes back to the speed" in box.sentence


def test_a_speed_that_does_not_come_back_is_not_said_to(said):
    off = trial("full", 280.0)
    assert abs(280.0 * KNOT / off.predicted.median - 1.0) > 0.2
    box = said(trials=[trial("idle", 215.0), off])["trim-speed"]
    assert "with power to full the mean at the end is not that speed" in box.sentence


def test_no_box_no_section(said):
    assert said() == {}
