"""How the tracks of a reviewed take are drawn: tones, clock, frames, drift."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QImage, QPainter, QPen

from app.plots.plotkit import polygon
from app.reviewed.picture import Drift, Flaw, ReviewPicture, Seen
from app.sheet.clock import Clock, ticks_of
from app.sheet.clockpicture import tick_text
from app.sheet.ink import (
    draw_glyph,
    draw_head,
    draw_shade,
    draw_text,
    draw_vertical,
    edge_pen,
    text_size,
)
from app.sheet.labels import FAILING, LIMIT, PART, Box, Placed, Wish, place_labels
from app.sheet.toneground import GRID_STOPS, sigma_share, tone_points, tone_y
from app.theme import Theme, faint, px, text_scale
from app.widgets.flags import draw_shape
from app.widgets.marks import draw_mark
from app.widgets.stamp import MIDDLE, RIGHT, Face, text_width, write
from core.findings import Severity
from core.language import say, say_as
from core.names import part_text
from core.night import Night
from core.words import number_text, signed_text, time_text

_AXIS: Final[Face] = (12.0, 400)
_LABEL: Final[Face] = (12.0, 600)
_SMALL: Final[Face] = (11.0, 400)
_FLAG: Final[Face] = (12.0, 700)
_MEASURED, _EXPECTED = 2.0, 1.6
_MARK = 14.0
#: Rows in which faults are told over the take.
_ROWS = 5
#: The drift's scale is one of these, px to either side.
_DRIFT_SCALES_PX: Final = (2, 5, 10, 20, 50, 100, 200, 500, 1000)


def draw_tones(
    painter: QPainter, theme: Theme, clock: Clock, picture: ReviewPicture, height: float
) -> None:
    """Draw what was expected with its band, what was measured, and where faults begin.

    The ground is there already; figures of the axis stand in the gutter.
    """
    draw_head(painter, theme, px(8), say("Tone"), (say("stops from"), say("mid-grey")))
    for stops in GRID_STOPS:
        room = QRectF(0.0, tone_y(stops, height) - px(8), clock.left - px(10), px(16))
        write(painter, room, signed_text(stops, 0), _AXIS, theme.ink2, RIGHT)
    limits = picture.ground.limits
    low, high = (tone_y(stops, height) for stops in (limits.low_stops, limits.high_stops))
    painter.fillRect(QRectF(clock.left - px(4), high, px(4), low - high), theme.ink)
    painter.save()
    painter.setClipRect(QRectF(clock.left, 0.0, clock.width, height))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for part in picture.parts:
        _draw_expected(painter, theme, clock, picture, part, height)
    for part in picture.parts:
        _draw_measured(painter, theme, clock, part, height)
    for first in (True, False):
        painter.setPen(edge_pen(theme, picture.name, px(1.6)))
        x = round(clock.x(picture.first_s if first else picture.last_s))
        painter.drawLine(QLineF(x, 0.0, x, height))
    painter.restore()
    _draw_words(painter, theme, clock, picture, height)


def _draw_expected(
    painter: QPainter, theme: Theme, clock: Clock, picture: ReviewPicture, part: Seen, height: float
) -> None:
    line, colour = part.expected, theme.shoot(picture.name)
    for run in line.runs:
        x = clock.x(line.axis_s[run])
        low, high = (line.stops[run] + side * line.sigma_stops[run] for side in (-1.0, 1.0))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(faint(colour, sigma_share(theme)))
        there_and_back = np.concatenate((x, x[::-1]))
        painter.drawPolygon(tone_points(there_and_back, np.concatenate((high, low[::-1])), height))
        pen = edge_pen(theme, picture.name, _EXPECTED * text_scale())
        painter.setPen(pen)
        painter.drawPolyline(tone_points(x, line.stops[run], height))


def _draw_measured(
    painter: QPainter, theme: Theme, clock: Clock, part: Seen, height: float
) -> None:
    line = part.measured
    painter.setPen(QPen(theme.ink, _MEASURED * text_scale()))
    for run in line.runs:
        x = clock.x(line.axis_s[run])
        painter.drawPolyline(tone_points(x, line.stops[run], height))
        last = run.stop - 1
        ground = theme.shade1
        y = tone_y(float(line.stops[last]), height)
        draw_glyph(painter, float(x[-1]), y, line.part, theme.ink, ground)


@dataclass(frozen=True)
class _Label:
    """Words that want a place on the plot; a severity has its mark before them."""

    words: str
    face: Face
    ink: str
    rank: int
    severity: Severity | None = None

    def size(self) -> tuple[float, float]:
        """Width and height."""
        wide, high = text_size(self.words, self.face)
        return wide + (px(_MARK + 4) if self.severity else 0), high


def _draw_words(
    painter: QPainter, theme: Theme, clock: Clock, picture: ReviewPicture, height: float
) -> None:
    """Flag, faults, parts and limits, none over another."""
    flag = QRectF(clock.x(picture.first_s), 0.0, text_width(picture.flag, _FLAG) + px(14), px(20))
    labels: list[tuple[_Label, list[Box]]] = []
    for flaw in picture.faults:
        x = clock.x(flaw.axis_s)
        draw_vertical(painter, theme.token(_ink_of(flaw)), x, px(24), height)
        labels.append(_flaw_label(flaw, x))
    labels += _part_labels(clock, picture, height)
    labels += _limit_labels(clock, picture, height)
    labels += _line_labels(clock, picture, height)
    lines = [
        (clock.x(line.axis_s), tone_y(line.stops, height))
        for part in picture.parts
        for line in (part.expected, part.measured)
    ]
    uprights = (picture.first_s, picture.last_s, *(flaw.axis_s for flaw in picture.faults))
    lines += [(np.full(2, clock.x(axis_s)), np.array((0.0, height))) for axis_s in uprights]
    wishes = [Wish(str(at), label.rank, places) for at, (label, places) in enumerate(labels)]
    bounds = Box(clock.left, 0.0, clock.width, height)
    taken = [Box(flag.x(), flag.y(), flag.width(), flag.height())]
    for key, placed in place_labels(wishes, bounds, lines, taken).items():
        _draw_label(painter, theme, labels[int(key)][0], placed)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.shoot(picture.name))
    draw_shape(painter, flag, picture.name)
    write(painter, flag, picture.flag, _FLAG, theme.on_shoot(picture.name), MIDDLE)


def _draw_label(painter: QPainter, theme: Theme, label: _Label, placed: Placed) -> None:
    box, chip = placed.box, theme.shade1 if placed.crossed or label.severity else None
    if label.severity is not None:
        side, room = px(_MARK), px(_MARK + 4)
        painter.fillRect(QRectF(*box), faint(theme.shade1, 0.95))
        mark = QRectF(box.x + px(2), box.y + (box.height - side) / 2.0, side, side)
        draw_mark(painter, mark, label.severity, theme)
        box, chip = Box(box.x + room, box.y, box.width - room, box.height), None
    draw_text(painter, box, label.words, label.face, theme.token(label.ink), chip)


def _ink_of(flaw: Flaw) -> str:
    return "alarm" if flaw.severity == "stop" else "ink"


def _flaw_label(flaw: Flaw, x: float) -> tuple[_Label, list[Box]]:
    """Beside the line where it begins, a row lower where there is no room."""
    label = _Label(flaw.words, _LABEL, _ink_of(flaw), FAILING, flaw.severity)
    wide, high = label.size()
    rows = [px(26) + row * (high + px(4)) for row in range(_ROWS)]
    sides = (x + px(5), x - wide - px(5))
    return label, [Box(side, y, wide, high) for y in rows for side in sides]


def _part_labels(
    clock: Clock, picture: ReviewPicture, height: float
) -> Iterator[tuple[_Label, list[Box]]]:
    """Right of the take, as near to the line's end as there is room."""
    for part in picture.parts:
        lines = (part.measured, part.expected)
        ends = [line.stops[np.isfinite(line.stops)] for line in lines]
        last = next((one[-1] for one in ends if one.size), None)
        if last is not None:
            label = _Label(f"{part_text(part.expected.part)} {part.words}", _LABEL, "ink", PART)
            wide, high = label.size()
            x, y = clock.x(picture.last_s) + px(12), tone_y(float(last), height) - high / 2.0
            steps = sorted(range(-3, 4), key=abs)
            yield label, [Box(x, y + step * high, wide, high) for step in steps]


