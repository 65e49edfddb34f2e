"""What lies still under the tones: shade, keepable band, hatch, limits, grid, moments."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QLineF, QRectF
from PySide6.QtGui import QPainter, QPen, QPixmap
from PySide6.QtWidgets import QWidget

from app.sheet.clock import Clock, ticks_of
from app.sheet.clockpicture import ClockPicture
from app.sheet.hatch import draw_hatch
from app.sheet.ink import clear_pixmap, draw_shade
from app.sheet.tonepicture import Limits, Shade
from app.theme import Theme, faint, px, text_scale

LOWEST_STOPS, HIGHEST_STOPS = -5.4, 6.6
GRID_STOPS: Final = (-4, -2, 0, 2, 4)
_HATCH = 0.2


def tone_y(stops: float, height: float) -> float:
    """Where a tone stands on a plot of a height, y downward."""
    return (HIGHEST_STOPS - stops) / (HIGHEST_STOPS - LOWEST_STOPS) * height


@dataclass(frozen=True)
class Ground:
    """All that the ground shows."""

    shade: Shade
    limits: Limits
    clock: ClockPicture


def ground_pixmap(widget: QWidget, theme: Theme, clock: Clock, ground: Ground) -> QPixmap:
    """The ground as a picture of the plot's size."""
    height = float(widget.height())
    pixmap = clear_pixmap(widget, clock.width, height)
    painter = QPainter(pixmap)
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
    painter.end()
    return pixmap


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
