"""The command that makes a film of saved results."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from neutralpoint.cli.numbers import finite
from neutralpoint.cli.output import PrintedLine, console, progress, show_caution, show_result
from neutralpoint.cli.studying import AsLines
from neutralpoint.errors import NeutralPointError
from neutralpoint.files import present, told_of_system, write_new

if TYPE_CHECKING:
    from neutralpoint.report.film.storyboard import Storyboard
    from neutralpoint.report.film.write import Film
    from neutralpoint.report.results import Results

CasePath = Annotated[Path, typer.Argument(metavar="CASE", help="Folder that holds case.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
ENDINGS = {"gif": ".gif", "webp": ".webp"}


def film(
    case: CasePath,
    storyboard: Annotated[
        bool, typer.Option("--storyboard", help="Write CASE/film.toml to work on, and no film.")
    ] = False,
    shape: Annotated[
        str, typer.Option("--shape", help="wide (1920x1080) or tall (1080x1920).")
    ] = "wide",
    clip: Annotated[
        str, typer.Option("--clip", help="15 s about the onset instead: mp4, gif or webp.")
    ] = "",
    codec: Annotated[str, typer.Option("--codec", help="vp9 or h264.")] = "vp9",
    frames: Annotated[
        Path | None,
        typer.Option("--frames", metavar="FOLDER", help="Write PNG files; needs no encoder."),
    ] = None,
    until_end: Annotated[
        bool, typer.Option("--until-end", help="Show the last seconds as well.")
    ] = False,
    stop_short: Annotated[
        float | None,
        typer.Option(
            "--stop-short",
            min=0.0,
            callback=finite,
            help="Seconds at the end that are left out; else 10.",
        ),
    ] = None,
    last: Annotated[
        float | None,
        typer.Option("--last", callback=finite, help="Show this many seconds of the flight only."),
    ] = None,
    rate: Annotated[
        float | None,
        typer.Option("--rate", callback=finite, help="Frames in a second of film; else 25."),
    ] = None,
    speed: Annotated[
        float, typer.Option("--speed", callback=finite, help="Times as fast as told.")
    ] = 1.0,
    jobs: Annotated[int, typer.Option("--jobs", min=1, help="Processes that draw.")] = 2,
    as_json: AsJson = False,
    progress_json: AsLines = False,
) -> None:
    """Make a film that tells saved results as a story; it stops short of the last seconds."""
    folder = case / "results"
    present(folder, "findings.json")
    from neutralpoint.report import load_results
    from neutralpoint.report.film.story import storyboard_text
    from neutralpoint.report.film.storyboard import NAME
    from neutralpoint.report.film.write import clip_of, write_film, write_frames, write_loop

    _check(shape, codec, clip)
    if frames is not None:  # told before everything is drawn
        with told_of_system(frames):
            frames.mkdir(parents=True, exist_ok=True)
    results = load_results(folder)
    left_out = 0.0 if until_end else stop_short
    story = _story(case, results, left_out=left_out, rate=rate, speed=speed, last=last)
    if storyboard:
        path = write_new(case / NAME, storyboard_text(story).encode("utf-8"))
        if as_json:
            show_result({"storyboard": str(path)})
        else:
            console().print(str(path), soft_wrap=True)
            show_caution(console())
        return
    name = "film" if shape == "wide" else f"film-{shape}"
    with progress(as_lines=progress_json) as say:

        def tell(text: str, share: float) -> None:
            say(PrintedLine("film", text, share))

        tell("Drawing what does not change", 0.0)
        if clip:
            story, name = clip_of(results, story), f"{name}-clip"
        if frames is not None:
            made = write_frames(results, story, frames, tell, shape=shape)
        elif clip in ENDINGS:
            made = write_loop(results, story, folder / f"{name}{ENDINGS[clip]}", shape=shape)
        else:
            made = write_film(results, story, folder / f"{name}.mp4", tell, shape=shape,
                              codec=codec, jobs=jobs)  # fmt: skip
    _say(made, as_json=as_json, as_line=progress_json)


def _check(shape: str, codec: str, clip: str) -> None:
    from neutralpoint.report.film.encoder import CODECS
    from neutralpoint.report.film.layout import LAYOUTS

    for name, given, allowed in (
        ("--shape", shape, tuple(LAYOUTS)), ("--codec", codec, tuple(CODECS)),
        ("--clip", clip, ("", "mp4", *ENDINGS)),
    ):  # fmt: skip
        if given not in allowed:
            raise NeutralPointError(
                "argument-invalid",
                f"{name} {given!r} is not known.",
                where=name,
                hint=f"Choose one of: {', '.join(word for word in allowed if word)}.",
            )


def _story(
    case: Path, results: Results, *, left_out: float | None, rate: float | None, speed: float,
    last: float | None,
) -> Storyboard:  # fmt: skip
    """The storyboard of the case, or the default one, with what the command changes."""
    from neutralpoint.report.film.story import changed, story_of
    from neutralpoint.report.film.storyboard import read_storyboard

    own = read_storyboard(case)
    if own is None:
        own = story_of(results) if left_out is None else story_of(results, stop_short=left_out)
    return changed(results, own, left_out=left_out, rate=rate, speed=speed, last=last)


def _say(made: Film, *, as_json: bool, as_line: bool) -> None:
    if as_json or as_line:
        show_result(
            {
                "film": str(made.path),
                "frames": made.frames,
                "frames_drawn_now": made.drawn,
                "seconds_of_film": made.seconds,
                "seconds_left_out": made.left_out,
                "seconds_to_render": round(made.took, 2),
            },
            as_line=as_line,
        )
        return
    console().print(str(made.path), soft_wrap=True)
    end = f"the last {made.left_out:g} s are left out" if made.left_out else "to the last moment"
    console().print(
        f"{made.seconds:.0f} s of film, {made.frames} frames, {made.took:.0f} s; {end}."
    )
    show_caution(console())
