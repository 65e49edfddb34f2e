"""How a path from above is drawn: rings, lines of sight, the glow at the rim, a scale."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF, QRegion

from app.theme import Theme, faint, px, text_scale
from app.widgets.pathwords import (
    INSET_PX,
    LOOK_PX,
    RING_PX,
    TYPE_PX,
    sight_of,
    towards,
    word_rooms,
)
from app.widgets.planview import Eye, Metres, PlanView, Sketch, Spot
from app.widgets.stamp import text_measures, write
from core.language import say
from core.units import measured_in
from core.words import bearing_text, number_text

_CROSS_PX, _RIM_PX, _NOW_PX = 4.0, 14.0, 3.5
#: Half of the stretch of the rim that stands for the glow; it has no sharp end.
_GLOW_HALF_DEG, _GLOW_STEPS = 20.0, 8


class PathPicture:
    """Draws one sketch with one painter."""

    def __init__(self, painter: QPainter, theme: Theme, sketch: Sketch, view: PlanView) -> None:
        self._painter, self._theme = painter, theme
        self._sketch, self._view = sketch, view
        self._rect = QRectF(0.0, 0.0, view.width_px, view.height_px)
        self._rooms = word_rooms(sketch, view)

    def draw(self, chosen: int) -> None:
        """Draw it all, with the station of a number as the chosen one."""
        painter, sketch = self._painter, self._sketch
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._glow()
        self._way()
        for spot in sketch.spots:
            self._look(spot)
        self._names()
        # Rings last: no word lies on a place that can be taken.
        for spot in sketch.spots:
            self._ring(spot, chosen=chosen)
        if sketch.now is not None:
            self._now(sketch.now)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
        self._scale()

    def _at(self, place_m: Metres) -> QPointF:
        return QPointF(*self._view.xy(place_m))

    def _pen(self, ink: str, width_px: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> None:
        self._painter.setPen(QPen(self._theme.token(ink), width_px * text_scale(), style))

    def _glow(self) -> None:
        """A soft wedge at the rim, on the side of the sun."""
        painter, rect = self._painter, self._rect
        inset, glow_deg = px(_RIM_PX), self._sketch.glow_deg
        whole = rect.toRect()
        painter.save()
        painter.setClipRegion(
            QRegion(whole) - QRegion(whole.adjusted(inset, inset, -inset, -inset))
        )
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(faint(self._theme.ink2, 0.08))
        for step in range(1, _GLOW_STEPS + 1):
            half = _GLOW_HALF_DEG * step / _GLOW_STEPS
            far = rect.width() + rect.height()
            ends = [rect.center() + towards(glow_deg + turn, far) for turn in (-half, half)]
            painter.drawPolygon(QPolygonF([rect.center(), *ends]))
        painter.restore()
        self._words(QPointF(px(7), px(11)), say("glow {bearing}", bearing=bearing_text(glow_deg)))

    def _way(self) -> None:
        painter, sketch = self._painter, self._sketch
        launch, arm = self._at((0.0, 0.0)), px(_CROSS_PX)
        self._pen("ink2", 1.4)
        for step in (QPointF(arm, 0.0), QPointF(0.0, arm)):
            painter.drawLine(launch - step, launch + step)
        self._pen("ink", 1.8)
        painter.drawPolyline([self._at(place) for place in sketch.curve_m])
        for spot in sketch.spots:
            if spot.aim_m is not None:
                self._pen("ink2", 1.0, Qt.PenStyle.DotLine)
                painter.drawLine(self._at(spot.eye.place_m), self._at(spot.aim_m))
                self._aim(self._at(spot.aim_m))

    def _aim(self, at: QPointF) -> None:
        arm = px(_CROSS_PX)
        self._pen("ink2", 1.4)
        self._painter.setBrush(self._theme.shade0)
        corners = (QPointF(0, -arm), QPointF(arm, 0), QPointF(0, arm), QPointF(-arm, 0))
        self._painter.drawPolygon(QPolygonF([at + corner for corner in corners]))

    def _look(self, spot: Spot) -> None:
        """A stroke where the camera looks, and the field of view as an arc across its end."""
        self._pen("ink2", 1.4)
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        self._painter.drawPath(sight_of(spot, self._sketch, self._view))

    def _ring(self, spot: Spot, *, chosen: int) -> None:
        ring = px(RING_PX)
        self._pen("ink", 2.6 if spot.number == chosen else 1.6)
        self._painter.setBrush(self._theme.shade0)
        self._painter.drawEllipse(self._at(spot.eye.place_m), ring, ring)

    def _names(self) -> None:
        for spot, room in zip(self._sketch.spots, self._rooms.names, strict=True):
            self._words(QPointF(room.x(), room.center().y()), spot.word, weight=600, ink="ink")

    def _now(self, eye: Eye) -> None:
        at = self._at(eye.place_m)
        colour = self._theme.shoot(self._sketch.shoot)
        self._painter.setPen(QPen(colour, 2.0 * text_scale()))
        self._painter.drawLine(at, at + towards(eye.heading_deg, px(LOOK_PX) / 2.0))
        self._painter.setBrush(colour)
        self._painter.drawEllipse(at, px(_NOW_PX), px(_NOW_PX))

    def _scale(self) -> None:
        line, room = max(1, px(1)), self._rooms.scale.toRect()
        left, base, length = room.left(), room.top() + room.height(), room.width()
        for x, y, wide, high in (
            (left, base, length, line),
            (left, base - px(3), line, px(3)),
            (left + length - line, base - px(3), line, px(3)),
        ):
            self._painter.fillRect(x, y, wide, high, self._theme.ink)
        told = f"{number_text(self._rooms.bar)} {measured_in('_m').symbol}"
        self._words(QPointF(left, base - px(11)), told)

    def _words(self, at: QPointF, text: str, *, weight: int = 400, ink: str = "ink2") -> None:
        """Words from a point on, within the picture, on a piece of ground that no line crosses."""
        face = (TYPE_PX, weight)
        wide, high = text_measures(text, face)
        x = min(max(at.x(), px(INSET_PX)), self._rect.width() - wide - px(INSET_PX))
        room = QRectF(x, at.y() - high / 2.0, wide, high)
        air = px(2)
        self._painter.fillRect(room.adjusted(-air, 0.0, air, 0.0), faint(self._theme.shade0, 0.9))
        write(self._painter, room, text, face, self._theme.token(ink))
