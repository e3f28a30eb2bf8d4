"""Flights for a page: the newest request wins, and a process that breaks down is started anew.

A stand-in for the flying process answers at once or slowly; flights of causes are tested elsewhere.
"""

from __future__ import annotations

import json
import sys
import threading
import time

import numpy as np
import pytest

from neutralpoint.app import flight_worker
from neutralpoint.app import flights as module
from neutralpoint.app.flights import FlightService, Superseded
from neutralpoint.errors import NeutralPointError

API = "/c/hollow/api"
STAND_IN = """
import json, os, sys, time
for line in sys.stdin:
    asked = json.loads(line)
    if asked["cause"] == "breaks":
        print("it broke here", file=sys.stderr, flush=True)
        os._exit(9)
    if asked["cause"] == "silent":
        time.sleep(600)
    time.sleep(asked["values"].get("wait", 0.0))
    found = {"ticket": asked.get("ticket"), "process": os.getpid(), "asked": asked}
    if asked["cause"] == "refused":
        found = {"error": {"code": "argument-invalid", "message": "m", "where": "w", "hint": "h"}}
    text = json.dumps(found, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    data = len(text).to_bytes(4, "little") + text
    sys.stdout.buffer.write(len(data).to_bytes(4, "little") + data)
    sys.stdout.buffer.flush()
"""


@pytest.fixture
def stand_in(monkeypatch, tmp_path):
    """The command of flights starts the stand-in instead."""
    script = tmp_path / "stand_in.py"
    script.write_text(STAND_IN)
    started = module.subprocess.Popen

    def instead(command, **more):
        return started([sys.executable, str(script)], **more)

    monkeypatch.setattr(module.subprocess, "Popen", instead)


@pytest.fixture
def flights(stand_in, tmp_path):
    held = FlightService(tmp_path, lambda: "same")
    yield held
    held.close()


def said(data: bytes):
    size = int.from_bytes(data[:4], "little")
    return json.loads(data[4 : 4 + size])


def asked(ticket: int, cause: str = "any", **values: float):
    return {"cause": cause, "values": values, "ticket": ticket}


def test_one_process_flies_one_after_the_other(flights):
    found = [said(flights.fly(asked(n))) for n in range(3)]
    assert [one["ticket"] for one in found] == [0, 1, 2]
    assert len({one["process"] for one in found}) == 1


def test_the_newest_request_wins(flights):
    flights.fly(asked(-1))
    ended: list[tuple[int, str, float]] = []

    def ask(number: int) -> None:
        begun = time.monotonic()
        try:
            how = str(said(flights.fly(asked(number, wait=0.8)))["ticket"])
        except Superseded:
            how = "superseded"
        ended.append((number, how, time.monotonic() - begun))

    threads = [threading.Thread(target=ask, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
        time.sleep(0.02)
    for thread in threads:
        thread.join()
    flown = {number for number, how, _ in ended if how != "superseded"}
    assert flown == {0, 7}  # the one in the air, and the newest
    waited = [took for _, how, took in ended if how == "superseded"]
    assert max(waited) < 0.7  # answered when overtaken, not when the air is free


def test_a_breakdown_is_told_and_mended(flights):
    first = said(flights.fly(asked(1)))["process"]
    with pytest.raises(NeutralPointError) as broken:
        flights.fly(asked(2, cause="breaks"))
    assert broken.value.code == "program-fault"
    assert "it broke here" in broken.value.message
    assert said(flights.fly(asked(3)))["process"] != first


def test_a_silent_process_is_given_up(flights, monkeypatch):
    flights.fly(asked(1))
    monkeypatch.setattr(module, "PATIENCE", 0.3)
    with pytest.raises(NeutralPointError) as given_up:
        flights.fly(asked(2, cause="silent"))
    assert "TimeoutError" in given_up.value.message


def test_a_changed_case_starts_anew(stand_in, tmp_path):
    stamp = ["one"]
    held = FlightService(tmp_path, lambda: stamp[0])
    first = said(held.fly(asked(1)))["process"]
    assert said(held.fly(asked(2)))["process"] == first
    stamp[0] = "two"
    assert said(held.fly(asked(3)))["process"] != first
    held.close()
    with pytest.raises(Superseded):
        held.fly(asked(4))


def test_the_flying_process_answers_whatever_happens():
    def breaks():
        raise RuntimeError("a fault")

    def refuses():
        raise NeutralPointError("argument-invalid", "m", where="w", hint="h")

    assert flight_worker.answered({}, refuses)["error"]["code"] == "argument-invalid"
    told = flight_worker.answered({}, breaks)["error"]
    assert told["code"] == "program-fault"
    assert "a fault" in told["message"]


def test_the_page_asks_for_flights(stand_in, workbench):
    body = {"cause": "spiral-dive", "values": {"bank": 0.2}, "duration": 30, "ticket": 5}
    answer = workbench.post(f"{API}/fly", json=body)
    assert answer.headers["content-type"] == "application/octet-stream"
    found = said(answer.content)
    assert found["ticket"] == 5
    assert found["asked"]["values"] == {"bank": 0.2}
    mapped = {
        "cause": "spiral-dive",
        "values": {"reaction": 3.0, "bank": 0.1},
        "procedure": "column force alone",
    }
    found = said(workbench.post(f"{API}/fly", json=mapped).content)["asked"]
    assert (found["reaction"], found["values"]) == (3.0, {"bank": 0.1})
    assert found["procedure"] == "column force alone"
    refused = workbench.post(f"{API}/fly", json={"cause": "refused"})
    assert refused.status_code == 422
    assert refused.json()["error"]["message"] == "m"
    for wrong in (
        {},
        {"cause": 7},
        {"cause": "spiral-dive", "values": {"bank": "much"}},
        {"cause": "spiral-dive", "values": [1]},
        {"cause": "spiral-dive", "duration": 1e9},
        {"cause": "spiral-dive", "reaction": -1},
    ):
        assert workbench.post(f"{API}/fly", json=wrong).status_code in (400, 422), wrong


def test_causes_are_listed_for_the_airplane(stand_in, workbench, served_case):
    found = workbench.get(f"{API}/causes").json()
    causes = {cause["name"]: cause for cause in found["causes"]}
    assert found["cannot"] == ""
    assert causes["stabilizer-runaway"]["can_act"] is True
    assert causes["tab-runaway"]["can_act"] is False
    assert causes["tab-runaway"]["why_not"]
    assert causes["unlisted"]["can_act"] is False
    assert set(causes["stabilizer-runaway"]["procedures"]) <= set(found["procedures"])
    for cause in causes.values():
        for parameter in cause["parameters"]:
            low, value, high = (parameter[key] for key in ("low", "value", "high"))
            assert low <= value <= high, (cause["name"], parameter)
            assert np.isfinite([low, high]).all()
            assert parameter["meaning"]
            assert parameter["source"]
    # Without a moment to begin at, one sentence says so for all of them.
    case = served_case / "case.toml"
    case.write_text(case.read_text("utf-8").replace("onset = ", "# onset = "), "utf-8")
    (served_case / "results" / "moments.nc").unlink()
    found = workbench.get(f"{API}/causes").json()
    assert found["start"] is None
    assert "state under What the analyst settled when the upset began" in found["cannot"]
    assert not any(cause["can_act"] for cause in found["causes"])
