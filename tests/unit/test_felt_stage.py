"""What could be seen and felt of a made-up flight: told, drawn, weighed, or not told."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest

from neutralpoint.case.ground import ground_of
from neutralpoint.findings import EvidenceRow
from neutralpoint.motion import Onsets
from neutralpoint.quantities import DEGREE
from neutralpoint.report.figures.felt_sheet import felt_sheets
from neutralpoint.report.words.felt import _terrain, felt_section, is_marked
from neutralpoint.report.words.odds import _perception
from neutralpoint.senses import Perceived, Ride, enough_felt, hidden_bank
from neutralpoint.study.felt.causes import left_of
from neutralpoint.study.felt.findings import felt_findings
from neutralpoint.study.felt.light import light_findings
from neutralpoint.study.felt.stage import felt_dataset
from neutralpoint.study.felt.work_out import felt_ride, looked_at, seat_of
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.weighing.evidence import PERCEPTION, contributions, items_given
from neutralpoint.study.weighing.held import HORIZON, Held, horizon_then
from neutralpoint.vocabulary import CauseName
from neutralpoint.vocabulary.light import HorizonSeen

EPOCH = datetime(2031, 4, 14, tzinfo=UTC)
NOON = 12.0 * 3600.0
PATHS, STEP = 8, 0.5


def _motion(*, lasts=90.0, interval=1.0, known=True):
    """Level flight, after a minute a thrust of 0.3 g: felt as a pitch of 16.7 deg."""
    time = NOON + np.arange(0.0, lasts, STEP)
    flat = np.zeros((PATHS, time.size))
    names = ("heading_of_air_velocity", "flight_path_angle", "bank_angle", "angle_of_attack",
             "pitch_angle", "latitude", "longitude", "track_angle")  # fmt: skip
    paths = dict.fromkeys(names, flat)
    paths["altitude"] = flat + 600.0
    paths["normal_load_factor"] = flat + 1.0
    paths["longitudinal_load_factor"] = flat + 0.3 * (time > NOON + 60.0)
    flags = dict.fromkeys(paths, np.full(time.size, known))
    none = np.zeros(time.size, bool)
    onset = Onsets(np.array([NOON + 60.0]), np.array([1.0]), 0.0)
    return KeptMotion(time, none, interval, paths, flags, onset, none)


def _case():
    facts = SimpleNamespace(light="night", sky=None)
    return SimpleNamespace(
        analysis=SimpleNamespace(onset=None),
        airplane=None,
        track=SimpleNamespace(epoch=EPOCH),
        reports=(),
        document=SimpleNamespace(facts=facts, terrain=(), debris=()),
    )


@pytest.fixture(scope="module")
def thrust():
    motion = _motion()
    found = felt_ride(_case(), motion, np.random.default_rng(20261129))
    return found, felt_findings(found, _case(), motion)


def _said(findings):
    section = felt_section(SimpleNamespace(felt=findings, epoch=EPOCH))
    return section, " ".join(one.text for one in section.statements)


def test_a_thrust_could_be_perceived_as_pitch(thrust):
    _, findings = thrust
    said = findings.perception
    assert said.pitch.apart.median == pytest.approx(np.arctan(0.3), abs=2.0 * DEGREE)
    assert said.pitch.probability > 0.9
    assert abs(said.bank.apart.median) < 0.01 * DEGREE
    assert said.highest.median == pytest.approx(np.hypot(1.0, 0.3), abs=1e-3)
    first = said.moments[0]
    assert first.time == NOON + 60.0
    assert abs(first.perceived_pitch.median) < abs(said.moments[-1].perceived_pitch.median)
    section, text = _said(findings)
    assert "could have perceived an attitude other than the flown one" in text
    assert "never" not in text and "what anyone felt" in section.cautions[0]
    assert "healthy inner ear" in text
    assert is_marked(said) and len(section.tables) == 1 and len(section.panels) == 5


def test_the_light_is_computed_and_held_against_what_the_case_states(thrust):
    _, findings = thrust
    light = findings.light
    # Noon on the Greenwich meridian at the equator, 14 April: 90 deg less the declination, 9.4 deg.
    assert light.sun_elevation / DEGREE == pytest.approx(80.6, abs=0.4)
    assert light.seen is HorizonSeen.UNKNOWN and light.contradicts
    _, text = _said(findings)
    assert "daylight" in text and "no surface report" in text and "another light" in text


def test_the_line_of_the_hills_is_told(repository):
    """A grid with hills: the line stands no higher than its highest post can, known there."""
    motion = _motion()
    place = {"latitude": 47.03, "longitude": -35.04}
    paths = motion.paths | {key: motion.paths[key] + value * DEGREE for key, value in place.items()}
    case = _case()
    case.folder = repository / "examples" / "orlembeck"
    case.document.terrain = (SimpleNamespace(file="hills.tif"),)
    case.document.geoid_height = None
    there = KeptMotion(**vars(motion) | {"paths": paths})
    line = light_findings(case, there, NOON + 60.0).terrain
    ground = ground_of(case.folder, case.document.terrain, None)
    rows = np.radians(np.linspace(46.9, 47.2, 120))
    post = np.nanmax(ground(*np.meshgrid(rows, np.radians(np.linspace(-35.2, -34.9, 120)))))
    assert 0.0 < line.known <= 1.0
    height = 600.0 + line.distance * np.tan(line.highest)
    assert height < post + 1.0
    assert line.highest > -line.dip - 5.0 * DEGREE
    text = _terrain(line).text
    assert "from the horizontal" in text and "horizon at sea" in text


@pytest.mark.parametrize(
    ("given", "word", "told"),
    [
        ({"lasts": 20.0}, "short", "less than 30 s"),
        ({"interval": 10.0}, "fixes", "further apart"),
        ({"known": False}, "attitude", "does not support"),
    ],
)
def test_it_tells_when_it_cannot_tell(given, word, told):
    motion = _motion(**given)
    found = felt_ride(_case(), motion, np.random.default_rng(1))
    findings = felt_findings(found, _case(), motion)
    assert findings.silent == word and findings.perception is None
    section, text = _said(findings)
    assert told in text and "cannot tell" in text
    assert not section.tables and not section.panels
    assert not felt_dataset(found, _case()).data_vars


def test_the_longest_stretch_in_the_air_is_looked_at():
    motion = _motion()
    ground = np.zeros(motion.time.size, bool)
    ground[20:24] = True
    time = looked_at(KeptMotion(**vars(motion) | {"ground": ground}), NOON + 60.0)
    assert time[0] == motion.time[24] and np.allclose(np.diff(time), STEP)


def test_the_seat_is_that_of_the_airplane_file():
    body = SimpleNamespace(seat_station=None, nose_station=SimpleNamespace(value=0.5),
                           length=SimpleNamespace(value=10.0))  # fmt: skip
    plane = SimpleNamespace(
        document=SimpleNamespace(fuselage=body, sources={}),
        airplane=SimpleNamespace(mass=SimpleNamespace(cg_station=5.0)),
    )
    case = SimpleNamespace(airplane=plane)
    assert seat_of(case).ahead == pytest.approx(5.0 - 2.5) and not seat_of(case).source
    body.seat_station = SimpleNamespace(value=2.0, sigma=0.1)
    assert seat_of(case).ahead == pytest.approx(3.0) and seat_of(case).sigma == 0.1


def test_the_picture_holds_what_was_flown_and_perceived(thrust, tmp_path):
    found, findings = thrust
    felt_dataset(found, _case()).to_netcdf(tmp_path / "felt.nc", engine="h5netcdf")
    results = SimpleNamespace(folder=tmp_path, findings=SimpleNamespace(felt=findings, epoch=EPOCH))
    (sheet,) = felt_sheets(results)
    upper = sheet.axes[0]
    drawn = {line.get_label(): line.get_ydata() for line in upper.lines}
    assert drawn["observer"][-1] == pytest.approx(np.degrees(np.arctan(0.3)), abs=1.0)
    assert np.abs(drawn["flown, with its 90% band"]).max() < 0.01


def _flat(value, count=60):
    return np.full((2, count), value)


def test_a_push_needs_as_much_pitch_as_it_believed():
    """Felt 10 deg for long and believed by half: 6 deg perceived are enough, 4 deg are not."""
    felt = 9.8 * np.stack([np.full((2, 60), -np.tan(10.0 * DEGREE)), _flat(0.0), _flat(1.0)], -1)
    ride = Ride(0.5, np.zeros((2, 60, 3)), felt, _flat(0.0), _flat(0.0), _flat(0.0))
    pitch = np.stack([_flat(6.0), _flat(4.0)]) * DEGREE
    perceived = Perceived(pitch, pitch, pitch)
    asked = {"begin": np.array([5.0, 5.0]), "belief": np.array([0.5, 0.5]), "lag": 3.0}
    assert enough_felt(ride, perceived, **asked).tolist() == [[True, True], [False, False]]
    # A push that never began in what was flown supplies nothing.
    assert not enough_felt(ride, perceived, **asked | {"begin": np.array([99.0, 99.0])}).any()


def test_a_bank_is_hidden_where_less_than_half_is_perceived():
    bank = np.tile(np.linspace(0.0, -60.0, 60), (2, 1)) * DEGREE
    zero = np.zeros((2, 60))
    ride = Ride(0.5, np.zeros((2, 60, 3)), np.zeros((2, 60, 3)), zero, bank, zero)
    perceived = Perceived(np.stack([zero, zero]), np.stack([0.4 * bank, 0.6 * bank]), zero)
    found = hidden_bank(ride, perceived, np.array([0.0, 0.0]))
    assert found.tolist() == [[True, True], [False, False]]


def test_the_odds_are_told_with_and_without_it():
    """Odds of 0.2, 0.3 and 0.5 with a halved, a fifth and a whole likelihood: 0.4/2.4, 1.5/2.4."""
    names = [CauseName.SOMATOGRAVIC_INPUT, CauseName.SPIRAL_DIVE, CauseName.ELEVATOR_JAM]
    row = EvidenceRow(
        name=PERCEPTION, source="x", doubt=0.4, caution="", kind="perception", nats=[0.0] * 3,
        log_likelihood=[float(np.log(0.5)), float(np.log(0.2)), 0.0],
    )  # fmt: skip
    rows = [
        SimpleNamespace(cause=name, probability=p)
        for name, p in zip(names, (0.2, 0.3, 0.5), strict=True)
    ]
    found = SimpleNamespace(evidence=[row], rows=rows, weighed=names, file="weighing.json")
    (said,) = _perception(found)
    assert "0.20, without it 0.17" in said.text and "0.30, without it 0.62" in said.text


class _Flights(SimpleNamespace):
    """Flights of a cause, all alike, as far as the observers ask of them."""

    def rows(self, chosen):
        course = {key: value[chosen] for key, value in vars(self.course).items()}
        beside = {key: getattr(self, key)[chosen] for key in ("pitch", "north", "east")}
        return _Flights(course=SimpleNamespace(**course), **beside)


def _near(bank, along, **values):
    time = np.arange(0.0, 60.0, 0.5)
    flat = np.zeros((4, time.size))
    course = SimpleNamespace(
        normal_load_factor=flat + 1.0 / np.cos(bank(time)),
        longitudinal_load_factor=flat + along(time),
        bank_angle=flat + bank(time),
        flight_path_angle=flat,
    )
    rate = 9.80665 * np.tan(bank(time)) / 100.0
    way = np.cumsum(rate) * 0.5
    flights = _Flights(
        course=course, pitch=flat, parameters=tuple(values),
        north=flat + 50.0 * np.cumsum(np.cos(way)), east=flat + 50.0 * np.cumsum(np.sin(way)),
        values=np.tile(list(values.values()), (4, 1)),
    )  # fmt: skip
    return SimpleNamespace(flown=flights, weight=np.full(4, 0.25))


def test_a_creeping_bank_is_hidden_and_a_quick_one_is_not():
    """At 1 deg/s the canals have forgotten; at 15 deg/s the bank is perceived nearly whole."""

    def left(rate):
        near = _near(lambda t: np.clip(rate * (t - 10.0), 0.0, 45.0) * DEGREE,
                     lambda t: 0.0 * t, start=10.0, lean=0.0)  # fmt: skip
        (found,) = left_of({CauseName.SPIRAL_DIVE: near}, np.random.default_rng(7))
        return found.share

    assert left(1.0) > 0.9
    assert left(15.0) < 0.5


def test_a_push_after_thrust_is_supplied():
    """A thrust of 0.3 g gives both models more than the half of it that was believed."""
    pushed = _near(lambda t: 0.0 * t, lambda t: 0.3 * (t > 5.0), start=10.0, belief=0.5, power=0.8)
    asked = {CauseName.SOMATOGRAVIC_INPUT: pushed, CauseName.ELEVATOR_JAM: pushed}
    (found,) = left_of(asked, np.random.default_rng(7))
    assert found.cause is CauseName.SOMATOGRAVIC_INPUT and found.share > 0.9


def _held(case, seen):
    still, quick = (
        _near(lambda t, r=rate: np.clip(r * (t - 10.0), 0.0, 45.0) * DEGREE, lambda t: 0.0 * t,
              start=10.0, lean=0.0)
        for rate in (1.0, 15.0)
    )  # fmt: skip
    quick.flown.cause, still.flown.cause = CauseName.SPIRAL_DIVE, CauseName.ELEVATOR_JAM
    near = {CauseName.SPIRAL_DIVE: quick, CauseName.ELEVATOR_JAM: still}
    return Held(case, NOON, near, None, _motion(), horizon=seen)


def test_both_enter_the_odds_with_their_doubt():
    """A bank that was perceived takes from the spiral alone, and a horizon in sight takes more."""
    case = _case()
    case.document.seed, case.document.evidence = 5, ()
    found, unused = contributions(_held(case, HorizonSeen.IN_SIGHT))
    assert not unused and [one.doubt for one in found] == [0.4, 0.3]
    perceived, horizon = (one.log_likelihood for one in found)
    assert np.log(0.4) < perceived[0] < np.log(0.8) and np.allclose(perceived[1:], 0.0)
    # 0.1 and 0.7 with a mean of 0.4, of which 0.3 in 10 say nothing.
    assert np.exp(horizon) == pytest.approx([0.07 + 0.12, 0.49 + 0.12, 0.4])
    (alone,), _ = contributions(_held(case, HorizonSeen.UNKNOWN))
    assert alone.name == PERCEPTION and "supplied on" in alone.source


def test_a_case_that_speaks_of_the_sky_is_not_asked_again():
    case = _case()
    case.document.evidence = ()
    assert horizon_then(case, _motion(), NOON) is HorizonSeen.UNKNOWN  # no report
    assert HORIZON not in items_given(case)
    assert HORIZON in items_given(case, horizon=HorizonSeen.NOT)
    night = NOON - 12.0 * 3600.0
    case.track.epoch = EPOCH.replace(day=12)
    assert horizon_then(case, _motion(), night) in (HorizonSeen.NOT, HorizonSeen.UNKNOWN)
    case.document.facts.sky = "cloud"
    assert horizon_then(case, _motion(), night) is HorizonSeen.UNKNOWN
    assert HORIZON in items_given(case)
