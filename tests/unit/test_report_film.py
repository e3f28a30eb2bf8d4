"""The film: what comes later is faint, words stand when heard, and the file decodes."""

from __future__ import annotations

import itertools
import sys
from datetime import time as Clock
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from made_results import make_results
from PIL import ImageColor

from neutralpoint.errors import NeutralPointError
from neutralpoint.report import load_results
from neutralpoint.report.figures.look import DARK
from neutralpoint.report.film import segments
from neutralpoint.report.film import write as film
from neutralpoint.report.film.chapters import captions_of
from neutralpoint.report.film.easel import Easel
from neutralpoint.report.film.encoder import CODECS
from neutralpoint.report.film.layout import LAYOUTS
from neutralpoint.report.film.segments import page_of, parts_of
from neutralpoint.report.film.spoken import cues_of, script_text, srt_text, vtt_text
from neutralpoint.report.film.story import changed, story_of, storyboard_text
from neutralpoint.report.film.storyboard import (
    Storyboard,
    flown_in,
    parse_storyboard,
    read_storyboard,
    span_of,
    stretch_of,
)
from neutralpoint.report.words import film as film_words
from neutralpoint.vocabulary.cautions import IN_BRIEF

SHORT = """
schema = 1
rate = 10
[[chapters]]
kind = "title"
title = "A title"
seconds = 0.2
[[chapters]]
kind = "flight"
title = "The flight"
seconds = 0.5
from = 18:00:10
to = 18:00:30
panels = ["calibrated_airspeed", "normal_load_factor"]
captions = ["Seed {seed}", "At 18:00:25: {calibrated_airspeed@18:00:25}."]
"""


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    return load_results(make_results(tmp_path_factory.mktemp("film")))


@pytest.fixture(scope="module")
def story() -> Storyboard:
    return parse_storyboard(SHORT)


@pytest.fixture(scope="module")
def page(results, story):
    return page_of(results, story, 1, "wide")


def test_it_stops_short_unless_told_otherwise(results) -> None:
    story = story_of(results)
    assert span_of(results, story) == (0.0, pytest.approx(59.5 - 10.0))
    assert span_of(results, changed(results, story, left_out=0.0))[1] == pytest.approx(59.5)
    short = changed(results, story, left_out=20.0, last=5.0, speed=2.0)
    flown = [chapter for chapter in short.chapters if chapter.kind == "flight"]
    assert stretch_of(results, short, flown[0]) == (pytest.approx(34.5), pytest.approx(39.5))
    assert flown[0].first == Clock(18, 0, 34, 500000)
    no = float("nan")
    for wrong in (
        {"left_out": 70.0}, {"rate": 0.0}, {"speed": -1.0}, {"left_out": -1.0}, {"last": 0.0},
        {"left_out": no}, {"rate": no}, {"speed": no}, {"last": no},
        {"rate": float("inf")}, {"rate": 1e9}, {"speed": 1e-9}, {"last": float("inf")},
    ):  # fmt: skip
        with pytest.raises(NeutralPointError) as refused:
            changed(results, story, **wrong)
        assert refused.value.code == "argument-invalid"


def test_curves_ahead_of_their_time_stay_faint(page) -> None:
    """Right of the cursor a chart is as faint as when the chapter begins, and never empty."""
    begin = page.picture(0.0).copy()
    half = page.picture(0.5).copy()
    for number in range(2):
        left, top, right, bottom = page.charts.place(number)
        middle = (left + right) // 2
        ahead = np.s_[top + 4 : bottom - 4, middle + 4 : right - 2]
        behind = np.s_[top + 4 : bottom - 4, left + 4 : middle - 4]
        np.testing.assert_array_equal(half[ahead], begin[ahead])
        assert (half[behind] != begin[behind]).any()
        inside = begin[top + 4 : bottom - 4, left + 4 : right - 4].reshape(-1, 3)
        assert len(np.unique(inside, axis=0)) > 20
    page.picture(0.9)
    np.testing.assert_array_equal(page.picture(0.5), half)  # what moved is taken off again


