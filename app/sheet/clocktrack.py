"""The clock track: ticks, local time, the night's moments and the cursor's own time."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QWidget

from app.sheet.clock import Clock, Ticks, ticks_of
from app.sheet.clockpicture import ClockPicture, both_clocks, cursor_text, tick_text
from app.sheet.ink import draw_head, draw_text, draw_vertical, text_size
from app.sheet.labels import Box, Wish, place_labels
from app.sheet.pictures import Edges
from app.sheet.scene import Scene
from app.sheet.track import Track
from app.store import Store
from app.theme import px, text_scale
from app.widgets.flags import draw_flag, flag_width
from app.widgets.stamp import MIDDLE, write
from core.language import say
from core.plan import ShootName
from core.words import time_text

HEIGHT: Final = 38
_LONG, _SHORT = 7.0, 4.0
_FIGURES_TOP, _NAMES_TOP = 5.0, 21.0
_LABEL_GAP = 22.0


@dataclass(frozen=True)
class ClockShown:
    """The picture, its ticks and the words at them."""

    picture: ClockPicture
    ticks: Ticks
    labels: tuple[tuple[float, str], ...]


class ClockTrack(Track[ClockShown]):
    """The one clock that all tracks share."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Clock"), parent)
        self._figures: tuple[Box, ...] = ()
        self._measures: tuple[Clock, float] | None = None

    def picture_of(self, scene: Scene, clock: Clock) -> ClockShown | None:
        """Ticks and moments on the axis."""
        picture, night = scene.clock, scene.view.outlook.night
        shown, measures = self._picture, (clock, text_scale())
        if shown is not None and shown.picture is picture and self._measures == measures:
            return shown
        self._measures = measures
        widest = text_size(time_text(dt.time(0)), (12, 400))[0] + px(_LABEL_GAP)
        ticks = ticks_of(clock, widest, picture.offset_s)
        labels = tuple((t, tick_text(night, clock.axis, t)) for t in ticks.labelled_s)
        return ClockShown(picture, ticks, labels)

    def description_of(self, picture: ClockShown | None) -> str:
        """Which time it is, from when to when."""
        return picture.picture.description if picture is not None else ""

    @property
    def edges(self) -> tuple[Edges, ...]:
        """None: the clock is read, not moved."""
        return ()

    def draw_still(self, painter: QPainter, clock: Clock) -> None:
        """Draw head, ticks, figures and moments."""
        theme, shown = self.theme, self._picture
        second = (shown.picture.second_line,) if shown is not None else ()
        draw_head(painter, theme, px(2), say("Clock"), second)
        painter.fillRect(QRectF(clock.left, 0.0, clock.width, max(1, px(1))), theme.edge)
        if shown is None:
            return
        for times, length in ((shown.ticks.long_s, _LONG), (shown.ticks.short_s, _SHORT)):
            for axis_s in times:
                draw_vertical(painter, theme.edge, clock.x(axis_s), 0.0, px(length))
        face, figures = (12, 500), []
        for axis_s, text in shown.labels:
            width, height = text_size(text, face)
            box = Box(clock.x(axis_s) - width / 2.0, px(_FIGURES_TOP), width, height)
            if box.x >= clock.left and box.right <= clock.right:
                draw_text(painter, box, text, face, theme.ink)
                figures.append(box)
        self._figures = tuple(figures)
        self._draw_moments(painter, clock, shown)

    def _draw_moments(self, painter: QPainter, clock: Clock, shown: ClockShown) -> None:
        theme, face = self.theme, (11, 400)
        top, wishes = px(_NAMES_TOP), []
        for index, moment in enumerate(shown.picture.moments):
            width, height = text_size(moment.words, face)
            x = clock.x(moment.axis_s)
            places = (Box(x + 1.0, top, width, height), Box(x - width - 1.0, top, width, height))
            wishes.append(Wish(str(index), moment.rank, places))
        bounds = Box(clock.left, 0.0, clock.width, float(self.height()))
        for key, placed in place_labels(wishes, bounds, gap=px(3)).items():
            moment = shown.picture.moments[int(key)]
            draw_vertical(painter, theme.edge, clock.x(moment.axis_s), top, px(HEIGHT - 3))
            draw_text(painter, placed.box, moment.words, face, theme.ink2)

    def draw_cursor(self, painter: QPainter, x: float) -> None:
        """Draw the cursor's time in a chip of ink; on two nights both clocks beneath it."""
        clock, scene = self._clock, self._scene
        if clock is None or scene is None or self._cursor_s is None:
            return
        theme, face = self.theme, (13, 700)
        text = cursor_text(scene.view.outlook.night, clock.axis, self._cursor_s)
        width = text_size(text, face)[0] + px(8)
        left = min(max(x - width / 2.0, clock.left), clock.right - width)
        rect = QRectF(left, px(1), width, px(19))
        self._clear_figures(painter, Box(left, rect.y(), width, rect.height()))
        painter.fillRect(rect, theme.ink)
        write(painter, rect, text, face, theme.sheet, MIDDLE)
        if clock.axis.two_nights:
            self._draw_both(painter, clock, x, both_clocks(scene.view, clock.axis, self._cursor_s))

    def _clear_figures(self, painter: QPainter, chip: Box) -> None:
        """Take away the figures that the chip would cut in two."""
        for box in self._figures:
            if box.overlaps(chip):
                painter.fillRect(QRectF(*box), self.ground_colour(box.x + box.width / 2.0))

    def _draw_both(
        self,
        painter: QPainter,
        clock: Clock,
        x: float,
        times: tuple[tuple[ShootName, str], ...],
    ) -> None:
        theme, face, side = self.theme, (12, 600), float(px(15))
        sizes = [text_size(text, face) for _, text in times]
        flags = [flag_width(name, side) for name, _ in times]
        total = sum(width for width, _ in sizes) + sum(flags) + px(12)
        left = min(max(x - total / 2.0, clock.left), clock.right - total)
        top = float(px(_NAMES_TOP))
        painter.fillRect(QRectF(left - px(4), top, total + px(8), side), self.ground_colour(x))
        for (name, text), (width, _), flag in zip(times, sizes, flags, strict=True):
            draw_flag(painter, QRectF(left, top, flag, side), name, theme, size_px=11)
            draw_text(painter, Box(left + flag, top, width, side), text, face, theme.ink)
            left += flag + width + px(12)
