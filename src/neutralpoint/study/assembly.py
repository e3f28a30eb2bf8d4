"""The findings of a case, put together from what its stages have saved."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import neutralpoint
from neutralpoint.findings import CAUTIONS, Findings, ResultFile, Warned, judgement_of, key_times
from neutralpoint.study import inventory
from neutralpoint.study.motion.findings import KEY_QUANTITIES
from neutralpoint.study.record import Record
from neutralpoint.study.stages import Known

KINDS = {"track.nc": "track"}  # files of a stage that bear another name


def assemble(known: Known, records: Iterable[Record], failed: Iterable[Warned]) -> Findings:
    """Put the findings together.

    Args:
        known: The case, with its motion saved.
        records: Of every stage whose results hold, in order.
        failed: Why a stage that was wanted has no results.

    Returns:
        The document.
    """
    case, records = known.case, list(records)
    events, motion = inventory.events(case), known.motion
    made = [record.made for record in records]

    def joined(part: str) -> list:
        return [entry for one in made for entry in getattr(one, part)]

    def one(part: str) -> Any:
        return next((found for m in made if (found := getattr(m, part)) is not None), None)

    moments, weighing = one("moments"), one("weighing")
    return Findings(
        program_version=neutralpoint.__version__,
        seed=case.document.seed,
        cut_off=case.document.cut_off.isoformat(),
        epoch=case.track.epoch,
        subject=inventory.subject(case),
        cautions=list(CAUTIONS),
        sources=inventory.inventory(case),
        assumptions=inventory.assumptions(case),
        resolution=joined("resolution"),
        estimates=joined("estimates"),
        flagged=joined("flagged"),
        events=events,
        key_times=key_times(
            motion.time,
            motion.paths,
            motion.observable,
            names=KEY_QUANTITIES,
            events=events,
            flown=~motion.ground,
        ),
        motion=one("motion"),
        moments=moments,
        weighing=weighing,
        evidence=one("evidence"),
        response=one("response"),
        judgement=judgement_of(moments, weighing),
        results=[
            ResultFile(stage=KINDS.get(name, record.stage), path=name, sha256=sha)
            for record in records
            for name, sha in record.files.items()
        ],
        warnings=[
            *(inventory.warned(warning) for warning in case.warnings),
            *joined("warnings"),
            *failed,
        ],
    )
