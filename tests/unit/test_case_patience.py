"""Reading is stopped with the figure, and what was asked of the clock before stands."""

from __future__ import annotations

import signal
import threading

import pytest

from neutralpoint.case.patience import patient
from neutralpoint.errors import NeutralPointError


def test_what_takes_too_long_is_stopped(tmp_path):
    before = signal.getsignal(signal.SIGVTALRM)
    with pytest.raises(NeutralPointError) as caught, patient(tmp_path, 0.05):
        while True:
            pass
    assert caught.value.code == "reading-slow" and "0.05 s" in caught.value.message
    assert signal.getsignal(signal.SIGVTALRM) == before
    assert signal.getitimer(signal.ITIMER_VIRTUAL) == (0.0, 0.0)


def test_what_is_quick_is_not(tmp_path):
    with patient(tmp_path, 30.0):
        found = sum(range(1000))
    assert found == 499500 and signal.getitimer(signal.ITIMER_VIRTUAL) == (0.0, 0.0)


def test_another_thread_reads_as_before(tmp_path):
    done = []

    def read() -> None:
        with patient(tmp_path, 0.001):
            done.append(sum(range(100_000)))

    thread = threading.Thread(target=read)
    thread.start()
    thread.join()
    assert done
