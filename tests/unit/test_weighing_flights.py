"""Flights kept on disk, sent to a cluster, and blind cases judged: on jobs that cost nothing."""

from __future__ import annotations

from operator import attrgetter

import numpy as np
import pytest

from neutralpoint.errors import NeutralPointError
from neutralpoint.store import Store
from neutralpoint.study.weighing.cluster import cluster
from neutralpoint.study.weighing.flights import FOLDER, KeptFlights, job_digest
from neutralpoint.study.weighing.kept import keep, kept
from neutralpoint.weighing.nearest import Near
from neutralpoint.weighing.odds import Odds
from neutralpoint.weighing.simulate import FlightJob
from neutralpoint.weighing.weigh import Posterior, Weighed


def job(number: int) -> FlightJob:
    numbers = np.arange(4) + 10 * number
    return FlightJob(None, (), np.zeros(2, np.uint32), numbers, 20.0, 40.0, 4)


def flyer(flown: list[int], until: int = 99):
    def send(jobs):
        for place, one in enumerate(jobs):
            if len(flown) == until:
                raise KeyboardInterrupt
            flown.append(int(one.numbers[0]))
            yield place, one.numbers + 0.123456789

    return send


def keeper(tmp_path, flown, told=None, **more):
    tell = (lambda done, of: None) if told is None else (lambda done, of: told.append((done, of)))
    return KeptFlights(tmp_path, tell, send=flyer(flown, **more), expected=4)


def test_a_digest_speaks_of_everything_that_is_flown():
    assert job_digest(job(1)) == job_digest(job(1))
    assert job_digest(job(1)) != job_digest(job(2))
    assert job_digest(job(1)) != job_digest(job(1)._replace(duration=21.0))


def test_what_a_stopped_run_flew_is_not_flown_again(tmp_path):
    jobs, first, second, told = [job(k) for k in range(4)], [], [], []
    with pytest.raises(KeyboardInterrupt):
        keeper(tmp_path, first, until=2)(jobs)
    rows = keeper(tmp_path, second, told)(jobs)
    assert (first, second) == ([0, 10], [20, 30])
    assert told == [(2, 4), (3, 4), (4, 4)]
    whole = keeper(tmp_path / "other", []) if (tmp_path / "other").mkdir() is None else None
    for own, fresh in zip(rows, whole(jobs), strict=True):
        assert own.dtype == np.float32
        assert own.tobytes() == fresh.tobytes()


@pytest.mark.parametrize("harm", [lambda b: b[:-1], lambda b: b"", lambda b: b[:-1] + b"x"])
def test_a_damaged_chunk_is_flown_again(tmp_path, harm):
    keeper(tmp_path, [])([job(0), job(1)])
    (path,) = (tmp_path / FOLDER).glob(f"flights-{job_digest(job(0))}-*.npz")
    path.write_bytes(harm(path.read_bytes()))
    flown: list[int] = []
    keeper(tmp_path, flown)([job(0), job(1)])
    assert flown == [0]


def test_chunks_of_other_runs_go(tmp_path):
    keeper(tmp_path, [])([job(0)])
    kept = keeper(tmp_path, [])
    kept([job(1)])
    kept.forget_others()
    (left,) = (tmp_path / FOLDER).iterdir()
    assert left.name.startswith(f"flights-{job_digest(job(1))}")
    kept.forget_all()
    assert not (tmp_path / FOLDER).exists()


def test_a_cluster_that_does_not_answer_is_one_clear_error(monkeypatch):
    pytest.importorskip("distributed", reason="needs the optional extra `dask`")
    monkeypatch.setattr("neutralpoint.study.weighing.cluster.PATIENCE", "100ms")
    with pytest.raises(NeutralPointError) as caught, cluster("tcp://127.0.0.1:9"):
        pass
    assert caught.value.code == "cluster-unreachable"
    assert caught.value.where == "tcp://127.0.0.1:9"


def test_without_the_extra_the_error_names_it(monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(NeutralPointError) as caught, cluster("tcp://127.0.0.1:9"):
        pass
    assert caught.value.code == "extra-missing"
    assert "neutralpoint[dask]" in caught.value.hint


@pytest.mark.slow  # two processes that compile the same flight, ten seconds
@pytest.mark.filterwarnings("default")
def test_two_workers_fly_and_a_run_without_them_takes_it_up(tmp_path):
    distributed = pytest.importorskip("distributed", reason="needs the optional extra `dask`")
    jobs = [job(k) for k in range(6)]
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as local,
        cluster(local.scheduler_address, attrgetter("numbers")) as send,
    ):
        kept = KeptFlights(tmp_path, lambda done, of: None, send=send, expected=6)
        rows = kept(jobs)
    assert [row[0] for row in rows] == [0, 10, 20, 30, 40, 50]
    flown: list[int] = []
    keeper(tmp_path, flown)(jobs)
    assert flown == []


def test_a_flight_beyond_single_precision_is_kept_without_a_warning(tmp_path):
    """A lost flight's features may pass 1e38; warnings are errors in the tests."""
    wild = np.array([[1.0, -1e300], [np.inf, np.nan]])
    keep = KeptFlights(tmp_path, lambda done, of: None, send=lambda jobs: [(0, wild)], expected=1)
    (kept,) = keep([job(1)])
    assert kept.dtype == np.float32
    assert kept[0, 1] < -1e38 and np.isfinite(kept[1, 0]) and np.isnan(kept[1, 1])


def test_what_the_track_says_is_kept_whole(tmp_path):
    row, store = np.linspace(0.1, 0.9, 3), Store(tmp_path / FOLDER)
    odds = Odds(("a", "b", "c"), *(row + k for k in range(6)))
    near = {"a": Near(row, 1, 0.5, "speed", 2, -1.5)}
    found = {"a": Posterior(("start",), row[:, None], True, 0.25)}
    said = Weighed(odds, row[None], -1.25, row, row, near, found, "b", {"a": 0.5})
    keep(said, store, "first")
    keep(said, store, "second")
    assert kept(store, "first") is None  # it went when the next one was kept
    again = kept(store, "second")
    assert again.odds.causes == odds.causes and again.parameters["a"].names == ("start",)
    np.testing.assert_array_equal(again.odds.high, odds.high)
    np.testing.assert_array_equal(again.near["a"].weight, row)
    assert (again.twin, again.held_out, again.traced) == ("b", -1.25, {"a": 0.5})
