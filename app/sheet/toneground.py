"""What lies still under the tones: shade, keepable band, hatch, limits, grid, moments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, overload

import numpy as np
from PySide6.QtCore import QLineF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QWidget

from app.plots.plotkit import polygon
from app.sheet.clock import Clock, ticks_of
from app.sheet.clockpicture import ClockPicture
from app.sheet.hatch import draw_hatch
from app.sheet.ink import draw_shade, sheet_pixmap
from app.sheet.tonepicture import Limits, Line, Shade
from app.theme import Theme, faint, px, text_scale
from core.exposure import FloatArray

LOWEST_STOPS, HIGHEST_STOPS = -5.4, 6.6
GRID_STOPS: Final = (-4, -2, 0, 2, 4)
_HATCH = 0.2
_THIN = 1.25
_SIGMA, _SIGMA_DARK = 0.16, 0.22


@overload
def tone_y(stops: float, height: float) -> float: ...
@overload
def tone_y(stops: FloatArray, height: float) -> FloatArray: ...
def tone_y(stops: float | FloatArray, height: float) -> float | FloatArray:
    """Where a tone stands on a plot of a height, y downward."""
    return (HIGHEST_STOPS - stops) / (HIGHEST_STOPS - LOWEST_STOPS) * height


@dataclass(frozen=True)
class Ground:
    """All that the ground shows."""

    shade: Shade
    limits: Limits
    clock: ClockPicture


def ground_pixmap(
    widget: QWidget, theme: Theme, clock: Clock, ground: Ground, height: float
) -> QPixmap:
    """The ground as a picture of the plot's size."""
    pixmap = sheet_pixmap(widget, theme, clock.width, height)
    with QPainter(pixmap) as painter:
        whole = QRectF(0.0, 0.0, clock.width, height)
        draw_shade(painter, whole, theme, ground.shade)
        low, high = (
            tone_y(stops, height) for stops in (ground.limits.low_stops, ground.limits.high_stops)
        )
        painter.fillRect(QRectF(0.0, high, clock.width, low - high), theme.band)
        burnt = tone_y(ground.limits.burnt_stops, height)
        draw_hatch(painter, QRectF(0.0, 0.0, clock.width, burnt), theme.ink3, _HATCH)
        _draw_grid(painter, theme, clock, ground, height)
        line = max(1.0, text_scale())
        painter.setPen(QPen(theme.edge, line))
        for y in (low, high):
            painter.drawLine(QLineF(0.0, round(y), clock.width, round(y)))
        dashed = QPen(theme.edge, line)
        dashed.setDashPattern([6.0, 3.0])
        painter.setPen(dashed)
        painter.drawLine(QLineF(0.0, round(burnt), clock.width, round(burnt)))
        _draw_moments(painter, theme, clock, ground, height)
    return pixmap


def sigma_share(theme: Theme) -> float:
    """How opaque the bands of uncertainty are."""
    return _SIGMA if theme.name == "light" else _SIGMA_DARK


def with_evening(
    ground: QPixmap, theme: Theme, clock: Clock, evening: Sequence[Line], height: float
) -> QPixmap:
    """A ground with the evening's thin curves and their uncertainty."""
    pixmap = QPixmap(ground)
    with QPainter(pixmap) as painter:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(faint(theme.ink3, sigma_share(theme)))
        for line in evening:
            low, high = (line.stops + side * line.sigma_stops for side in (-1.0, 1.0))
            for run in line.runs:
                x = clock.x(line.axis_s[run]) - clock.left
                there_and_back = np.concatenate((x, x[::-1]))
                edges = np.concatenate((high[run], low[run][::-1]))
                painter.drawPolygon(tone_points(there_and_back, edges, height))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.ink2, _THIN * text_scale()))
        for line in evening:
            for run in line.runs:
                x = clock.x(line.axis_s[run]) - clock.left
                painter.drawPolyline(tone_points(x, line.stops[run], height))
    return pixmap


def tone_points(x: FloatArray, stops: FloatArray, height: float) -> QPolygonF:
    """A line of tones on a plot of a height, from places and stops."""
    # Far above or below the plot it is held near it: the painter counts in whole pixels.
    y = np.clip(tone_y(stops, height), -4.0 * height, 5.0 * height)
    return polygon(x, y)


def _draw_grid(
    painter: QPainter, theme: Theme, clock: Clock, ground: Ground, height: float
) -> None:
    line = max(1.0, text_scale())
    levels = [round(tone_y(stops, height)) for stops in GRID_STOPS]
    times = ticks_of(clock, clock.width, ground.clock.offset_s).long_s
    painter.setPen(QPen(faint(theme.edge, 0.28), line))
    painter.drawLines([QLineF(0.0, y, clock.width, y) for y in levels])
    painter.setPen(QPen(faint(theme.edge, 0.2), line))
    places = [round(clock.x(axis_s) - clock.left) for axis_s in times]
    painter.drawLines([QLineF(x, 0.0, x, height) for x in places])


def _draw_moments(
    painter: QPainter, theme: Theme, clock: Clock, ground: Ground, height: float
) -> None:
    dots = QPen(theme.ink2, max(1.0, text_scale()))
    dots.setDashPattern([1.0, 3.0])
    painter.setPen(dots)
    places = [round(clock.x(one.axis_s) - clock.left) for one in ground.clock.moments]
    painter.drawLines([QLineF(x, px(20), x, height) for x in places])
