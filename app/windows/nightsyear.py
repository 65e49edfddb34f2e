"""The picture of many nights: the clock up, the dates across, one night chosen."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QEvent, QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.sheet.hatch import draw_hatch
from app.sheet.ink import draw_head, draw_text, mixed, text_size
from app.sheet.labels import Box
from app.shown.dates import date_text, short_date
from app.shown.nights import (
    Hatched,
    Ribbon,
    YearPicture,
    change_words,
    night_row,
    picked_words,
    span_min,
)
from app.style import draw_focus_ring
from app.theme import Theme, faint, px, text_scale, theme_of
from app.widgets.stamp import RIGHT, Face, write
from core.datetyped import MONTHS
from core.exposure import FloatArray
from core.nights import NightSeen
from core.words import cut_up, number_text

_GUTTER, _INSET, _GAP = 124, 16, 8
_AXIS, _LEAST_CLOCK, _CURVE, _MOON, _FOOT = 24, 200, 40, 16, 16
#: Stops from mid-grey at which the ground of the clock is brightest and darkest.
_BRIGHTEST_STOPS, _DARKEST_STOPS = 3.0, -5.0
#: How far the darkest ground goes from the shade's end toward the ink.
_DEEPER = 0.35
#: Nights up to which each has its date at the axis, up to which each week has; else months.
_DAYS_NAMED, _WEEKS_NAMED = 10, 70
_WEEK = 7
_SMALL: Face = (11, 400)
_LABEL: Face = (12, 400)
_STRONG: Face = (12, 600)
_STEPS = {
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Right: 1,
    Qt.Key.Key_PageUp: -30,
    Qt.Key.Key_PageDown: 30,
}


@dataclass(frozen=True)
class _Rooms:
    """Where the tracks lie in the widget."""

    clock: QRectF
    span: QRectF
    clip: QRectF
    moon: QRectF


class NightsYear(QWidget):
    """Good starts over the clock of many nights, with span, clip and moon beneath.

    Left and right choose the night beside, Page keys a month further, Home and End the ends.

    Signals
    -------
    chosen
        The pilot chose a night: its place among those shown.
    """

    chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._picture: YearPicture | None = None
        self._at = 0
        self._still: tuple[object, QPixmap] | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Good starts over the nights")

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
        tracks = _AXIS + _LEAST_CLOCK + 2 * (_CURVE + _GAP) + _GAP + _MOON + _FOOT
        return QSize(px(420), px(tracks))

    def _rooms(self) -> _Rooms:
        left, width = px(_GUTTER), self.width() - px(_GUTTER) - px(_INSET)
        curve, moon, gap = px(_CURVE), px(_MOON), px(_GAP)
        top = px(_AXIS)
        below = 2 * (curve + gap) + gap + moon + px(_FOOT)
        clock = QRectF(left, top, width, max(1, self.height() - top - below))
        span = QRectF(left, clock.bottom() + gap, width, curve)
        clip = QRectF(left, span.bottom() + gap, width, curve)
        return _Rooms(clock, span, clip, QRectF(left, clip.bottom() + gap, width, moon))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose another night."""
        key, last = Qt.Key(event.key()), self._count - 1
        if self._picture is None or key not in (*_STEPS, Qt.Key.Key_Home, Qt.Key.Key_End):
            super().keyPressEvent(event)
            return
        ends = {Qt.Key.Key_Home: 0, Qt.Key.Key_End: last}
        self._take(ends.get(key, min(max(self._at + _STEPS.get(key, 0), 0), last)))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the night pointed at."""
        self._point(event)

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
        painter, theme = QPainter(self), theme_of(self)
        painter.drawPixmap(0, 0, self._still_pixmap(theme))
        if self._picture is not None:
            taken = self._paint_chosen(painter, theme, self._picture)
            _Words(painter, theme, self._rooms().clock, self._picture, taken).paint()
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
        painter = QPainter(pixmap)
        rooms = self._rooms()
        _paint_heads(painter, theme, rooms)
        if self._picture is None:
            for room in (rooms.clock, rooms.span, rooms.clip, rooms.moon):
                painter.setPen(QPen(theme.edge, 1.0, Qt.PenStyle.DashLine))
                painter.drawRect(room.adjusted(0.5, 0.5, -0.5, -0.5))
        else:
            _Still(painter, theme, rooms, self._picture).paint()
        painter.end()
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
        width, height = text_size(row.texts["night"], _STRONG)
        left = min(max(x - width / 2.0, 0.0), self.width() - width)
        chip = Box(left, rooms.clock.top() - height - px(2), width, height)
        draw_text(painter, chip, row.texts["night"], _STRONG, theme.window, theme.ink)
        words = picked_words(seen)
        width, height = text_size(words, _STRONG)
        side = x - px(6) - width if x - px(8) - width > rooms.clock.left() else x + px(6)
        hour = row.figures["best"] if seen.best_s is not None else None
        top = rooms.clock.center().y()
        if hour is not None:
            y = _y_of(rooms.clock, picture.tones.clock_h, hour)
            mark = QRectF(x - px(4), y - px(4), px(8), px(8))
            painter.fillRect(mark.adjusted(-1, -1, 1, 1), theme.sheet)
            painter.fillRect(mark, theme.shoot(picture.name))
            top = y - height - px(10)
            if top < rooms.clock.top() + px(2):
                top = y + px(10)
        figures = Box(side, top, width, height)
        draw_text(painter, figures, words, _STRONG, theme.ink, theme.sheet)
        return figures, _box(line)


class _Still:
    """One painting of all that does not follow the chosen night."""

    def __init__(
        self, painter: QPainter, theme: Theme, rooms: _Rooms, picture: YearPicture
    ) -> None:
        self._painter, self._theme, self._rooms, self._picture = painter, theme, rooms, picture
        self._step = rooms.clock.width() / len(picture.seen)

    def paint(self) -> None:
        """Paint ground, grid, ribbon and the tracks beneath."""
        painter, theme, clock = self._painter, self._theme, self._rooms.clock
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(clock, _ground(self._picture.tones.land_stops, theme))
        for hatched in self._picture.hatched:
            area = _across(clock, self._step, hatched)
            draw_hatch(painter, area, theme.ink3, 0.45)
        self._paint_grid()
        painter.save()
        painter.setClipRect(clock)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_lines()
        painter.restore()
        self._paint_curve(self._rooms.span, [span_min(one) for one in self._picture.seen])
        clips = [one.clip_length_s or 0.0 for one in self._picture.seen]
        self._paint_curve(self._rooms.clip, clips)
        self._paint_moon()

    def _paint_grid(self) -> None:
        painter, theme, clock = self._painter, self._theme, self._rooms.clock
        painter.setPen(QPen(faint(theme.edge, 0.28), 1.0))
        hours = self._picture.tones.clock_h
        whole = 1 if hours[-1] - hours[0] <= 6.0 else 2
        for hour in range(int(hours[0]), int(hours[-1]) + 1, whole):
            y = round(_y_of(clock, hours, hour)) + 0.5
            painter.drawLine(QLineF(clock.left(), y, clock.right(), y))
            text = f"{hour % 24:02d}:00"
            room = QRectF(0.0, y - px(8), clock.left() - px(8), px(16))
            write(painter, room, text, _LABEL, theme.ink2, RIGHT)
        free_from = clock.left()
        for place, text in _dates(self._picture.seen):
            x = round(clock.left() + place * self._step)
            painter.setPen(QPen(faint(theme.edge, 0.28), 1.0))
            painter.drawLine(QLineF(x + 0.5, clock.top(), x + 0.5, clock.bottom()))
            width, height = text_size(text, _LABEL)
            if x >= free_from and x + width <= clock.right() + px(_INSET):
                painter.setPen(QPen(theme.edge, 1.0))
                painter.drawLine(QLineF(x + 0.5, clock.top() - px(16), x + 0.5, clock.top()))
                box = Box(x + px(2), clock.top() - height - px(3), width, height)
                draw_text(painter, box, text, _LABEL, theme.ink2)
                free_from = x + width + px(6)

    def _paint_lines(self) -> None:
        painter, theme, clock = self._painter, self._theme, self._rooms.clock
        pen = QPen(theme.ink, 1.3 * text_scale(), Qt.PenStyle.CustomDashLine)
        pen.setDashPattern([1.2, 2.6])
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pen)
        for event in self._picture.events:
            painter.drawPolyline(self._points(event, event.low_h))
        colour = theme.shoot(self._picture.name)
        for ribbon in self._picture.ribbons:
            outline = [*self._points(ribbon, ribbon.high_h)]
            outline += reversed(self._points(ribbon, ribbon.low_h))
            for width, ink in ((4.6, theme.field), (1.6, colour)):
                pen = QPen(ink, width * text_scale())
                pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
                painter.setPen(pen)
                painter.setBrush(colour)
                painter.drawPolygon(QPolygonF(outline))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        painter.setPen(QPen(theme.ink2, max(1.0, text_scale()), Qt.PenStyle.DashLine))
        for change in self._picture.changes:
            x = round(clock.left() + change.index * self._step) + 0.5
            painter.drawLine(QLineF(x, clock.top(), x, clock.bottom()))

    def _points(self, ribbon: Ribbon, hours: Sequence[float]) -> list[QPointF]:
        """A line through the middle of each night, on to the outer edges of its run."""
        clock, scale = self._rooms.clock, self._picture.tones.clock_h
        ys = [_y_of(clock, scale, hour) for hour in hours]
        middles = [ribbon.first + 0.5 + k for k in range(len(ys))]
        places = [ribbon.first, *middles, ribbon.first + len(ys)]
        return [
            QPointF(clock.left() + place * self._step, y)
            for place, y in zip(places, [ys[0], *ys, ys[-1]], strict=True)
        ]

    def _paint_curve(self, room: QRectF, values: Sequence[float]) -> None:
        """A curve over the nights, from 0 to its highest whole figure, which is told."""
        painter, theme = self._painter, self._theme
        painter.fillRect(room, theme.sheet)
        most = max(*values, 1.0) if len(values) > 1 else max(values[0], 1.0)
        step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if 2 * s >= most)
        top = max(cut_up(most, step), step) * 1.08
        write_room = QRectF(0.0, 0.0, room.left() - px(8), px(14))
        # Two figures need 14 px each between them; else only the upper one.
        levels = [step] if most < 1.5 * step else [step, 2 * step]
        for level in levels:
            y = round(room.bottom() - level / top * room.height()) + 0.5
            painter.setPen(QPen(faint(theme.edge, 0.4), 1.0))
            painter.drawLine(QLineF(room.left(), y, room.right(), y))
            write_room.moveTop(y - px(7))
            write(painter, write_room, number_text(level), _LABEL, theme.ink2, RIGHT)
        heights = [room.bottom() - max(value, 0.0) / top * room.height() for value in values]
        line = [
            QPointF(room.left() + (k + edge) * self._step, y)
            for k, y in enumerate(heights)
            for edge in ((0.0, 1.0) if len(values) <= _WEEKS_NAMED else (0.5,))
        ]
        line = [QPointF(room.left(), line[0].y()), *line, QPointF(room.right(), line[-1].y())]
        area = [QPointF(room.left(), room.bottom()), *line, QPointF(room.right(), room.bottom())]
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(faint(theme.ink2, 0.12))
        painter.drawPolygon(QPolygonF(area))
        painter.setPen(QPen(theme.ink2, 1.3 * text_scale()))
        painter.drawPolyline(QPolygonF(line))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)

    def _paint_moon(self) -> None:
        painter, theme, room = self._painter, self._theme, self._rooms.moon
        # Full is light in every theme: the brighter of ground and ink.
        light, dark = theme.field, theme.ink2
        if light.lightnessF() < dark.lightnessF():
            light, dark = dark, light
        for place, seen in enumerate(self._picture.seen):
            left, right = (round(room.left() + (place + k) * self._step) for k in (0, 1))
            bar = QRectF(left, room.top(), right - left, room.height())
            painter.fillRect(bar, mixed(dark, light, seen.moon_share))
        painter.setPen(QPen(theme.edge, 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(room.adjusted(0.5, 0.5, -0.5, -0.5))
        foot = QRectF(room.left(), room.bottom() + px(1), room.width(), px(14))
        write(painter, foot, "full moon is light", _SMALL, theme.ink3)


class _Words:
    """Words over the clock, by rank; one that would lie over another, or finds no room, goes."""

    def __init__(
        self,
        painter: QPainter,
        theme: Theme,
        clock: QRectF,
        picture: YearPicture,
        taken: Sequence[Box],
    ) -> None:
        self._painter, self._theme, self._clock, self._picture = painter, theme, clock, picture
        self._step = clock.width() / len(picture.seen)
        self._taken = list(taken)

    def paint(self) -> None:
        """Write what the clocks do, why no start holds, and the names of the lines."""
        clock, picture = self._clock, self._picture
        for change in picture.changes:
            x = clock.left() + change.index * self._step
            self._say(change_words(change), _SMALL, x + px(3), clock.bottom() - px(18))
        for hatched in sorted(picture.hatched, key=_length, reverse=True):
            self._say_why(hatched)
        # Good starts lie on the dark side of the event.
        dusk = picture.seen[0].night.twilight == "dusk"
        self._name("good starts", picture.ribbons, _STRONG, above=dusk)
        self._name(picture.event_word, picture.events, _LABEL, above=not dusk)

    def _say_why(self, hatched: Hatched) -> None:
        area = _across(self._clock, self._step, hatched)
        for words in (hatched.words, "no start"):
            width, height = text_size(words, _STRONG)
            if width > area.width():
                continue
            for share in (0.72, 0.5, 0.3, 0.85):
                y = area.top() + share * area.height() - height / 2.0
                if self._say(words, _STRONG, area.center().x() - width / 2.0, y):
                    return

    def _name(self, words: str, lines: Sequence[Ribbon], face: Face, *, above: bool) -> None:
        """Name a line where it runs, over it or under it."""
        width, height = text_size(words, face)
        reach = int(width / self._step)
        for line in sorted(lines, key=lambda one: -len(one.low_h)):
            near = line.high_h if above else line.low_h
            for share in (0.3, 0.5, 0.15, 0.7):
                place = int(share * (len(near) - 1))
                x = self._clock.left() + (line.first + place + 0.5) * self._step - width / 2.0
                beside = near[max(0, place - reach) : place + reach + 1]
                ys = [_y_of(self._clock, self._picture.tones.clock_h, hour) for hour in beside]
                y = min(ys) - height - px(6) if above else max(ys) + px(6)
                if self._say(words, face, max(x, self._clock.left() + px(2)), y):
                    return

    def _say(self, words: str, face: Face, x: float, y: float) -> bool:
        """Write a word on a chip of the ground, if it has room."""
        box = Box(x, y, *text_size(words, face))
        room = _box(self._clock)
        if not box.inside(room) or any(box.overlaps(one, 2.0) for one in self._taken):
            return False
        self._taken.append(box)
        draw_text(self._painter, box, words, face, self._theme.ink, self._theme.sheet)
        return True


def _box(rect: QRectF) -> Box:
    return Box(rect.x(), rect.y(), rect.width(), rect.height())


def _across(room: QRectF, step: float, hatched: Hatched) -> QRectF:
    left = round(room.left() + hatched.first * step)
    right = round(room.left() + (hatched.last + 1) * step)
    return QRectF(left, room.top(), right - left, room.height())


def _paint_heads(painter: QPainter, theme: Theme, rooms: _Rooms) -> None:
    for room, title, second in (
        (rooms.clock, "Clock", ("shade: tone", "of the land")),
        (rooms.span, "Span", ("minutes",)),
        (rooms.clip, "Clip", ("seconds that fit",)),
        (rooms.moon, "Moon", ()),
    ):
        draw_head(painter, theme, room.top(), title, second)


def _ground(land_stops: FloatArray, theme: Theme) -> QImage:
    """The land's tone as a picture, a column a night, the latest hour on top."""
    deepest = mixed(theme.shade1, theme.ink2, _DEEPER) if theme.name == "light" else theme.shade1
    share = (_BRIGHTEST_STOPS - land_stops.T[::-1]) / (_BRIGHTEST_STOPS - _DARKEST_STOPS)
    share = np.clip(share, 0.0, 1.0)[..., None]
    ends = [np.array(_rgb(colour)) for colour in (theme.shade0, deepest)]
    rows, columns = share.shape[:2]
    pixels = np.full((rows, columns, 4), 255, dtype=np.uint8)
    pixels[..., :3] = np.rint((1.0 - share) * ends[0] + share * ends[1])
    image = QImage(pixels.tobytes(), columns, rows, 4 * columns, QImage.Format.Format_RGBX8888)
    return image.copy()


def _rgb(colour: QColor) -> tuple[int, int, int]:
    return colour.red(), colour.green(), colour.blue()


def _y_of(room: QRectF, clock_h: FloatArray, hour: float) -> float:
    first, last = float(clock_h[0]), float(clock_h[-1])
    return room.bottom() - (hour - first) / (last - first) * room.height()


def _dates(seen: Sequence[NightSeen]) -> Iterator[tuple[int, str]]:
    """Places of the axis with their words: months, weeks or days, by how many there are."""
    named: Callable[[int, dt.date], bool]
    if len(seen) <= _DAYS_NAMED:
        named = _always
    elif len(seen) <= _WEEKS_NAMED:
        named = _each_week
    else:
        named = _each_month
    for place, night in enumerate(seen):
        date = night.night.date
        if named(place, date):
            month = MONTHS[date.month - 1][:3]
            yield place, month if named is _each_month else short_date(date)


def _always(_place: int, _date: dt.date) -> bool:
    return True


def _each_week(place: int, _date: dt.date) -> bool:
    return place % _WEEK == 0


def _each_month(_place: int, date: dt.date) -> bool:
    return date.day == 1


def _length(hatched: Hatched) -> int:
    return hatched.last - hatched.first
