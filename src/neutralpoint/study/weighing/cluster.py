"""Flights sent to a Dask cluster, whose workers have this program installed too."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import cast

from numpy.typing import NDArray

from neutralpoint.errors import NeutralPointError
from neutralpoint.study.record import program_digest
from neutralpoint.study.weighing.flights import Send
from neutralpoint.weighing.simulate import FlightJob, fly_job

PATIENCE = "10s"  # until a scheduler that does not answer is given up
HINT = "Start it with `dask scheduler` and `dask worker`, and give its address, tcp://host:8786."


@contextmanager
def cluster(address: str, fly: Callable[[FlightJob], NDArray] = fly_job) -> Iterator[Send]:
    """Send chunks of flights to a cluster.

    Args:
        address: Of the scheduler.
        fly: What a worker does with a chunk.

    Yields:
        Flies chunks; results come in the order in which workers end.

    Raises:
        NeutralPointError: `extra-missing` without the optional extra, `cluster-unreachable` where
            nobody answers, no worker is there, or a worker has another program.
    """
    try:
        from distributed import Client
    except ImportError as missing:
        raise NeutralPointError(
            "extra-missing",
            "Flights can be sent to a cluster only with the optional extra `dask`.",
            where="--dask",
            hint="Install it with `pip install neutralpoint[dask]`.",
        ) from missing
    try:
        client = Client(address, timeout=PATIENCE)
    except (OSError, ValueError, TimeoutError) as silent:
        raise _unreachable(address, f"does not answer: {silent}".rstrip(": "), HINT) from silent
    with client:
        found = cast(dict[str, str], client.run(program_digest))  # by worker: it waits here
        if not found:
            raise _unreachable(address, "has no workers.", HINT)
        if set(found.values()) != {program_digest()}:
            raise _unreachable(
                address,
                "has a worker with another version of this program.",
                "Install the same version there.",
            )
        yield lambda jobs: _sent(client, fly, jobs)


def _sent(client, fly, jobs: list[FlightJob]) -> Iterable[tuple[int, NDArray]]:
    from distributed import as_completed

    numbers = {}
    for number, job in enumerate(jobs):
        numbers[client.submit(fly, job, pure=False)] = number
    for future in as_completed(list(numbers)):
        yield numbers[future], future.result()


def _unreachable(address: str, what: str, hint: str) -> NeutralPointError:
    return NeutralPointError("cluster-unreachable", f"The cluster {what}", where=address, hint=hint)
