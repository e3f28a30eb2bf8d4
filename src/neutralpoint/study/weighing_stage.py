"""The stage `weighing`, saved and put into words."""

from __future__ import annotations

from neutralpoint.study.moments_stage import without_airplane
from neutralpoint.study.record import Made
from neutralpoint.study.stages import Stage, Work
from neutralpoint.study.weighing import (
    WEIGHING_FILE,
    weighing_document,
    weighing_section,
    work_out_weighing,
)


def _run(work: Work) -> Made:
    work.tell("Flying every cause and weighing them", 0.0)
    found = work_out_weighing(work.case, work.motion, work.moments, quick=not work.settings["full"])
    work.save_json(WEIGHING_FILE, weighing_document(found))
    return Made(sections=(weighing_section(found),))


STAGE = Stage(
    name="weighing",
    title="The odds",
    needs=("motion", "moments"),
    run=_run,
    settings={"full": False},
    cannot=without_airplane,
    ignores=frozenset({"terrain"}),
    seconds=45.0,
)
