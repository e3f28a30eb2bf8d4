"""The stage `weighing`, saved and put into words."""

from __future__ import annotations

from contextlib import nullcontext

from neutralpoint.findings import Warned
from neutralpoint.study.facts import facts_of
from neutralpoint.study.heard.work_out import telling
from neutralpoint.study.moments.stage import without_airplane
from neutralpoint.study.record import Made
from neutralpoint.study.settings import WeighingSettings
from neutralpoint.study.stages import Stage, Work
from neutralpoint.study.weighing.cluster import cluster
from neutralpoint.study.weighing.endings import cause_endings
from neutralpoint.study.weighing.file import (
    WEIGHING_DATA,
    weighing_document,
    weighing_tree,
)
from neutralpoint.study.weighing.findings import weighing_findings
from neutralpoint.study.weighing.flights import KeptFlights, fly_here
from neutralpoint.study.weighing.next_evidence import evidence_findings
from neutralpoint.study.weighing.prior import belief_of
from neutralpoint.study.weighing.saved import WEIGHING_FILE
from neutralpoint.study.weighing.signatures import (
    SIGNATURES_FILE,
    signature_findings,
    signatures_dataset,
    signatures_of,
)
from neutralpoint.study.weighing.work_out import FLIGHTS_SHARE, work_out_weighing
from neutralpoint.weighing.signatures import fly_hands_off


def _run(work: Work[WeighingSettings]) -> Made:
    address = work.settings.dask
    # Refused before anything is worked out.
    belief_of(work.case, work.settings.prior, facts_of(work.case))

    record = work.held.get("history")
    earlier = None if record is None else record.made.history

    def flown(done: int, expected: int) -> None:
        share = FLIGHTS_SHARE * min(done / max(expected, 1), 1.0)
        work.tell("Flying every cause", share)

    traced = work.known.wreckage
    with cluster(address) if address else nullcontext(fly_here) as send:
        kept = KeptFlights(work.results, flown, send=send)
        found = work_out_weighing(
            work.case,
            work.motion,
            work.known.looked_at,
            kept,
            weights=work.settings.prior,
            tell=work.tell,
            earlier=earlier,
            heard=telling(work.known.heard),
            in_flight=None if traced is None else traced.in_flight,
        )
        hands_off = fly_hands_off(found.predictive, kept)
    work.tell("Writing the odds", 0.95)
    signatures = signatures_of(found, work.motion, hands_off)
    work.save_dataset(SIGNATURES_FILE, signatures_dataset(signatures, found, work.case))
    drive = work.known.looked_at.airplane.airplane.trim_drive
    saved = weighing_document(found, drive)
    work.save_json(WEIGHING_FILE, saved.model_dump(mode="json"))
    work.save_tree(WEIGHING_DATA, weighing_tree(found, work.case))
    kept.forget_others()
    return Made(
        weighing=weighing_findings(found, drive, work.results),
        signatures=signature_findings(signatures, found, hands_off),
        evidence=evidence_findings(saved),
        endings=()
        if traced is None
        else cause_endings(work.case, work.motion, found.begin, found.predictive, found.odds),
        warnings=tuple(Warned(**error.as_dict()) for error in found.unused),
    )


STAGE = Stage(
    name="weighing",
    title="The odds",
    needs=("motion", "moments"),
    run=_run,
    settings=WeighingSettings(),
    cannot=without_airplane,
    ignores=frozenset({"response", "history", "outside"}),
    seconds=45.0,
    uses=("history",),
)
