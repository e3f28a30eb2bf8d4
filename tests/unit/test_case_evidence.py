"""Prior weights and evidence in the case file: what is taken, and one clear error otherwise."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from neutralpoint.case import parse_case
from neutralpoint.errors import NeutralPointError

TEXT = (Path(__file__).parents[2] / "examples" / "quorleigh" / "case.toml").read_text("utf-8")
PRIOR = '[[prior]]\ncause = "{}"\nweight = {}\nreason = "fleet history, invented"\n'
IMPACT = '[[evidence]]\nkind = "impact"\nsource = "survey, invented"\n'


def read(more: str):
    return parse_case(f"{TEXT}\n{more}")


def test_weights_and_evidence_are_read():
    found = read(
        PRIOR.format("spiral-dive", 3)
        + PRIOR.format("unlisted", 0.5)
        + IMPACT
        + 'pitch = "-40 deg +- 10 deg"\nspeed = "300 kt +- 40 kt"\n'
        + '[[evidence]]\nkind = "voice"\ntime = 18:54:40\nstrain = true\nsource = "invented"\n'
        + '[[evidence]]\nkind = "trim-position"\nangle = "2 deg +- 1 deg"\nmarks_agree = false\n'
        'source = "invented"\n'
        + '[[evidence]]\nkind = "finding"\nitem = "breaker"\nfound = "as normal"\n'
        'source = "invented"\n'
    )
    assert [(p.cause, p.weight) for p in found.prior] == [("spiral-dive", 3.0), ("unlisted", 0.5)]
    impact, voice, position, finding = found.evidence
    assert impact.pitch.value == pytest.approx(np.radians(-40.0))
    assert impact.pitch.sigma == pytest.approx(np.radians(5.0))
    assert voice.strain and voice.error.value == 3.0
    assert position.share_moved == 0.5
    assert finding.doubt == 0.2


def test_words_favor_a_cause_or_a_mechanism_by_what_is_stated():
    words = '[[evidence]]\nkind = "words"\nwords = "it pushes"\nlikelihood = 3\nsource = "s"\n'
    for name in ("trim-drive", "control-input"):
        (entry,) = read(words + f'cause = "{name}"\n').evidence
        assert (entry.cause, entry.likelihood, entry.doubt) == (name, 3.0, 0.3)
    (weight,) = read(PRIOR.format("person", 2)).prior
    assert weight.cause == "person"
    with pytest.raises(NeutralPointError, match="no cause 'ghosts'"):
        read(words + 'cause = "ghosts"\n')


@pytest.mark.parametrize(
    ("more", "message", "hint"),
    [
        (PRIOR.format("gremlins", 1), "no cause 'gremlins'", "stabilizer-runaway"),
        (
            PRIOR.format("spiral-dive", 0),
            "weight` is 0: Input should be greater than 0",
            "case-file.md",
        ),
        (PRIOR.format("spiral-dive", 1) * 2, "two prior weights", "Keep one"),
        ('[[prior]]\ncause = "spiral-dive"\nweight = 2\n', "reason", ""),
        (IMPACT, "without a value", "pitch"),
        (IMPACT + 'pitch = "-40 deg"\n', "no +-", "+- 15 deg"),
        (IMPACT + 'latitude = "40 deg"\n', "place_error", "all of them"),
        (
            '[[evidence]]\nkind = "finding"\nitem = "tea"\nfound = "x"\nsource = "s"\n',
            "no item 'tea'",
            "breaker",
        ),
        (
            '[[evidence]]\nkind = "finding"\nitem = "breaker"\nfound = "x"\nsource = "s"\n',
            "no outcome",
            "as normal",
        ),
    ],
)
def test_one_clear_error(more, message, hint):
    with pytest.raises(NeutralPointError) as caught:
        read(more)
    assert caught.value.code in ("case-invalid", "case-incomplete")
    assert message in caught.value.message
    assert hint in caught.value.hint
    assert "case.toml" in caught.value.where
