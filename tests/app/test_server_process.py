"""The real process: an address that only this machine reaches, and nothing left when it ends."""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from neutralpoint.app.folders import CASE_FILE
from neutralpoint.app.serving import _bound, _hosts
from neutralpoint.case.load import NAME
from neutralpoint.errors import NeutralPointError


def asked(address: str, **headers: str) -> tuple[int, bytes]:
    request = urllib.request.Request(address, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=30) as answer:
            return answer.status, answer.read()
    except urllib.error.HTTPError as refused:
        return refused.code, refused.read()


def test_a_case_is_served_until_it_is_ended(served_case: Path):
    command = [sys.executable, "-m", "neutralpoint", "serve", str(served_case), "--no-open"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        try:
            line = process.stdout.readline().decode()
            address = line.strip().rstrip("/")
            assert re.fullmatch(r"http://127\.0\.0\.1:\d+", address)
            status, page = asked(f"{address}/c/hollow/")
            assert status == 200
            token = re.search(rb'np-token" content="([^"]+)"', page)[1].decode()
            assert asked(f"{address}/", Host="evil.example")[0] == 421
            assert b"np-token" not in asked(f"{address}/")[1]  # a case alone: none is begun here
            api = f"{address}/c/hollow/api"
            with urllib.request.urlopen(f"{address}/events", timeout=30) as events:
                assert events.readline() == b"retry: 1000\n"
                made = urllib.request.Request(
                    f"{api}/file?name=new.csv",
                    data=b"a,b\n1,2\n",
                    method="PUT",
                    headers={"Origin": address, "X-NP-Token": token},
                )
                with urllib.request.urlopen(made, timeout=30) as answer:
                    assert json.load(answer) == {"file": "new.csv"}
                while events.readline() != b"event: state\n":
                    pass
                begun = time.monotonic()
                process.send_signal(signal.SIGINT)
                events.read()  # the stream ends by itself
            assert process.wait(30) == 0
            assert time.monotonic() - begun < 15.0  # a loaded machine; about 0.2 s on an idle one
            assert process.stderr.read() == b""
        finally:
            process.kill()


def test_an_address_that_is_held_is_an_error():
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(NeutralPointError) as refused:
            _bound("127.0.0.1", other.getsockname()[1])
    assert refused.value.code == "argument-invalid"
    assert "--port" in refused.value.where


def test_hosts_are_names_of_this_server_with_its_port():
    assert _hosts("127.0.0.1", 80) == {"127.0.0.1:80", "localhost:80", "[::1]:80"}
    assert _hosts("192.0.2.7", 8000) == {"192.0.2.7:8000"}
    assert f"{socket.gethostname()}:1" in _hosts("0.0.0.0", 1)


def test_the_case_file_has_one_name():
    assert CASE_FILE == NAME