def test_words_stand_within_the_error_of_their_time_then_quietly(page, results) -> None:
    """The event is at 20 s; the chapter shows 10 to 30 s in half a second of film."""
    left, top, right, bottom = LAYOUTS["wide"].words
    event = results.findings.events[0]
    near = event.half_width / 20.0  # shares of the chapter

    def shown(share: float, color: str) -> bool:
        box = page.picture(share)[top:bottom, left:right]
        return bool((box == np.array(ImageColor.getrgb(color))).all(axis=-1).any())

    assert not shown(0.49 - near, DARK.event)
    assert shown(0.51 - near, DARK.event) and shown(0.49 + near, DARK.event)
    assert not shown(0.51 + near, DARK.event) and shown(0.51 + near, DARK.quiet)
    assert shown(1.0, DARK.quiet)  # as long as its number stands on the charts


def test_a_caption_of_a_moment_waits_for_it(page) -> None:
    """The second of two captions would begin half way, at 20 s, but it speaks of 25 s."""
    assert [cue.begin for cue in page.captions] == [0.0, pytest.approx(0.75)]
    assert page.captions[0].text == "Seed 1" and "90%:" in page.captions[1].text


def test_a_caption_of_a_moment_is_taken_off_when_it_was_read(results, story) -> None:
    """Else its clock stands beside that of the picture, which has gone on."""
    slow = story.chapters[1].model_copy(update={"seconds": 40.0})
    first, second = captions_of(results, story, slow)
    assert first.end == second.begin  # it speaks of no moment
    assert second.end == pytest.approx(0.75 + (1.5 + len(second.text) / 15.0) / 40.0)
    slow_page = page_of(results, story.model_copy(update={"chapters": (slow,)}), 0, "wide")
    left, top, right, bottom = LAYOUTS["wide"].caption
    blank = slow_page.easel.base.crop((left, top, right, bottom))
    standing = slow_page.picture(0.8)[top:bottom, left:right].copy()
    assert (standing != np.asarray(blank)).any()
    np.testing.assert_array_equal(slow_page.picture(0.99)[top:bottom, left:right], blank)


def test_an_extreme_that_is_told_is_that_of_the_curve_that_is_drawn(results) -> None:
    """No moment of the median curve lies beyond the one that title and captions name."""
    found = film_words.extremes_of(results)
    assert {"highest load factor", "lowest load factor"} <= set(found)
    for label, time in found.items():
        quantity, highest = film_words.EXTREMES[label]
        median = results.bands[quantity][2]
        at = median[int(np.argmin(np.abs(results.time - time)))]
        assert at == (np.nanmax(median) if highest else np.nanmin(median))


def test_chapters_share_the_scales_of_the_film(results, story) -> None:
    """One factor of heights, one level of the grid and one scale of colors."""
    early, late = (
        story.chapters[1].model_copy(update={"first": Clock(18, 0, a), "last": Clock(18, 0, b)})
        for a, b in ((2, 8), (20, 45))
    )
    both = story.model_copy(update={"chapters": (early, late)})
    rooms = [page_of(results, both, place, "wide").room.flown for place in (0, 1)]
    one, other = rooms
    assert (one.stretch, one.loads, one.words()[1]) == (
        other.stretch,
        other.loads,
        other.words()[1],
    )
    assert np.unique([room.ground.down.max() for room in rooms]).size == 1  # one level of the grid
    assert flown_in(results, both) == (pytest.approx(2.0), pytest.approx(45.0))


def test_a_chapter_tells_that_the_grid_has_another_scale(results, story) -> None:
    """The second chapter flies over a twentieth of the way of the first."""
    early, late = (
        story.chapters[1].model_copy(update={"first": Clock(18, 0, a), "last": Clock(18, 0, b)})
        for a, b in ((2, 48), (46, 48))
    )
    both = story.model_copy(update={"chapters": (early, late)})
    said = [page_of(results, both, place, "wide").room._said[0] for place in (0, 1)]
    assert not said[0][1] and said[1][1] and "before" in said[1][0]


def test_a_title_may_hold_a_number(results, story, monkeypatch) -> None:
    written = []
    write = Easel.write
    monkeypatch.setattr(Easel, "write", lambda *a, **k: written.append(a[1]) or write(*a, **k))
    titled = story.chapters[1].model_copy(update={"title": "Seed {seed}: seen"})
    page_of(results, story.model_copy(update={"chapters": (titled,)}), 0, "wide")
    assert "Seed 1: seen" in written and {"median", "50%", "received"} <= {*written, "received"}


