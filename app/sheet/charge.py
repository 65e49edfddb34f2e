"""The charge track: the flight's own line, and the clock time by which shooting must stop."""

from __future__ import annotations

from typing import Final, overload

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QWidget

from app.plots.plotkit import polygon
from app.sheet.chargelabels import (
    BY_TYPE,
    MARK_ROOM,
    Kind,
    bracket_of,
    face_of,
    foot_s,
    place_words,
    scale_of,
    words_of,
)
from app.sheet.clock import Clock
from app.sheet.flightpicture import ChargeHead, ChargePicture, charge_picture
from app.sheet.hatch import draw_hatch
from app.sheet.ink import HEAD_X, PAD, draw_dot, draw_head, draw_text, draw_vertical, text_size
from app.sheet.labels import VALUE, Box, Wish, place_labels
from app.sheet.scene import Scene
from app.sheet.track import Track
from app.store import Store
from app.theme import faint, px, text_scale
from app.widgets.flags import DASHES
from app.widgets.marks import draw_mark
from app.widgets.stamp import Face, text_width, write_on
from core.exposure import FloatArray
from core.language import say, say_as
from core.words import cut_down, percent_text

HEIGHT, TALL_HEIGHT = 104, 150
_FILL, _FILL_DARK = 0.16, 0.22
#: Type of the clock to stop by and of its seconds, the largest first.
_CLOCK_FACES: Final[tuple[tuple[Face, Face], ...]] = (
    ((28, 700), (14, 700)),
    ((25, 700), (13, 700)),
    ((21, 700), (11, 700)),
)


def _clock_faces(head: ChargeHead, width: float) -> tuple[Face, Face]:
    """The largest type in which the clock to stop by stands whole in a width, in pixels."""
    for big, small in _CLOCK_FACES:
        if text_width(head.clock, big) + text_width(head.seconds, small) <= width:
            return big, small
    return _CLOCK_FACES[-1]


