"""`neutralpoint airplane`: numbers, picture and errors, through the command line."""

import json
from itertools import pairwise

import pytest

from neutralpoint.cli.entry import run
from neutralpoint.quantities import KNOT, POUND_FORCE


@pytest.fixture(scope="module")
def described(tmp_path_factory):
    """The commuter's JSON document, drawn as well."""
    figure = tmp_path_factory.mktemp("airplane") / "velmar.svg"
    with pytest.MonkeyPatch.context() as patch:
        written = []
        patch.setattr("sys.stdout.write", written.append)
        arguments = ["airplane", "velmar-19", "--json", "--draws", "20", "--figure", str(figure)]
        code = run([*arguments, "--move", "baggage", "--to", "2.0 m"])
    return code, json.loads("".join(written)), figure


def test_document_and_picture(described):
    code, document, figure = described
    assert code == 0
    assert figure.read_text(encoding="utf-8").startswith("<?xml")
    assert document["name"] == "Velmar 19"
    assert document["move"]["margins"]["take-off and flight"]["forward"] < 0.0


def test_force_at_the_stop_grows_and_passes_seventy_pounds(described):
    # Fact of the trade (common practice, no source): past 70 lb soon after take-off.
    _, document, _ = described
    speeds, pulls = document["calibrated_airspeed"], document["pull_at_stop"]["given"]
    assert all(after > before for before, after in pairwise(pulls))
    near = min(range(len(speeds)), key=lambda i: abs(speeds[i] - 135 * KNOT))
    assert pulls[near] > 70 * POUND_FORCE
    crossover = document["crossover"]["two hands, 14 CFR 23.143"]["given"]
    assert 110 * KNOT < crossover < 160 * KNOT


def test_bands_hold_the_airplane_as_given(described):
    _, document, _ = described
    for name in ("force_per_g", "neutral_point", "neutral_point_free"):
        found = document[name]
        assert found["low"] < found["given"] < found["high"]
        assert found["low"] < found["median"] < found["high"]
    assert document["trim_speed"] == pytest.approx(1.45 * document["stall_speed"])


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["airplane", "no-such-plane"], "file-missing"),
        (["airplane", "velmar-19", "--move", "baggage"], "argument-invalid"),
        (["airplane", "velmar-19", "--move", "cat", "--to", "3 m"], "argument-invalid"),
        (["airplane", "velmar-19", "--figure", "plane.doc"], "argument-invalid"),
    ],
)
def test_errors_come_in_four_fields(arguments, code, capsys):
    assert run([*arguments, "--json"]) == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert error["code"] == code
    assert set(error) == {"code", "message", "where", "hint"}
