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
from neutralpoint.study.flying.flyer import COMPARED, Flyer
from neutralpoint.vocabulary import QUANTITIES

IDLE = 1200.0  # s without a request after which the process ends


class Rig:
    """The start of a case, and the motion that flights are held against."""

    def __init__(self, folder: Path) -> None:
        self.flyer = Flyer(load_case(folder))

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
        flown = self.flyer.fly(
            asked["cause"],
            asked["values"],
            duration=asked["duration"],
            procedure=asked.get("procedure") or "",
            reaction=asked.get("reaction"),
        )
        return {
            "ticket": asked.get("ticket"),
            "cause": flown.cause,
            "seconds": flown.seconds,
            "values": flown.values,
            "time": flown.time - self.flyer.axis[0],
            "curves": {name: curve / _factor(name) for name, curve in flown.curves.items()},
            "misfit": {
                "overall": flown.misfit.overall,
                "seconds": COMPARED,
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
        return rig().fly(asked)
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