def _line_labels(
    clock: Clock, picture: ReviewPicture, height: float
) -> Iterator[tuple[_Label, list[Box]]]:
    """Which line is which, once, beside the part that is measured longest."""
    part = max(picture.parts, key=lambda one: int(np.isfinite(one.measured.stops).sum()))
    for line, words, ink in (
        (part.measured, say("measured"), "ink"),
        (part.expected, say("expected, ±1 σ"), picture.name.lower()),
    ):
        known = np.flatnonzero(np.isfinite(line.stops))
        if known.size:
            at = int(known[len(known) // 8])
            label = _Label(words, _LABEL, ink, PART)
            wide, high = label.size()
            x, y = clock.x(float(line.axis_s[at])), tone_y(float(line.stops[at]), height)
            gaps = (px(10), px(26), px(42), px(58))
            rows = [y - high - gap for gap in gaps] if ink == "ink" else [y + gap for gap in gaps]
            yield label, [Box(x, row, wide, high) for row in rows]


def _limit_labels(
    clock: Clock, picture: ReviewPicture, height: float
) -> Iterator[tuple[_Label, list[Box]]]:
    limits, x = picture.ground.limits, clock.x(picture.first_s) + px(6)
    for words, stops, above in (
        (limits.burnt_words, limits.burnt_stops, True),
        (limits.words, limits.high_stops, False),
    ):
        label = _Label(words, _SMALL, "ink2", LIMIT)
        wide, high = label.size()
        y = tone_y(stops, height)
        yield label, [Box(x, y - high - px(1) if above else y + px(3), wide, high)]


def draw_clock(
    painter: QPainter, theme: Theme, clock: Clock, picture: ReviewPicture, night: Night, top: float
) -> None:
    """Draw ticks and their clock times."""
    draw_head(painter, theme, top + px(4), say("Clock"), (picture.ground.clock.second_line,))
    ticks = ticks_of(
        clock, text_width(time_text(dt.time(0)), _AXIS) + px(16), picture.ground.clock.offset_s
    )
    painter.fillRect(QRectF(clock.left, top, clock.width, max(1, px(1))), theme.edge)
    for times, length in ((ticks.long_s, 7), (ticks.short_s, 4)):
        for axis_s in times:
            draw_vertical(painter, theme.edge, clock.x(axis_s), top, top + px(length))
    for axis_s in ticks.labelled_s:
        room = QRectF(clock.x(axis_s) - px(40), top + px(7), px(80), px(16))
        write(painter, room, tick_text(night, clock.axis, axis_s), _AXIS, theme.ink, MIDDLE)


def cells_of(clock: Clock, picture: ReviewPicture, height: float) -> Iterator[QRectF]:
    """Where the strips' frames stand: side by side over the take, at their own time."""
    count = max(len(picture.pairs), 1)
    left, right = clock.x(picture.first_s), clock.x(picture.last_s)
    width, gap = (right - left) / count, float(px(2))
    for at in range(count):
        yield QRectF(round(left + at * width), 0.0, round(width - gap), height)


def draw_strips(
    painter: QPainter,
    theme: Theme,
    clock: Clock,
    picture: ReviewPicture,
    top: float,
    height: float,
) -> None:
    """Draw frames as predicted above those that were measured, and their numbers."""
    draw_head(painter, theme, top + px(2), say("Predicted"), (say("by the plan"),))
    draw_head(painter, theme, top + height + px(4), say("Measured"), (picture.told,))
    room_px = text_width(str(max(picture.drift.numbers)), (11.0, 700)) + px(4)
    for place, (cell, (at, predicted, measured)) in enumerate(
        zip(cells_of(clock, picture, height), picture.pairs, strict=False)
    ):
        upper = cell.translated(0.0, top)
        lower = upper.translated(0.0, height + px(2))
        _draw_frame(painter, theme, upper, predicted)
        _draw_frame(painter, theme, lower, measured)
        fails = at in picture.failing
        if fails:
            _draw_failing(painter, theme, lower)
        if place % math.ceil(room_px / max(cell.width(), 1.0)):
            # Where the frames are narrow, numbers stand under some of them.
            continue
        room = QRectF(lower.center().x() - room_px / 2.0, lower.bottom(), room_px, px(16))
        face: Face = (11.0, 700 if fails else 400)
        ink = theme.alarm if fails else theme.ink2
        write(painter, room, str(picture.drift.numbers[at]), face, ink, MIDDLE)


def _draw_frame(painter: QPainter, theme: Theme, cell: QRectF, image: QImage | None) -> None:
    if image is None:
        painter.setPen(QPen(theme.edge, max(1, px(1)), Qt.PenStyle.DashLine))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(cell)
        return
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    # The middle of the picture, whatever its shape.
    share = min(image.width() / cell.width(), image.height() / cell.height())
    source = QRectF(0.0, 0.0, cell.width() * share, cell.height() * share)
    source.moveCenter(QRectF(image.rect()).center())
    painter.drawImage(cell, image, source)


def _draw_failing(painter: QPainter, theme: Theme, cell: QRectF) -> None:
    """Frame a picture of which more is burnt than may be, and mark it."""
    painter.setPen(QPen(theme.alarm, px(2)))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(cell.adjusted(px(1), px(1), -px(1), -px(1)))
    side = min(px(13), round(cell.width() / 2.0))
    corner = QRectF(cell.right() - side - 1, cell.top() + 1, side, side)
    draw_mark(painter, corner, "stop", theme)


def draw_drift(
    painter: QPainter, theme: Theme, clock: Clock, picture: ReviewPicture, top: float, height: float
) -> None:
    """Draw the departure from the planned path, right and up, along the take."""
    draw_head(painter, theme, top + px(4), say("Drift"), (say("pixels"),))
    draw_shade(painter, QRectF(clock.left, top, clock.width, height), theme, picture.ground.shade)
    scale = drift_scale_px(picture.drift)
    middle = top + height / 2.0
    per_px = (height / 2.0 - px(4)) / scale
    painter.fillRect(QRectF(clock.left, round(middle), clock.width, max(1, px(1))), theme.edge)
    for sign, share in (("+", -1.0), ("\N{MINUS SIGN}", 1.0)):
        room = QRectF(
            0.0, middle + share * (height / 2.0 - px(8)) - px(8), clock.left - px(10), px(16)
        )
        write(painter, room, f"{sign}{scale}", _AXIS, theme.ink2, RIGHT)
    painter.save()
    painter.setClipRect(QRectF(clock.left, top, clock.width, height))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    x = clock.x(picture.time_s)
    ends = []
    for name, values, style in (
        (say_as("side", "right"), picture.drift.right_px, Qt.PenStyle.SolidLine),
        (say_as("side", "up"), -picture.drift.down_px, Qt.PenStyle.DashLine),
    ):
        known = np.isfinite(values)
        if known.sum() > 1:
            painter.setPen(QPen(theme.ink, 1.6 * text_scale(), style))
            y = middle - values[known] * per_px
            painter.drawPolyline(polygon(x[known], y))
            ends.append((float(y[-1]), name))
    painter.restore()
    _draw_ends(painter, theme, clock.x(picture.last_s) + px(8), ends, top, height)


def _draw_ends(
    painter: QPainter,
    theme: Theme,
    x: float,
    ends: list[tuple[float, str]],
    top: float,
    height: float,
) -> None:
    """The lines' names at their ends, apart from one another."""
    high = px(15)
    places = sorted(ends)
    if len(places) == 2 and places[1][0] - places[0][0] < high:
        middle = min(max((places[0][0] + places[1][0]) / 2.0, top + high), top + height - high)
        places = [(middle - high / 2.0, places[0][1]), (middle + high / 2.0, places[1][1])]
    for y, name in places:
        write(painter, QRectF(x, y - high / 2.0, px(60), high), name, _LABEL, theme.ink)


def drift_scale_px(drift: Drift) -> int:
    """The least of the drift's scales that holds all of it."""
    values = np.abs(np.concatenate((drift.right_px, drift.down_px)))
    most = float(np.nanmax(values)) if np.isfinite(values).any() else 0.0
    return next((one for one in _DRIFT_SCALES_PX if one >= most), _DRIFT_SCALES_PX[-1])


def draw_track(painter: QPainter, theme: Theme, rect: QRectF, drift: Drift, told: str) -> None:
    """Draw the departure from the planned path as the picture moved: rings in pixels."""
    painter.fillRect(rect, theme.field)
    painter.save()
    painter.setClipRect(rect)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    middle, scale = rect.center(), drift_scale_px(drift)
    reach = min(rect.width(), rect.height()) / 2.0 - px(10)
    painter.setPen(QPen(theme.rule, max(1, px(1))))
    painter.drawLine(QPointF(rect.left(), middle.y()), QPointF(rect.right(), middle.y()))
    painter.drawLine(QPointF(middle.x(), rect.top()), QPointF(middle.x(), rect.bottom()))
    painter.setPen(QPen(theme.edge, max(1, px(1))))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for share in (0.5, 1.0):
        painter.drawEllipse(middle, share * reach, share * reach)
        words = say("{scale} px", scale=number_text(scale * share))
        room = QRectF(middle.x() - share * reach - px(62), middle.y() - px(16), px(60), px(14))
        write(painter, room, words, _SMALL, theme.ink2, RIGHT)
    known = np.flatnonzero(np.isfinite(drift.right_px) & np.isfinite(drift.down_px))
    if known.size:
        x = middle.x() + drift.right_px[known] * reach / scale
        y = middle.y() + drift.down_px[known] * reach / scale
        painter.setPen(QPen(theme.ink, 1.6 * text_scale()))
        painter.drawPolyline(polygon(x, y))
        numbered: list[QPointF] = []
        for at in (0, len(known) - 1, len(known) // 2):
            place = QPointF(float(x[at]), float(y[at]))
            # Where the craft stayed, one number is enough.
            if all((place - one).manhattanLength() > px(34) for one in numbered):
                numbered.append(place)
                painter.setBrush(theme.ink)
                painter.drawEllipse(place, px(3.5), px(3.5))
                room = QRectF(place.x() + px(7), place.y() - px(15), px(50), px(14))
                write(painter, room, str(drift.numbers[int(known[at])]), _LABEL, theme.ink)
    painter.restore()
    wide, high = text_size(told, _LABEL)
    box = Box(rect.left() + px(6), rect.bottom() - high - px(4), wide, high)
    draw_text(painter, box, told, _LABEL, theme.ink, theme.field)
