"""Where the words of a path from above stand: each where it covers the least of the lines."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from typing import Final, NamedTuple

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath, QPolygonF

from app.theme import px, text_scale
from app.widgets.locator import scale_bar
from app.widgets.planview import PlanView, Sketch, Spot
from app.widgets.stamp import text_measures
from core.manner import Manner, manner
from core.units import measured_in

#: Length of a line of sight; its end is where a station is turned.
LOOK_PX: Final = 26.0
RING_PX: Final = 5.0
TYPE_PX: Final = 11.0
#: No word comes nearer to the rim.
INSET_PX: Final = 4.0
_GAP_PX = 9.0
#: Height of the scale with its figure, and its distance from the rim; its most of the width.
_SCALE_PX, _RIM_PX, _BAR_SHARE = 18.0, 7.0, 0.25
#: Lines are looked at in points so far apart, and another word weighs as so many of them.
_STEP_PX, _WORD_WEIGHS = 3.0, 100


class WordRooms(NamedTuple):
    """Rooms of the stations' words in their order, and of the scale, `bar` units long."""

    names: tuple[QRectF, ...]
    scale: QRectF
    bar: float


def word_rooms(sketch: Sketch, view: PlanView) -> WordRooms:
    """Where the words stand; kept while neither path nor view changes."""
    still = replace(sketch, glow_deg=0.0, now=None)
    return _rooms(still, view, text_scale(), manner())


@lru_cache(maxsize=4)
def _rooms(sketch: Sketch, view: PlanView, _scale: float, _manner: Manner) -> WordRooms:
    drawn = list(_points(sketch, view))
    per_px = view.px_per_m * measured_in("_m").per
    bar = scale_bar(per_px, view.width_px * _BAR_SHARE)
    scale = min(_corners(view, round(bar * per_px)), key=lambda room: _covered(room, drawn, ()))
    taken = [scale]
    for spot in sketch.spots:
        beside = _rooms_beside(spot, view)
        taken.append(min(beside, key=lambda room: _covered(room, drawn, taken)))
    return WordRooms(tuple(taken[1:]), scale, bar)


def _corners(view: PlanView, length_px: int) -> list[QRectF]:
    """The lower corners, of which the left one is wished first."""
    high, rim = px(_SCALE_PX), px(_RIM_PX)
    top = round(view.height_px) - rim - high
    return [QRectF(x, top, length_px, high) for x in (rim, round(view.width_px) - rim - length_px)]


def _rooms_beside(spot: Spot, view: PlanView) -> list[QRectF]:
    """Where a station's word may stand: away from where it looks, else round about."""
    at = QPointF(*view.xy(spot.eye.place_m))
    (wide, high), gap, rim = text_measures(spot.word, (TYPE_PX, 600)), px(_GAP_PX), px(INSET_PX)
    look = towards(spot.eye.heading_deg, 1.0)
    across = [at.x() + gap, at.x() - gap - wide]
    along = [at.y() - gap - high / 2.0, at.y() + gap + high / 2.0]
    if look.x() > 0.0:
        across.reverse()
    if look.y() < 0.0:
        along.reverse()
    places = [
        *((x, at.y()) for x in across),
        *((at.x() - wide / 2.0, y) for y in along),
        *((x, y) for y in along for x in across),
    ]
    rooms = [QRectF(x, y - high / 2.0, wide, high) for x, y in places]
    inside = QRectF(0.0, 0.0, view.width_px, view.height_px).adjusted(rim, rim, -rim, -rim)
    # Where there is no room at all a word is pushed inside as it is written.
    return [room for room in rooms if inside.contains(room)] or rooms[2:4]


def _points(sketch: Sketch, view: PlanView) -> Iterable[QPointF]:
    """Points of all lines that words should leave free, each as far from the next."""
    way = QPainterPath()
    way.addPolygon(QPolygonF([QPointF(*view.xy(place)) for place in sketch.curve_m]))
    lines = [way]
    for spot in sketch.spots:
        ring = QPainterPath()
        ring.addEllipse(QPointF(*view.xy(spot.eye.place_m)), px(RING_PX), px(RING_PX))
        lines += [ring, sight_of(spot, sketch, view)]
    for line in lines:
        count = max(round(line.length() / px(_STEP_PX)), 1)
        for at in range(count + 1):
            yield line.pointAtPercent(at / count)


def _covered(room: QRectF, drawn: Iterable[QPointF], taken: Iterable[QRectF]) -> int:
    """How much words would cover in a room: points of lines, and far worse, other words."""
    air = px(2)
    wide = room.adjusted(-air, -air, air, air)
    words = sum(room.intersects(other) for other in taken)
    return _WORD_WEIGHS * words + sum(wide.contains(point) for point in drawn)


def sight_of(spot: Spot, sketch: Sketch, view: PlanView) -> QPainterPath:
    """A stroke where a camera looks, and the field of view as an arc across its end."""
    at, reach = QPointF(*view.xy(spot.eye.place_m)), float(px(LOOK_PX))
    around = QRectF(at.x() - reach, at.y() - reach, 2.0 * reach, 2.0 * reach)
    first_deg = 90.0 - spot.eye.heading_deg - sketch.half_field_deg
    sight = QPainterPath(at)
    sight.lineTo(at + towards(spot.eye.heading_deg, reach))
    sight.arcMoveTo(around, first_deg)
    sight.arcTo(around, first_deg, 2.0 * sketch.half_field_deg)
    return sight


def towards(bearing_deg: float, length: float) -> QPointF:
    """So many pixels on a bearing, north up."""
    turn = math.radians(bearing_deg)
    return QPointF(length * math.sin(turn), -length * math.cos(turn))
