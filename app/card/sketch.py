"""The path from above, north up: stations as rings, where the camera looks, the glow's side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainterPath, QPen

from app.card.paper import GREY, INK, INK2, Paper, width_of
from core.export.card import Card
from core.language import say
from core.units import measured_in
from core.words import bearing_text, number_text, station_word

#: Lengths that a scale bar may have, in the unit of the pilot.
_BARS: Final = (5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)
_RING, _LOOK, _CROSS, _WORDS = 5.0, 26.0, 5.0, 13
#: How far the frame sees to either side, drawn alike for every lens.
_HALF_FIELD_DEG: Final = 32.0
_TOLD: Final = 8


def draw_path(paper: Paper, rect: QRectF, card: Card) -> None:
    """Draw the path of a card into a box."""
    painter = paper.painter
    painter.save()
    paper.box(rect, 1.0, GREY)
    painter.setClipRect(rect)
    inner = rect.adjusted(34, 30, -34, -48)
    scale, middle = _fit([(0.0, 0.0), *((s.east_m, s.north_m) for s in card.stations)], inner)

    def at(east_m: float, north_m: float) -> QPointF:
        return inner.center() + QPointF(
            (east_m - middle[0]) * scale, -(north_m - middle[1]) * scale
        )

    places = [at(one.east_m, one.north_m) for one in card.stations]
    _launch(paper, at(0.0, 0.0), rect)
    painter.setPen(QPen(INK, 2.0))
    for begin, end in pairwise(places):
        painter.drawLine(begin, end)
    told = _told(len(places))
    for number in told:
        _look(paper, places[number], card.stations[number].heading_deg)
    for number in told:
        _station(paper, places[number], station_word(number, len(places)), rect)
    _glow(paper, rect, card.glow_deg)
    _bar(paper, rect, scale)
    painter.restore()


def _told(count: int) -> list[int]:
    """The stations that have room for their name: all of a few, else some of them."""
    step = max(1, math.ceil((count - 1) / (_TOLD - 1)))
    return sorted({*range(0, count, step), count - 1})


def _fit(points: Sequence[tuple[float, float]], inner: QRectF) -> tuple[float, tuple[float, float]]:
    """Pixels a metre, and the point in the middle."""
    east, north = zip(*points, strict=True)
    wide, high = max(east) - min(east), max(north) - min(north)
    scale = min(inner.width() / max(wide, 10.0), inner.height() / max(high, 10.0))
    return scale, (0.5 * (max(east) + min(east)), 0.5 * (max(north) + min(north)))


def _launch(paper: Paper, place: QPointF, rect: QRectF) -> None:
    paper.painter.setPen(QPen(INK2, 1.4))
    for step in (QPointF(_CROSS, 0.0), QPointF(0.0, _CROSS)):
        paper.painter.drawLine(place - step, place + step)
    words = say("launch")
    at_left = place.x() + 7 + width_of(words, _WORDS) > rect.right()
    x = place.x() + (-7 if at_left else 7)
    paper.word(x, words, _WORDS, ink=INK2, y=place.y() - 6, right=at_left)


def _towards(heading_deg: float, length: float) -> QPointF:
    turn = math.radians(heading_deg)
    return QPointF(length * math.sin(turn), -length * math.cos(turn))


def _look(paper: Paper, place: QPointF, heading_deg: float) -> None:
    """A stroke where the camera looks, and an arc across its end."""
    painter = paper.painter
    painter.setPen(QPen(INK2, 1.4))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawLine(place, place + _towards(heading_deg, _LOOK))
    around = QRectF(place.x() - _LOOK, place.y() - _LOOK, 2 * _LOOK, 2 * _LOOK)
    arc = QPainterPath()
    first_deg = 90.0 - heading_deg - _HALF_FIELD_DEG
    arc.arcMoveTo(around, first_deg)
    arc.arcTo(around, first_deg, 2 * _HALF_FIELD_DEG)
    painter.drawPath(arc)


def _station(paper: Paper, place: QPointF, name: str, rect: QRectF) -> None:
    painter = paper.painter
    painter.setPen(QPen(INK, 1.8))
    painter.setBrush(Qt.GlobalColor.white)
    painter.drawEllipse(place, _RING, _RING)
    wide = width_of(name, _WORDS, 600)
    at_left = place.x() + 12 + wide > rect.right()
    x = place.x() - 12 - wide if at_left else place.x() + 10
    # Where the name stands over the path it stands below it.
    paper.word(x, name, _WORDS, 600, y=place.y() + (8 if at_left else 2))


def _glow(paper: Paper, rect: QRectF, glow_deg: float) -> None:
    """Word and arrow for the side of the sun."""
    words = say("glow {bearing}", bearing=bearing_text(glow_deg))
    paper.word(rect.left() + 10, words, _WORDS, 600, y=rect.top() + 8)
    middle = QPointF(rect.left() + 34 + width_of(words, _WORDS, 600), rect.top() + 17)
    begin, end = middle - _towards(glow_deg, 12), middle + _towards(glow_deg, 12)
    painter = paper.painter
    painter.setPen(QPen(INK, 1.6))
    painter.drawLine(begin, end)
    for turn in (150.0, -150.0):
        painter.drawLine(end, end + _towards(glow_deg + turn, 6))
    paper.word(rect.right() - 10, say("north up"), _WORDS, ink=INK2, right=True, y=rect.top() + 8)


def _bar(paper: Paper, rect: QRectF, scale: float) -> None:
    """A bar of a round length, about a quarter of the box; `scale` is pixels a metre."""
    unit = measured_in("_m")
    scale *= unit.per
    length = max((one for one in _BARS if one * scale <= 0.3 * rect.width()), default=_BARS[0])
    y, x = rect.bottom() - 10, rect.left() + 10
    paper.painter.setPen(QPen(INK, 1.4))
    paper.painter.drawLine(QPointF(x, y), QPointF(x + length * scale, y))
    paper.word(x, f"{number_text(length)} {unit.symbol}", _WORDS, ink=INK2, y=y - 20)