class ChargeTrack(Track[ChargePicture]):
    """The active flight's charge as its gauge shows it."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Charge"), parent)
        self._boxes: tuple[Box, ...] = ()

    def picture_of(self, scene: Scene, clock: Clock) -> ChargePicture | None:
        """The charge of the active flight."""
        return charge_picture(scene.view, clock.axis)

    def description_of(self, picture: ChargePicture | None) -> str:
        """When to stop, at which charge, and what is left to spare."""
        if picture is not None:
            return picture.description
        return "" if self._scene is None else say("The flight cannot be flown.")

    def still_of(self, picture: ChargePicture | None) -> object:
        """Grid and reserve."""
        return None if picture is None else picture.reserve_percent

    def draw_still(self, painter: QPainter, clock: Clock) -> None:
        """Draw grid and reserve."""
        self._draw_grid(painter, clock)
        if self._picture is not None:
            self._draw_reserve(painter, clock, self._picture)

    def draw_moving(self, painter: QPainter, clock: Clock) -> None:
        """Draw head, line, stop, bracket and words."""
        picture = self._picture
        self._draw_head(painter, clock)
        painter.setClipRect(self.plot_rect(clock))
        if picture is not None:
            self._draw_fill(painter, clock, picture)
            self.draw_edges(painter, clock)
            self._draw_lines(painter, clock, picture)
            self._draw_bracket(painter, clock, picture)
            self._draw_words(painter, clock, picture)
        else:
            self.draw_edges(painter, clock)
            if self._scene is not None:
                self._draw_none(painter, clock)

    @overload
    def _y(self, percent: float) -> float: ...
    @overload
    def _y(self, percent: FloatArray) -> FloatArray: ...
    def _y(self, percent: float | FloatArray) -> float | FloatArray:
        return scale_of(self.height()).y(percent)

    def _draw_head(self, painter: QPainter, clock: Clock) -> None:
        theme, picture = self.theme, self._picture
        flag = self._scene.view.active if self._scene is not None else None
        draw_head(painter, theme, px(3), say("Stop by"), flag=flag)
        if picture is None:
            return
        head, x, baseline = picture.head, float(px(HEAD_X)), px(47)
        big, small = _clock_faces(head, clock.left - x)
        ink = theme.alarm if picture.short else theme.ink
        x += write_on(painter, x, baseline, head.clock, big, ink)
        write_on(painter, x, baseline, head.seconds, small, ink)
        x = float(px(HEAD_X))
        width = write_on(painter, x, px(68), head.percent, (15, 600), theme.ink)
        behind = x + width + px(6)
        write_on(painter, behind, px(68), say_as("on the gauge", "charge"), (12, 400), theme.ink2)
        write_on(painter, x, px(84), say("on the gauge"), (12, 400), theme.ink2)

    def _draw_grid(self, painter: QPainter, clock: Clock) -> None:
        theme = self.theme
        for percent in (50.0, 100.0):
            rect = QRectF(clock.left, round(self._y(percent)), clock.width, max(1, px(1)))
            painter.fillRect(rect, faint(theme.edge, 0.28))

    def _draw_none(self, painter: QPainter, clock: Clock) -> None:
        theme, face = self.theme, (13, 600)
        text = say("No stop time: the flight cannot be flown.")
        width, height = text_size(text, face)
        y, side = (self.height() - height) / 2.0, float(px(15))
        x = clock.left + px(16)
        draw_mark(painter, QRectF(x, y + (height - side) / 2.0, side, side), "stop", theme)
        box = Box(x + side + px(4), y, width, height)
        draw_text(painter, box, text, face, theme.alarm, self.ground_colour(x))

    def _draw_reserve(self, painter: QPainter, clock: Clock, picture: ChargePicture) -> None:
        theme, y = self.theme, round(self._y(picture.reserve_percent))
        bottom = self._y(0.0)
        draw_hatch(painter, QRectF(clock.left, y, clock.width, bottom - y), theme.ink3)
        painter.fillRect(QRectF(clock.left, y, clock.width, max(1, px(1))), theme.edge)

    def _draw_fill(self, painter: QPainter, clock: Clock, picture: ChargePicture) -> None:
        theme = self.theme
        share = _FILL if theme.name == "light" else _FILL_DARK
        axis_s, empty = picture.flown_s, np.zeros(2)
        there_and_back = np.concatenate((axis_s, axis_s[[-1, 0]]))
        percent = np.concatenate((picture.flown_percent, empty))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(faint(theme.shoot(picture.name), share))
        painter.drawPolygon(self._points(clock, there_and_back, percent))

    def _points(self, clock: Clock, axis_s: FloatArray, percent: FloatArray) -> QPolygonF:
        return polygon(clock.x(axis_s), self._y(percent))

    def _draw_lines(self, painter: QPainter, clock: Clock, picture: ChargePicture) -> None:
        theme = self.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = QPen(theme.shoot(picture.name), 2.6 * text_scale())
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if picture.name == "B":
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
            pen.setDashPattern(list(DASHES))
        painter.setPen(pen)
        painter.drawPolyline(self._points(clock, picture.flown_s, picture.flown_percent))
        colour = theme.alarm if picture.short else theme.shoot(picture.name)
        dots = QPen(colour, 2.0 * text_scale())
        dots.setCapStyle(Qt.PenCapStyle.FlatCap)
        dots.setDashPattern([1.0, 1.5])
        painter.setPen(dots)
        painter.drawPolyline(self._points(clock, picture.beyond_s, picture.beyond_percent))
        first, last = clock.x(float(picture.flown_s[0])), clock.x(foot_s(picture))
        y = round(self._y(picture.stop_percent))
        thick = max(2, px(2))
        painter.fillRect(QRectF(first, y - thick / 2.0, last - first + px(6), thick), theme.ink)

    def _draw_bracket(self, painter: QPainter, clock: Clock, picture: ChargePicture) -> None:
        theme = self.theme
        colour = theme.alarm if picture.short else theme.ink
        box = bracket_of(picture, clock, scale_of(self.height()))
        foot_x, frame_x = (box.x, box.right) if picture.short else (box.right, box.x)
        at_frame = float(picture.beyond_percent[1 if picture.short else 0])
        draw_vertical(painter, colour, frame_x, box.y, self._y(max(at_frame, 0.0)))
        draw_vertical(painter, colour, foot_x, box.y, box.bottom)
        bar = QRectF(box.x, box.y + px(4), box.width, max(1.0, float(px(1))))
        painter.fillRect(bar, colour)

    def _draw_words(self, painter: QPainter, clock: Clock, picture: ChargePicture) -> None:
        words = words_of(picture)
        edges = tuple(clock.x(one) for edge in self.edges for one in (edge.first_s, edge.last_s))
        placed = place_words(picture, clock, self.height(), edges)
        bracket = bracket_of(picture, clock, scale_of(self.height()))
        self._boxes = (bracket, *(one.box for one in placed.values()))
        for kind, text in words.items():
            if kind not in placed:
                continue
            box, crossed = placed[kind].box, placed[kind].crossed
            if kind == "margin":
                self._draw_margin(painter, picture, box)
            else:
                chip = self.ground_colour(box.x) if crossed or kind == "reserve" else None
                draw_text(painter, box, text, face_of(kind), self._ink(kind), chip)

    def _ink(self, kind: Kind) -> QColor:
        theme = self.theme
        return {"100": theme.ink3, "50": theme.ink3, "reserve": theme.ink2}.get(kind, theme.ink)

    def _draw_margin(self, painter: QPainter, picture: ChargePicture, box: Box) -> None:
        """Write the minutes to spare and the last frame beneath them."""
        theme, face = self.theme, face_of("margin")
        painter.fillRect(QRectF(*box), faint(self.ground_colour(box.x), 0.95))
        colour, x = theme.ink, box.x
        height = text_size(picture.margin_words, face)[1]
        if picture.short:
            colour, side = theme.alarm, float(px(14))
            mark = QRectF(box.x + PAD, box.y + (height - side) / 2.0, side, side)
            draw_mark(painter, mark, "stop", theme)
            x += px(MARK_ROOM)
        draw_text(painter, Box(x, box.y, box.width, height), picture.margin_words, face, colour)
        lower = Box(box.x, box.y + height, box.width, box.height - height)
        draw_text(painter, lower, picture.by_words, BY_TYPE, colour)

    def draw_cursor(self, painter: QPainter, x: float) -> None:
        """Draw the cursor and the charge on the gauge there, cut down."""
        super().draw_cursor(painter, x)
        picture, clock = self._picture, self._clock
        if picture is None or clock is None or self._cursor_s is None:
            return
        percent = picture.at(self._cursor_s)
        if percent is None:
            return
        theme, face = self.theme, (12, 600)
        text = percent_text(cut_down(percent))
        width, height = text_size(text, face)
        y = self._y(percent)
        draw_dot(painter, x, y, theme.ink)
        rows = (y - height - px(2), y + px(2))
        places = [
            Box(left, max(row, 0.0), width, height)
            for left in (x + px(5), x - px(5) - width)
            for row in rows
        ]
        bounds = Box(clock.left, 0.0, clock.width, float(self.height()))
        wish = Wish("charge", VALUE, tuple(places))
        for placed in place_labels([wish], bounds, taken=self._boxes).values():
            draw_text(painter, placed.box, text, face, theme.ink, self.ground_colour(x))
