"""The path in space in a film: trail, airplane with its ghosts, attitude scales."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw

from neutralpoint.quantities import DEGREE
from neutralpoint.report.figures.studio.lettering import font
from neutralpoint.report.film.easel import Easel
from neutralpoint.report.film.layout import SMALL
from neutralpoint.report.results import Results
from neutralpoint.report.space.camera import Camera, fitted
from neutralpoint.report.space.flown import flown_of, grid_step
from neutralpoint.report.space.scene import (
    SpaceView,
    airplane_shapes,
    attitude_shapes,
    compass_shapes,
    ground_shapes,
    ramp_shapes,
    scale_bar,
    shadow_shapes,
    trail_shapes,
)
from neutralpoint.report.space.shapes import Canvas, Stroke, Tag

TURN = 0.5  # rad by which a camera that goes around turns in a chapter
LOOK_DOWN = {"still": 9.0, "orbit": 12.0, "above": 89.0, "side": 4.0}  # deg
ASIDE = 82.0  # deg off the direction of flight, from which one looks
MOST = 240  # steps of the trail that are drawn
DIALS = 0.33  # of the height
ROW = 37.0  # pixels from line to line of what is said of ground and heights, over the scales
HEAD = 40.0  # pixels of the row of scales
BETWEEN = (0.42, 0.62, 0.3)  # where arrows to north and sun stand: share across, shares of dials


class Room:
    """A part of the picture with the path in space.

    Args:
        easel: Where to.
        results: A results folder, read.
        within: First and last moment, s after the first of the record.
        camera: How it is looked at.
        scaled: Stretch of the whole film: one factor of heights and one scale of colors for all.
        before: Stretch of the picture before this one; None where there is none.
    """

    def __init__(
        self, easel: Easel, results: Results, within: tuple[float, float], camera: str,
        scaled: tuple[float, float], before: tuple[float, float] | None = None,
    ) -> None:  # fmt: skip
        self._easel, self._box, self._camera = easel, easel.layout.scene, camera
        self.flown = flown_of(results, within, steps=MOST, scaled=scaled)
        self._said = self.flown.lines(None if before is None else grid_step(results, before))
        self._head = ROW * len(self._said) + HEAD
        self._size = (self._box[2] - self._box[0], self._box[3] - self._box[1])
        self._canvas = Canvas(*self._size, easel.look.paper)
        along = self.flown.path[-1, :2] - self.flown.path[0, :2]
        self._azimuth = float(np.arctan2(along[1], along[0])) - ASIDE * DEGREE
        self._kept: np.ndarray | None = None

    def _stage(self, share: float) -> SpaceView:
        down = LOOK_DOWN[self._camera] * DEGREE
        turned = self._azimuth + (TURN * (share - 0.5) if self._camera == "orbit" else 0.0)
        azimuth = 0.0 if self._camera == "above" else turned
        width, height = self._size
        room = (50.0, DIALS * height + 20.0, width - 50.0, height - self._head - 40.0)
        lens: Camera = fitted(self.flown.extent(), azimuth, down, room)
        return SpaceView(lens, self._easel.look, width, 1.6)

    def paint(self, at: float, share: float) -> None:
        """Paint the moment.

        Args:
            at: s after the first moment of the record.
            share: Of the chapter.
        """
        stage = self._stage(share)
        last = int(np.searchsorted(self.flown.time, at, "right")) - 1
        last = int(np.clip(last, 0, len(self.flown.time) - 1))
        self._ground(stage, last, moving=self._camera == "orbit")
        width, height = self._size
        dials = (0.0, 0.0, float(width), DIALS * height)
        shapes, labels = attitude_shapes(self.flown, stage, at, dials)
        bar, scale = scale_bar(stage, 4.0, height - self._head + 18.0)
        ramp, ends = ramp_shapes(self.flown, stage, width * 0.33, height - self._head + 10.0)
        across, *up = BETWEEN
        places = [(across * width, share * dials[3]) for share in up]
        ray, sun = compass_shapes(self.flown, stage, places)
        bar, scale = [*bar, *ramp, *ray], [*scale, *ends, *sun]
        clear = Stroke(np.array([[0.0, 0.0], [width, 0.0], [width, dials[3]], [0.0, dials[3]]]),
                       fill=self._easel.look.paper)  # fmt: skip
        pixels = self._canvas.paint([clear, *shapes, *airplane_shapes(self.flown, stage, at), *bar])
        picture = Image.fromarray(pixels).convert("RGB")
        self._letter(picture, [*labels, *scale])
        self._easel.image.paste(picture, self._box[:2])

    def _ground(self, stage: SpaceView, last: int, *, moving: bool) -> None:
        """Ground, kept while nothing turns, and the trail up to now."""
        if moving or self._kept is None:
            self._canvas.clear()
            width, height = self._size
            room = (0.0, DIALS * height, float(width), height - self._head)
            self._canvas.paint(ground_shapes(self.flown.ground, stage, room))
            self._kept = self._canvas.keep()
        else:
            self._canvas.restore(self._kept)
        self._canvas.paint(shadow_shapes(self.flown, stage, 0, last))
        self._canvas.paint(trail_shapes(self.flown, stage, 0, last))

    def _letter(self, picture: Image.Image, labels: list[Tag]) -> None:
        pen, height = ImageDraw.Draw(picture), self._size[1]
        for label in labels:
            x, y = label.place[0], height - label.place[1]
            x = min(x + 10, self._size[0] - pen.textlength(label.text, font=font(SMALL)))
            pen.text((x, y), label.text, font=font(SMALL), fill=label.color, anchor="lm")
        look = self._easel.look
        for row, (text, new) in enumerate(self._said):
            color = look.caution if new else look.ink
            pen.text((4, 2 + row * ROW), text, font=font(SMALL, bold=new), fill=color)