def test_every_picture_bears_the_caution(results, monkeypatch) -> None:
    said: list[str] = []
    write = Easel.write

    def kept(self, text, *args, **named):
        said.append(text)
        return write(self, text, *args, **named)

    monkeypatch.setattr(Easel, "write", kept)
    for shape in LAYOUTS:
        for place, chapter in enumerate(story_of(results).chapters):
            said.clear()
            page_of(results, story_of(results), place, shape).picture(0.5)
            text = " ".join(said)
            assert IN_BRIEF in text, (shape, chapter.kind)
            card = chapter.kind in ("title", "end")
            assert card or "10 s of the record are not drawn" in text
            assert card or "Sources: " in text or not results.findings.sources


@pytest.mark.parametrize("shape", LAYOUTS)
def test_no_words_of_a_picture_lie_over_others_or_outside(results, monkeypatch, shape) -> None:
    """What is written beside the charts, at the end of each chapter, in both shapes."""
    written: dict[tuple[int, int, str], tuple[str, tuple[int, int, int, int]]] = {}
    write = Easel.write

    def told(easel, text, place, size, color, **rest):
        box = write(easel, text, place, size, color, **rest)
        written[(*place, rest.get("anchor", "la"))] = (text, box)  # the last at each place
        return box

    monkeypatch.setattr(Easel, "write", told)
    left, _, right, bottom = LAYOUTS[shape].safe
    for place, chapter in enumerate(story_of(results).chapters):
        written.clear()
        page_of(results, story_of(results), place, shape).picture(0.999)
        texts = [one for one in written.values() if one[0].strip()]
        for text, box in texts:
            assert left - 4 <= box[0] and box[2] <= right + 4 and box[3] <= bottom + 8, text
        for (one, a), (other, b) in itertools.combinations(texts, 2):
            wide, high = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
            assert wide < 3 or high < 8, (chapter.kind, one, other)


def test_the_file_decodes_to_the_pictures_that_were_drawn(results, story, tmp_path, page) -> None:
    av = pytest.importorskip("av")
    made = film.write_film(results, story, tmp_path / "film.mp4")
    assert (made.frames, made.drawn) == (7, 7)
    with av.open(str(made.path)) as box:
        stream = box.streams.video[0]
        frames = [frame.to_ndarray(format="rgb24") for frame in box.decode(stream)]
        assert stream.codec_context.name in ("vp9", "libvpx-vp9")
        assert Fraction(stream.duration) * stream.time_base == Fraction(7, 10)
    assert len(frames) == 7
    drawn = page.picture(1.0).astype(float)
    off = np.abs(frames[-1].astype(float) - drawn)
    # Of 255: what coding and halved color cost. A frame of another moment is off by more.
    assert off.mean() < 2.0
    assert np.abs(frames[1].astype(float) - drawn).mean() > 2.0 * off.mean()
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "film.md", "film.mp4", "film.srt", "film.vtt",
    ]  # fmt: skip


def test_a_film_that_was_stopped_goes_on(results, story, tmp_path, monkeypatch) -> None:
    pytest.importorskip("av")
    joined = segments.joined

    def stopped(parts, out):
        raise KeyboardInterrupt

    monkeypatch.setattr(segments, "joined", stopped)
    with pytest.raises(KeyboardInterrupt):
        film.write_film(results, story, tmp_path / "film.mp4")
    monkeypatch.setattr(segments, "joined", joined)
    said: list[str] = []
    made = film.write_film(results, story, tmp_path / "film.mp4", lambda text, _: said.append(text))
    assert (made.frames, made.drawn) == (7, 0)
    assert not [p for p in tmp_path.iterdir() if p.name.startswith(".")]


def test_a_film_is_whole_where_a_process_dies_as_another_starts(
    results, story, tmp_path, begun
) -> None:
    """The pool breaks while its second process is being started, which nobody ends then."""
    pytest.importorskip("av")
    made = film.write_film(results, story, tmp_path / "film.mp4", jobs=2)
    assert len(begun) == 2 and not begun[1].is_alive()
    assert (made.frames, made.drawn) == (7, 7)


def test_parts_cover_every_frame_once(results) -> None:
    story = changed(results, story_of(results), rate=24.0)
    parts = parts_of(story)
    for place, chapter in enumerate(story.chapters):
        own = [part for part in parts if part.chapter == place]
        frames = [frame for part in own for frame in range(part.first, part.last)]
        assert frames == list(range(round(chapter.seconds * 24.0)))
    assert max(part.last - part.first for part in parts) <= segments.PART * 24.0 + 1


