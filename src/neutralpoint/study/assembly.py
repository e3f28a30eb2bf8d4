"""The findings of a case, put together from what its stages have saved."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import neutralpoint
from neutralpoint.case import Case
from neutralpoint.findings import (
    CAUTIONS,
    Findings,
    KeyTime,
    ResultFile,
    Warned,
    WeighingFindings,
    judgement_of,
    onset_headline,
)
from neutralpoint.findings.worded import Stage as StageName
from neutralpoint.study import inventory
from neutralpoint.study.motion.file import KeptMotion
from neutralpoint.study.motion.findings import KEY_QUANTITIES
from neutralpoint.study.motion.key_times import key_times
from neutralpoint.study.record import Record
from neutralpoint.study.stages import Known

KINDS: dict[str, StageName] = {"track.nc": "track"}  # files of a stage that bear another name


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
    made = [record.made for record in records]

    def joined(part: str) -> list:
        return [entry for one in made for entry in getattr(one, part)]

    def one(part: str) -> Any:
        return next((found for m in made if (found := getattr(m, part)) is not None), None)

    moments, weighing = one("moments"), one("weighing")
    return Findings(
        program_version=neutralpoint.__version__,
        seed=case.document.seed,
        epoch=case.track.epoch,
        cautions=list(CAUTIONS),
        sources=inventory.inventory(case),
        assumptions=inventory.assumptions(case),
        resolution=joined("resolution"),
        estimates=joined("estimates"),
        flagged=joined("flagged"),
        key_times=key_times_of(case, known.motion),
        motion=one("motion"),
        onset=onset_headline(one("motion"), moments),
        moments=moments,
        physics=one("physics"),
        history=one("history"),
        weighing=None if weighing is None else as_heard(weighing, case),
        signatures=one("signatures"),
        evidence=one("evidence"),
        response=one("response"),
        judgement=judgement_of(moments, weighing),
        limits=one("limits"),
        wreckage=one("wreckage"),
        heard=one("heard"),
        felt=one("felt"),
        outside=one("outside"),
        endings=joined("endings"),
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
        **texts_of(case),
    )


def texts_of(case: Case) -> dict[str, Any]:
    """What is printed of a case as it stands in it, by key of the findings.

    Args:
        case: The case.

    Returns:
        Subject, cut-off and events.
    """
    return {
        "subject": inventory.subject(case),
        "cut_off": case.document.cut_off.isoformat(),
        "events": inventory.events(case),
    }


def as_heard(weighing: WeighingFindings, case: Case) -> WeighingFindings:
    """The odds, with whether the case holds words from radio or recording now."""
    heard = any(event.kind == "voice" for event in case.events)
    return weighing.model_copy(update={"heard": heard})


def key_times_of(case: Case, motion: KeptMotion) -> list[KeyTime]:
    """The table at key times, with the events of the case.

    Args:
        case: The case.
        motion: As its stage saved it.

    Returns:
        Its rows.
    """
    return key_times(
        motion.time,
        motion.paths,
        motion.observable,
        names=KEY_QUANTITIES,
        events=inventory.events(case),
        flown=~motion.ground,
    )
