"""Programs that run once or a few times: compiled quickly, not to run quickly."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, wraps
from typing import Any, TypeVar

import jax

Returned = TypeVar("Returned")
# A steady flight and what hangs on it take seconds to compile and a millisecond to run. Without
# the fusion emitters, which repeat shared parts in every output, and without optimization they
# compile three to four times as fast; results differ by rounding (benchmarks/flight_batch.py has
# what batches of flights would lose, so those are compiled as XLA does it).
QUICKLY = {"xla_backend_optimization_level": 0, "xla_cpu_use_fusion_emitters": False}


def quickly(function: Callable[..., Returned], **settings: Any) -> Callable[..., Returned]:
    """A function as a program that compiles quickly, where the processor runs it.

    Args:
        function: Traceable. The program is called from outside of others only.
        **settings: As of `jax.jit`.

    Returns:
        The program.
    """

    @cache
    def program() -> Callable[..., Returned]:
        return jax.jit(function, compiler_options=_options(), **settings)

    @wraps(function)
    def call(*arguments: Any, **named: Any) -> Returned:
        return program()(*arguments, **named)

    return call


@cache
def _options() -> dict[str, Any] | None:
    """The options, where the processor runs programs and its compiler knows them.

    Asked at the first call of a program, because asking starts the backend.
    """
    if jax.default_backend() != "cpu":
        return None
    try:
        jax.jit(lambda x: x + 1.0, compiler_options=QUICKLY)(0.0)
    except (jax.errors.JaxRuntimeError, ValueError):
        return None  # another release of the compiler
    return QUICKLY
