"""`python -m neutralpoint.app.flight_worker CASE`: flies causes for a page, compiled once.

A request is one line of JSON on standard input. An answer is its length as uint32, little-endian,
then `replies.packed` numbers. The process ends when its input ends or nobody asks for a while.
"""

from __future__ import annotations

import json
import os
import select
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, BinaryIO

from neutralpoint.app.replies import packed
from neutralpoint.case import load_case
from neutralpoint.errors import NeutralPointError
from neutralpoint.study.flying.flyer import FlownCause, Flyer
from neutralpoint.study.flying.search import Search, begin_search, go_on
from neutralpoint.vocabulary import QUANTITIES

# s from the start over which a page holds a flight against the motion: the shortest that is flown.
SPAN = 60.0
IDLE = 1200.0  # s without a request after which the process ends


class Rig:
    """The start of a case, and the motion that flights are held against."""

    def __init__(self, folder: Path) -> None:
        self.flyer = Flyer(load_case(folder), SPAN)
        self._searches: dict[tuple[str, str, float | None], Search] = {}

    def fly(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Fly a cause and hold it against the motion.

        Args:
            asked: `cause`, `values` by parameter, `duration`, and perhaps `procedure` and
                `reaction`.

        Returns:
            Curves in the figure's units on its time axis, misfits, and how long it took.

        Raises:
            NeutralPointError: `argument-invalid` for what cannot be flown.
        """
        return self._answer(asked, self._flown(asked, asked["values"]))

    def best(self, asked: dict[str, Any]) -> dict[str, Any]:
        """Look further for the flight of a cause that comes nearest to the motion.

        Args:
            asked: As `fly` takes it, without values, with `seconds`.

        Returns:
            As `fly`, with how many flights have been `tried`.
        """
        hands = (asked["cause"], asked.get("procedure") or "", asked.get("reaction"))
        search = self._searches.setdefault(hands, begin_search(asked["cause"]))
        flown = go_on(
            search,
            asked["cause"],
            lambda values: self._flown(asked, values),
            seconds=asked["seconds"],
            start=self.flyer.start,
        )
        return self._answer(asked, flown) | {"tried": search.tried}

    def _flown(self, asked: dict[str, Any], values: dict[str, float]) -> FlownCause:
        return self.flyer.fly(
            asked["cause"],
            values,
            duration=asked["duration"],
            procedure=asked.get("procedure") or "",
            reaction=asked.get("reaction"),
        )

    def _answer(self, asked: dict[str, Any], flown: FlownCause) -> dict[str, Any]:
        return {
            "ticket": asked.get("ticket"),
            "cause": flown.cause,
            "seconds": flown.seconds,
            "values": flown.values,
            "time": flown.time - self.flyer.axis[0],
            "curves": {name: curve / _factor(name) for name, curve in flown.curves.items()},
            "misfit": {
                "overall": flown.misfit.overall,
                "seconds": SPAN,
                "channels": flown.misfit.channels,
            },
        }


def _factor(name: str) -> float:
    """SI value of one unit of the figure."""
    return QUANTITIES[name].shown.factor


def answered(asked: dict[str, Any], rig: Callable[[], Rig]) -> dict[str, Any]:
    """The answer to one request; a failure is one too.

    Args:
        asked: The request.
        rig: Gives the rig, made on the first call.

    Returns:
        What `Rig.fly` returns, or `error`.
    """
    try:
        return rig().best(asked) if "seconds" in asked else rig().fly(asked)
    except NeutralPointError as error:
        return {"error": error.as_dict()}
    except Exception as fault:
        return {
            "error": {
                "code": "program-fault",
                "message": f"{type(fault).__name__}: {str(fault)[:300]}",
                "where": "flight",
                "hint": "This is a fault of the program, not of the case.",
            }
        }


def _requests(source: BinaryIO):
    """Requests until the input ends or falls silent."""
    while select.select([source], [], [], IDLE)[0]:
        line = source.readline()
        if not line:
            return
        yield json.loads(line)


def main(folder: Path) -> None:
    """Answer requests until they end."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever is printed by accident goes to the error stream
    rigs: list[Rig] = []

    def rig() -> Rig:
        if not rigs:
            rigs.append(Rig(folder))
        return rigs[0]

    for asked in _requests(os.fdopen(0, "rb", buffering=0)):
        data = packed(answered(asked, rig))
        out.write(len(data).to_bytes(4, "little") + data)
        out.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
