"""Hatching, which always means 'not usable': one small picture laid side by side."""

from __future__ import annotations

from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPixmap

from app.theme import px

PITCH = 6.0


@lru_cache(maxsize=64)
def _tile(rgba: int, pitch: int, ratio: float) -> QPixmap:
    side = max(3, round(pitch * ratio))
    tile = QPixmap(side, side)
    tile.fill(Qt.GlobalColor.transparent)
    with QPainter(tile) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = QPen(QColor.fromRgba(rgba), max(1.0, side / PITCH))
        pen.setCapStyle(Qt.PenCapStyle.SquareCap)
        painter.setPen(pen)
        # The stroke and its two neighbours, so that the seams close.
        for shift in (-side, 0, side):
            painter.drawLine(QPointF(shift, side), QPointF(shift + side, 0.0))
    tile.setDevicePixelRatio(ratio)
    return tile


def draw_hatch(
    painter: QPainter, area: QRectF | QPainterPath, colour: QColor, share: float = 0.45
) -> None:
    """Hatch an area with strokes of a colour, `share` of it opaque."""
    ratio = painter.device().devicePixelRatioF()
    ink = QColor(colour)
    ink.setAlphaF(share)
    tile = _tile(ink.rgba(), px(PITCH), ratio)
    painter.save()
    if isinstance(area, QPainterPath):
        painter.setClipPath(area, Qt.ClipOperation.IntersectClip)
        rect = area.boundingRect().toAlignedRect()
    else:
        rect = area.toAlignedRect()
    # Counted from the corner of the widget, so that neighbouring areas run on in one hatch.
    painter.drawTiledPixmap(rect, tile, QPointF(rect.x(), rect.y()).toPoint())
    painter.restore()
