"""Shapes of a film, their safe margins, and where charts, path, captions and cautions stand."""

from __future__ import annotations

from dataclasses import dataclass

from neutralpoint.report.figures.studio.formats import least_on_phone

Box = tuple[int, int, int, int]  # left, top, right, bottom; pixels from the upper left
DOTS = 100
LEAST = least_on_phone(1080, DOTS)  # points: the same rule as for pictures
SMALL = round(LEAST * DOTS / 72.0 + 0.5)  # the same in pixels


@dataclass(frozen=True)
class FilmLayout:
    """A shape of film.

    Attributes:
        key: As typed.
        width: Pixels.
        height: Pixels.
        safe: Within which all that must be read stands.
        charts: Of the strip charts.
        scene: Of the path in space.
        key_row: Of the legend over the charts: left end, and middle of its line.
        words: Of what was heard.
        caption: Of captions.
        panels: Charts over one another.
    """

    key: str
    width: int
    height: int
    safe: Box
    charts: Box
    scene: Box
    key_row: tuple[int, int]
    words: Box
    caption: Box
    panels: int

    @property
    def odds(self) -> Box:
        """Of the odds: beside the charts, or under them down to the captions."""
        left, top, right, bottom = self.scene
        return left, top, right, self.words[3] if self.height > self.width else bottom

    @property
    def told(self) -> Box:
        """Of captions in a chapter in which nothing is heard."""
        if self.height > self.width:
            return self.caption
        return self.caption[0], self.words[1] + SMALL, self.caption[2], self.caption[3]

    @property
    def whole(self) -> Box:
        """Charts and path together, for a chapter that has one picture."""
        return (
            self.charts[0], self.charts[1],
            max(self.charts[2], self.scene[2]), max(self.charts[3], self.scene[3]),
        )  # fmt: skip


# Source: 5% on each side as the graphics safe area of 16:9: EBU R 95, from memory. Upright: 5% at
# the sides, 8% above and 14% below, where players put their own signs; common practice, no source.
LAYOUTS = {
    layout.key: layout
    for layout in (
        FilmLayout("wide", 1920, 1080, (96, 54, 1824, 1026), (96, 158, 1030, 732),
               (1050, 118, 1824, 732), (96, 140), (96, 736, 1824, 814), (96, 818, 1824, 908), 3),
        FilmLayout("tall", 1080, 1920, (54, 154, 1026, 1651), (54, 318, 1026, 720),
               (54, 726, 1026, 1140), (54, 296), (54, 1146, 1026, 1290), (54, 1294, 1026, 1452), 2),
    )
}  # fmt: skip