def test_captions_and_script_say_the_same_numbers(results, story) -> None:
    cues = cues_of(results, story)
    assert [(cue.start, cue.end) for cue in cues] == [
        (0.2, pytest.approx(0.575)),
        (pytest.approx(0.4), pytest.approx(0.7)),  # heard at 20 s ± 2 s, then until it is read
        (pytest.approx(0.575), pytest.approx(0.7)),
    ]
    vtt, srt, script = (make(results, story) for make in (vtt_text, srt_text, script_text))
    assert vtt.startswith("WEBVTT\n\n") and "00:00:00.200 --> 00:00:00.575" in vtt
    assert srt.startswith("1\n00:00:00,200 --> ")
    for text in (vtt, srt, script):
        assert cues[2].text in text and "18:00:20 \u00b1 2 s   a call" in text
    assert IN_BRIEF in script and "Invented case" in script


def test_the_default_storyboard_can_be_written_and_read(results, tmp_path) -> None:
    story = story_of(results)
    (tmp_path / "film.toml").write_text(storyboard_text(story), "utf-8")
    assert read_storyboard(tmp_path) == story
    assert read_storyboard(tmp_path / "elsewhere") is None
    assert [chapter.kind for chapter in story.chapters] == ["title", "flight", "end"]


@pytest.mark.parametrize(
    "wrong",
    [
        "schema = 1\n",
        'schema = 1\n[[chapters]]\nkind = "flight"\ntitle = "x"\nseconds = 1\nfrom = 18:00:00\n',
        'schema = 1\n[[chapters]]\nkind = "song"\ntitle = "x"\nseconds = 1\n',
        "schema = 1\n[[chapters\n",
    ],
)
def test_a_storyboard_that_is_wrong_is_refused(wrong) -> None:
    with pytest.raises(NeutralPointError) as refused:
        parse_storyboard(wrong)
    assert refused.value.code == "storyboard-invalid"


def test_a_chapter_of_what_is_not_there_is_refused(results, story) -> None:
    for change in (
        {"panels": ("nothing",)},
        {"first": Clock(17, 0), "last": Clock(17, 1)},
        {"kind": "moment", "panels": ("needed_elevator",)},
    ):
        chapter = story.chapters[1].model_copy(update=change)
        with pytest.raises(NeutralPointError) as refused:
            page_of(results, story.model_copy(update={"chapters": (chapter,)}), 0, "wide")
        assert refused.value.code == "storyboard-invalid"


def test_frames_and_loops_need_no_encoder(results, story, tmp_path, monkeypatch) -> None:
    monkeypatch.setitem(sys.modules, "av", None)
    made = film.write_frames(results, story, tmp_path / "frames", shape="tall")
    assert [p.name for p in sorted(made.path.iterdir())] == [f"frame-{k:06d}.png" for k in range(7)]
    with pytest.raises(NeutralPointError, match="not empty"):
        film.write_frames(results, story, tmp_path / "frames")
    for ending in (".gif", ".webp"):
        loop = film.write_loop(results, story, tmp_path / f"loop{ending}")
        assert loop.frames == 7 and loop.path.stat().st_size < 2_000_000
    with pytest.raises(NeutralPointError, match="No video encoder") as refused:
        film.write_film(results, story, tmp_path / "film.mp4")
    assert refused.value.code == "encoder-missing" and "--frames" in refused.value.hint
    assert not (tmp_path / "film.mp4").exists()


def test_the_clip_is_fifteen_seconds(results) -> None:
    clip = film.clip_of(results, story_of(results))
    assert [chapter.seconds for chapter in clip.chapters] == [15.0]
    assert set(CODECS) == {"vp9", "h264"}


def test_an_encoder_that_fails_leaves_no_file(tmp_path: Path) -> None:
    pytest.importorskip("av")
    from neutralpoint.report.film.encoder import encode

    def broken():
        yield np.zeros((16, 16, 3), np.uint8)
        raise ValueError("drawing failed")

    with pytest.raises(ValueError, match="drawing failed"):
        encode(broken(), tmp_path / "film.mp4", (16, 16), 10.0, "vp9")
    assert list(tmp_path.iterdir()) == []
