"""What lies still in the picture of many nights: ground, grid, lines and the tracks beneath."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPen, QPolygonF

from app.sheet.hatch import draw_hatch
from app.sheet.ink import draw_head, draw_text, mixed, text_size
from app.sheet.labels import Box
from app.shown.nights import Hatched, Ribbon, YearPicture, span_min
from app.theme import Theme, faint, px, text_scale
from app.widgets.stamp import RIGHT, Face, write
from core.dates import month_text, short_date
from core.exposure import FloatArray
from core.language import say
from core.nights import NightSeen
from core.words import cut_up, number_text, time_text

SMALL: Face = (11, 400)
LABEL: Face = (12, 400)
STRONG: Face = (12, 600)
#: Room at the right of the tracks.
INSET = 16
#: Stops from mid-grey at which the ground of the clock is brightest and darkest.
_BRIGHTEST_STOPS, _DARKEST_STOPS = 3.0, -5.0
#: How far the darkest ground goes from the shade's end toward the ink.
_DEEPER = 0.35
#: Nights up to which each has its date at the axis, up to which each week has; else months.
_DAYS_NAMED, _WEEKS_NAMED = 10, 70
_WEEK = 7
#: Whole figures that a curve's scale may step by.
_SCALE_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)


@dataclass(frozen=True)
class YearRooms:
    """Where the tracks lie in the widget."""

    clock: QRectF
    span: QRectF
    clip: QRectF
    moon: QRectF


class YearTracks:
    """One painting of all that does not follow the chosen night."""

    def __init__(
        self, painter: QPainter, theme: Theme, rooms: YearRooms, picture: YearPicture
    ) -> None:
        self._painter, self._theme, self._rooms, self._picture = painter, theme, rooms, picture
        self._step = rooms.clock.width() / len(picture.seen)

    def paint(self) -> None:
        """Paint ground, grid, ribbon and the tracks beneath."""
        painter, theme, clock = self._painter, self._theme, self._rooms.clock
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(clock, _ground(self._picture.tones.land_stops, theme))
        for hatched in self._picture.hatched:
            area = across_of(clock, self._step, hatched)
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
            y = round(y_of(clock, hours, hour)) + 0.5
            painter.drawLine(QLineF(clock.left(), y, clock.right(), y))
            text = time_text(dt.time(hour % 24))
            room = QRectF(0.0, y - px(8), clock.left() - px(8), px(16))
            write(painter, room, text, LABEL, theme.ink2, RIGHT)
        for place, _ in _dates(self._picture.seen):
            x = round(clock.left() + place * self._step) + 0.5
            painter.drawLine(QLineF(x, clock.top(), x, clock.bottom()))
        for box, text in date_labels(clock, self._picture.seen):
            x = box.x - px(2) + 0.5
            painter.setPen(QPen(theme.edge, 1.0))
            painter.drawLine(QLineF(x, clock.top() - px(16), x, clock.top()))
            draw_text(painter, box, text, LABEL, theme.ink2)

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
        ys = [y_of(clock, scale, hour) for hour in hours]
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
        most = max([*values, 1.0])
        step = next((one for one in _SCALE_STEPS if 2 * one >= most), _SCALE_STEPS[-1])
        top = max(cut_up(most, step), step) * 1.08
        write_room = QRectF(0.0, 0.0, room.left() - px(8), px(14))
        # Two figures need 14 px each between them; else only the upper one.
        levels = [step] if most < 1.5 * step else [step, 2 * step]
        for level in levels:
            y = round(room.bottom() - level / top * room.height()) + 0.5
            painter.setPen(QPen(faint(theme.edge, 0.4), 1.0))
            painter.drawLine(QLineF(room.left(), y, room.right(), y))
            write_room.moveTop(y - px(7))
            write(painter, write_room, number_text(level), LABEL, theme.ink2, RIGHT)
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
        write(painter, foot, say("full moon is light"), SMALL, theme.ink3)


def paint_heads(painter: QPainter, theme: Theme, rooms: YearRooms) -> None:
    """Write the heads of the tracks."""
    for room, title, second in (
        (rooms.clock, say("Clock"), (say("shade: tone"), say("of the land"))),
        (rooms.span, say("Span"), (say("minutes"),)),
        (rooms.clip, say("Clip"), (say("seconds that fit"),)),
        (rooms.moon, say("Moon"), ()),
    ):
        draw_head(painter, theme, room.top(), title, second)


def y_of(room: QRectF, clock_h: FloatArray, hour: float) -> float:
    """Where an hour of the clock stands in the clock's room."""
    first, last = float(clock_h[0]), float(clock_h[-1])
    return room.bottom() - (hour - first) / (last - first) * room.height()


def across_of(room: QRectF, step: float, hatched: Hatched) -> QRectF:
    """A run of nights across a room, each night `step` wide."""
    left = round(room.left() + hatched.first * step)
    right = round(room.left() + (hatched.last + 1) * step)
    return QRectF(left, room.top(), right - left, room.height())


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


def date_labels(clock: QRectF, seen: Sequence[NightSeen]) -> Iterator[tuple[Box, str]]:
    """The words of the axis above the clock, as many as have room, and where each stands."""
    free_from = clock.left()
    for place, text in _dates(seen):
        x = round(clock.left() + place * clock.width() / len(seen))
        width, height = text_size(text, LABEL)
        if x >= free_from and x + width <= clock.right() + px(INSET):
            yield Box(x + px(2), clock.top() - height - px(3), width, height), text
            free_from = x + width + px(6)


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
            yield place, month_text(date) if named is _each_month else short_date(date)


def _always(_place: int, _date: dt.date) -> bool:
    return True


def _each_week(place: int, _date: dt.date) -> bool:
    return place % _WEEK == 0


def _each_month(_place: int, date: dt.date) -> bool:
    return date.day == 1
