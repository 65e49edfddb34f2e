"""The picture of many nights: the clock up, the dates across, one night chosen."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.sheet.ink import draw_text, text_size
from app.sheet.labels import Box
from app.shown.nights import YearPicture, night_row, picked_words
from app.style import draw_focus_ring
from app.theme import Theme, px, text_scale, theme_of
from app.windows.nightstable import ENTER
from app.windows.yeartracks import (
    INSET,
    STRONG,
    YearRooms,
    YearTracks,
    date_labels,
    paint_heads,
    y_of,
)
from app.windows.yearwords import YearWords, box_of
from core.dates import date_text
from core.language import say

#: Under the clock its lowest figure wants room.
_GUTTER, _GAP, _UNDER_CLOCK = 124, 8, 14
_AXIS, _LEAST_CLOCK, _CURVE, _MOON, _FOOT = 24, 200, 40, 16, 16
_STEPS = {
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Right: 1,
    Qt.Key.Key_PageUp: -30,
    Qt.Key.Key_PageDown: 30,
}


class NightsYear(QWidget):
    """Good starts over the clock of many nights, with span, clip and moon beneath.

    Left and right choose the night beside, Page keys a month further, Home and End the ends.

    Signals
    -------
    chosen
        The pilot chose a night: its place among those shown.
    wanted
        The pilot wants the chosen night, by Enter or a double-click.
    """

    chosen = Signal(int)
    wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._picture: YearPicture | None = None
        self._at = 0
        self._still: tuple[object, QPixmap] | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(say("Good starts over the nights"))

    @property
    def picture(self) -> YearPicture | None:
        """What is shown; None while nothing is worked out."""
        return self._picture

    @property
    def at(self) -> int:
        """The place of the chosen night."""
        return self._at

    def show_picture(self, picture: YearPicture | None) -> None:
        """Show other nights, or none."""
        self._picture, self._still, self._at = picture, None, 0
        self._describe()
        self.update()

    def choose(self, place: int) -> None:
        """Choose a night, without telling anyone."""
        if place != self._at:
            self._at = place
            self._describe()
            self.update()

    def x_of(self, place: int) -> float:
        """Where a night stands across the widget."""
        room = self._rooms().clock
        return room.left() + (place + 0.5) * room.width() / self._count

    @property
    def _count(self) -> int:
        return max(1, len(self._picture.seen) if self._picture else 0)

    def sizeHint(self) -> QSize:
        """Room for all tracks."""
        return QSize(px(900), px(440))

    def minimumSizeHint(self) -> QSize:
        """Less width, and the least height of each track."""
        tracks = _AXIS + _LEAST_CLOCK + _UNDER_CLOCK + 2 * (_CURVE + _GAP) + _MOON + _FOOT
        return QSize(px(420), px(tracks))

    def _rooms(self) -> YearRooms:
        left, width = px(_GUTTER), self.width() - px(_GUTTER) - px(INSET)
        curve, moon, gap = px(_CURVE), px(_MOON), px(_GAP)
        top = px(_AXIS)
        below = px(_UNDER_CLOCK) + 2 * curve + 2 * gap + moon + px(_FOOT)
        clock = QRectF(left, top, width, max(1, self.height() - top - below))
        span = QRectF(left, clock.bottom() + px(_UNDER_CLOCK), width, curve)
        clip = QRectF(left, span.bottom() + gap, width, curve)
        return YearRooms(clock, span, clip, QRectF(left, clip.bottom() + gap, width, moon))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose another night."""
        key, last = Qt.Key(event.key()), self._count - 1
        if self._picture is not None and key in ENTER:
            self.wanted.emit()
            return
        if self._picture is None or key not in (*_STEPS, Qt.Key.Key_Home, Qt.Key.Key_End):
            super().keyPressEvent(event)
            return
        ends = {Qt.Key.Key_Home: 0, Qt.Key.Key_End: last}
        self._take(ends.get(key, min(max(self._at + _STEPS.get(key, 0), 0), last)))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the night pointed at."""
        self._point(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Want the night pointed at."""
        self._point(event)
        if self._picture is not None:
            self.wanted.emit()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the hand while the button is down."""
        self._point(event)

    def _point(self, event: QMouseEvent) -> None:
        room = self._rooms().clock
        along = (event.position().x() - room.left()) / room.width()
        if self._picture is not None:
            self._take(min(max(int(along * self._count), 0), self._count - 1))

    def _take(self, place: int) -> None:
        self.choose(place)
        self.chosen.emit(place)

    def _describe(self) -> None:
        if self._picture is None:
            self.setAccessibleDescription("")
            return
        seen = self._picture.seen[self._at]
        told = f"{date_text(seen.night.date)}: {picked_words(seen)}"
        self.setAccessibleDescription(f"{self._picture.description} {told}.")

    def changeEvent(self, event: QEvent) -> None:
        """Paint anew in another theme or at another text scale."""
        super().changeEvent(event)
        self._still = None
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Lay down what lies still, and the chosen night over it."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            painter.drawPixmap(0, 0, self._still_pixmap(theme))
            if self._picture is not None:
                taken = self._paint_chosen(painter, theme, self._picture)
                YearWords(painter, theme, self._rooms().clock, self._picture, taken).paint()
            if self.hasFocus():
                draw_focus_ring(painter, QRectF(self.rect()), theme)

    def _still_pixmap(self, theme: Theme) -> QPixmap:
        ratio = self.devicePixelRatioF()
        key = (self.size(), ratio, theme.name, text_scale())
        if self._still is not None and self._still[0] == key:
            return self._still[1]
        pixmap = QPixmap(round(self.width() * ratio), round(self.height() * ratio))
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(theme.window)
        rooms = self._rooms()
        with QPainter(pixmap) as painter:
            paint_heads(painter, theme, rooms)
            if self._picture is None:
                painter.setPen(QPen(theme.edge, 1.0, Qt.PenStyle.DashLine))
                for room in (rooms.clock, rooms.span, rooms.clip, rooms.moon):
                    painter.drawRect(room.adjusted(0.5, 0.5, -0.5, -0.5))
            else:
                YearTracks(painter, theme, rooms, self._picture).paint()
        self._still = key, pixmap
        return pixmap

    def _paint_chosen(
        self, painter: QPainter, theme: Theme, picture: YearPicture
    ) -> tuple[Box, ...]:
        """Draw the chosen night's line and figures; what they take of the clock."""
        rooms, seen, x = self._rooms(), picture.seen[self._at], self.x_of(self._at)
        line = QRectF(round(x) - px(1), rooms.clock.top(), px(2), 0.0)
        line.setBottom(rooms.moon.bottom())
        painter.fillRect(line, theme.ink)
        row = night_row(seen)
        width, height = text_size(row.texts["night"], STRONG)
        left = min(max(x - width / 2.0, 0.0), self.width() - width)
        chip = Box(left, rooms.clock.top() - height - px(2), width, height)
        for label, _ in date_labels(rooms.clock, picture.seen):
            # No half of a month beside the chosen date.
            if label.overlaps(chip):
                painter.fillRect(QRectF(*label), theme.window)
        draw_text(painter, chip, row.texts["night"], STRONG, theme.window, theme.ink)
        words = picked_words(seen)
        width, height = text_size(words, STRONG)
        side = x - px(6) - width if x - px(8) - width > rooms.clock.left() else x + px(6)
        hour = row.figures["best"] if seen.best_s is not None else None
        top = rooms.clock.center().y()
        if hour is not None:
            y = y_of(rooms.clock, picture.tones.clock_h, hour)
            mark = QRectF(x - px(4), y - px(4), px(8), px(8))
            painter.fillRect(mark.adjusted(-1, -1, 1, 1), theme.sheet)
            painter.fillRect(mark, theme.shoot(picture.name))
            top = y - height - px(10)
            if top < rooms.clock.top() + px(2):
                top = y + px(10)
        figures = Box(side, top, width, height)
        draw_text(painter, figures, words, STRONG, theme.ink, theme.sheet)
        return figures, box_of(line)
