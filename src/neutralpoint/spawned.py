"""Worker processes that do not wait for ever where one of them dies as another starts."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from typing import Any


@contextmanager
def spawned_pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    """A pool of processes that is ended with the block.

    Args:
        workers: How many.

    Yields:
        The pool; parts are handed to it by `submit_part`.

    Raises:
        BrokenProcessPool: Passed on, where a worker was ended from outside.
    """
    # Spawned, since a fork of a process with threads may hang.
    context = multiprocessing.get_context("spawn")
    others = set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(workers, mp_context=context)
    try:
        yield pool
    except BrokenProcessPool:
        # The pool ends its workers, but not one that was only starting, and waits for it.
        for worker in set(multiprocessing.active_children()) - others:
            worker.kill()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def submit_part(pool: Any, call: Callable[..., Any], *given: Any) -> Future[Any]:
    """Hand a part of the work to a pool.

    Args:
        pool: Of `spawned_pool`, or one that is called alike.
        call: Function of a module.
        given: What it is called with.

    Returns:
        What will come of it.

    Raises:
        BrokenProcessPool: Where no worker could be started.
    """
    try:
        return pool.submit(call, *given)
    except OSError as closed:  # a worker was starting as the pool broke, and found its pipes closed
        raise BrokenProcessPool("No worker could be started.") from closed
