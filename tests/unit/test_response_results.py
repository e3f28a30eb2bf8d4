"""What is kept and said of time and strength: shares with their errors, open ends, cautions."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr

from neutralpoint.case.facts_entry import FactsEntry
from neutralpoint.explanations import CAUSES, Prior
from neutralpoint.findings import LatestAction, ResponseStart
from neutralpoint.moments import Judgement, Word
from neutralpoint.report.words.response import latest_words, response_section
from neutralpoint.response import REACTION, REACTION_SOURCE, REGULATORY_DELAYS, Outcome
from neutralpoint.study.motion.file import store_tree
from neutralpoint.study.response.answered import Answered, Force
from neutralpoint.study.response.direction import FaultWay
from neutralpoint.study.response.file import latest_quantiles, read_summary, response_tree
from neutralpoint.study.response.findings import response_findings
from neutralpoint.study.response.work_out import (
    DELAY,
    RATE,
    RATE_DELAY,
    Reaction,
    Responses,
    chosen_causes,
    stated_reaction,
)
from neutralpoint.vocabulary import CauseName

EPOCH = datetime(2031, 5, 1, 18, 0, 0, tzinfo=UTC)

PROCEDURES = ("column force alone", "latch", "lesson: sound of trim")
PILOTS = 8


def outcome(*shape, share):
    """Flights of which a share is saved, every one losing 100 m."""
    whole = np.full(shape, 1.0)
    recovered = np.where(np.arange(shape[-1]) < share * shape[-1], 20.0, np.inf) * whole
    pressure = 0.5 * 1.225 * 100.0**2  # of 100 m/s equivalent
    return Outcome(
        100.0 * whole,
        pressure * whole,
        1.5 * whole,
        pressure * whole,
        1.5 * whole,
        0.5 * whole,
        300.0 * whole,
        0.25 * pressure * whole,  # of half the speed
        0.2 * whole,
        0.01 * whole,
        50.0 * whole,
        150.0 * whole,
        recovered,
    )


@pytest.fixture(scope="module")
def found(commuter):
    count = len(PROCEDURES)
    latest = np.array([[np.nan] * 8, [-1.0] * 3 + [4.0] * 4 + [np.inf], [np.inf] * 8])
    time = np.linspace(-1.0, 19.0, 41)
    answered = Answered(
        cause=CAUSES["stabilizer-runaway"],
        flown=FaultWay("nose-up", "stays", 0.97),
        procedures=PROCEDURES,
        lessons=PROCEDURES[2:],
        reference="latch",
        over_height=outcome(count, len(DELAY), PILOTS, share=0.5),
        over_rate=outcome(count, len(RATE), len(RATE_DELAY), 4, share=0.25),
        stated=outcome(count, PILOTS, share=0.5),
        regulatory=outcome(count, len(REGULATORY_DELAYS), PILOTS, share=1.0),
        latest=latest,
        force=Force(time, 30.0 * time, 0.0 * time, 0.0 * time + 1.0),
    )
    return Responses(
        setting=SimpleNamespace(airplane=commuter),
        begin=10.0,
        height=500.0,
        height_source="a default: the case states none and has no terrain below the track",
        level=np.array([50.0, 500.0]),
        reaction=Reaction(REACTION, REACTION_SOURCE),
        answered=(answered,),
        left_out=(("Spiral", "No reason."),),
    )


@pytest.fixture(scope="module")
def saved_file(found, tmp_path_factory):
    path = tmp_path_factory.mktemp("response") / "response.nc"
    store_tree(path, response_tree(found))
    return path


def test_the_file_describes_itself(saved_file, repository):
    with xr.open_datatree(saved_file, engine="h5netcdf") as tree:
        group = tree["stabilizer-runaway"].to_dataset().load()
        about = dict(tree.attrs)
    for name, variable in group.data_vars.items():
        assert variable.attrs["long_name"] and variable.attrs["units"], name
    page = (repository / "docs" / "reference" / "result-files.md").read_text("utf-8")
    kept = {str(name).removesuffix("_low").removesuffix("_high") for name in group.data_vars}
    assert all(f"`{name}`" in page for name in kept)
    shares = [name for name in group if str(name).startswith("saved_")]
    assert all(f"{name}_low" in group for name in shares if not name.endswith(("_low", "_high")))
    assert (group["saved_over_height"].sel(level=50.0) == 0.0).all()  # 100 m are lost
    assert (group["saved_over_height"].sel(level=500.0) == 0.5).all()
    assert group.attrs["direction"] == "nose-up" and group.attrs["nose_up"] == 0.97
    assert "not stalled" in group.attrs["recovered"]
    assert group["saved_over_rate"].dims == ("procedure", "rate_delay", "rate")
    assert (group["saved_over_rate"] == 0.25).all()
    assert group["speed_at_lowest"].sel(share_of_pilots=0.5).values == pytest.approx(100.0)
    assert about["reaction_source"] == REACTION_SOURCE
    assert "never what a pilot did" in about["comment"] and "never blame" in about["comment"]


def test_the_summary_keeps_open_ends_apart(saved_file):
    summary = read_summary(saved_file)
    rows = {row.procedure: row for row in summary.rows}
    latest = [rows[name].latest for name in PROCEDURES]
    assert [latest_words(one, summary.longest) for one in latest] == [
        "no action",
        "4.0 s",
        "later than 30 s",
    ]
    assert summary.left_out == ["Spiral: No reason."]
    assert rows["latch"].low < 0.5 < rows["latch"].high
    never = latest_words(LatestAction.of(-1.0), 30.0)
    assert never == "not recoverable even with immediate action"


def test_quantiles_keep_open_ends(found):
    middle = latest_quantiles(found.answered[0].latest)
    assert middle[1].tolist() == [-1.0, 4.0, np.inf]


def test_the_section_says_what_it_rests_on(found):
    starts = [
        ResponseStart(end=40.0, weight=0.3, speed=100.0, altitude=1000.0),
        ResponseStart(end=90.0, weight=0.7, speed=110.0, altitude=1100.0),
    ]
    section = response_section(response_findings(found, starts), SimpleNamespace(epoch=EPOCH))
    assert section.stage == "response"
    assert any("No blame" in caution for caution in section.cautions)
    said = " ".join(s.text for s in section.statements)
    assert "18:01:30.0 UTC; the probability that it is the last before the fault is 70%" in said
    assert "-19 kt and -328 ft" in said  # 10 m/s and 100 m
    assert "a default: the case states none" in said and REACTION_SOURCE in said
    assert "95% sampling error" in said and "Not computed: Spiral" in said
    assert all(s.basis for s in section.statements)
    assert any("not what a pilot did" in s.caution for s in section.statements)
    lessons = next(t for t in section.tables if t.caption.startswith("Lessons for design"))
    assert lessons.rows[0][3] == "+0 ± 20 points"  # 1.96 / 10
    high = next(t for t in section.tables if t.caption.startswith("Faults that raise the nose"))
    # 50 m/s, 0.2 rad, 50 m and 150 m; nobody comes nearer than 0.01 rad to the stall.
    assert high.rows[0][2].startswith("0%")
    assert [cell.split()[0] for cell in high.rows[0][3:]] == ["97", "11", "164", "492"]
    assert "97% of its simulated flights that follow the track" in said
    force = next(t for t in section.tables if t.caption.startswith("Column force"))
    assert force.rows[0][2].startswith("34 lb (150 N)")


def test_the_case_states_the_reaction(commuter):
    entry = SimpleNamespace(
        reaction=SimpleNamespace(value=2.5), reaction_spread=0.3, reaction_source="own trials"
    )
    stated = stated_reaction(SimpleNamespace(document=SimpleNamespace(response=entry)))
    assert stated == Reaction(Prior("lognormal", 2.5, 0.3), "own trials")


def test_causes_that_cannot_are_left_out_unless_named(commuter):
    case = SimpleNamespace(
        described=SimpleNamespace(airplane=commuter),
        document=SimpleNamespace(facts=FactsEntry()),
        analysis=SimpleNamespace(onset=None, reference=None),
        track=SimpleNamespace(pressure_altitude=None, geometric_altitude=None),
    )
    verdicts = [Judgement(CauseName.WING_STALL, Word.CANNOT, 0.0, (0.0, 60.0))]
    chosen, left_out = chosen_causes(case, verdicts, ())
    assert "wing-stall" not in {c.name for c in chosen}
    assert {"Wing stall", "Trim-tab runaway", "Power loss, all engines"} <= dict(left_out).keys()
    out = frozenset({CauseName("elevator-jam"), CauseName("wing-stall")})
    fewer, reasons = chosen_causes(case, verdicts, (), out)
    assert [c.name for c in fewer] == [c.name for c in chosen if c.name != "elevator-jam"]
    assert dict(reasons)["Elevator jam"] == "The track rules it out."
    named, _ = chosen_causes(case, verdicts, ("wing-stall",))
    assert [c.name for c in named] == ["wing-stall"]
