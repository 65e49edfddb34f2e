"""Words and marks that are drawn once and then laid down as pictures.

To shape and rasterise a line of text takes many times as long as to lay down its picture,
and under a moving slider most lines stay what they were.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Hashable
from functools import lru_cache
from typing import Final, NamedTuple

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QFontMetrics,
    QFontMetricsF,
    QPainter,
    QPixmap,
    QTextLayout,
)

from app.theme import font, text_scale

#: A type of the program: size in pixels at 100 % text, and weight.
Face = tuple[float, int]
#: Where a line stands in its room: the share of the spare width before it.
LEFT, MIDDLE, RIGHT = 0.0, 0.5, 1.0

_KEPT: Final = 1024
# Air round a picture, for edges and letters that reach beyond their box.
_AIR: Final = 2

_kept: OrderedDict[Hashable, QPixmap] = OrderedDict()


def stamp(
    painter: QPainter, rect: QRectF, key: Hashable, draw: Callable[[QPainter, QRectF], None]
) -> None:
    """Lay down a small picture, drawn the first time it is wanted.

    Parameters
    ----------
    rect
        Where it stands; moved to whole pixels of the screen, so that its edges are sharp.
    key
        All that the picture depends on beside its size and the screen's pixel ratio.
    draw
        Draws it into a rectangle of this size.
    """
    ratio = painter.device().devicePixelRatioF()
    width, height = rect.width(), rect.height()
    picture = _picture((key, width, height, ratio), width, height, ratio, draw)
    x, y = (math.floor(at * ratio + 0.5) / ratio - _AIR for at in (rect.x(), rect.y()))
    painter.drawPixmap(QPointF(x, y), picture)


def _picture(
    key: Hashable,
    width: float,
    height: float,
    ratio: float,
    draw: Callable[[QPainter, QRectF], None],
) -> QPixmap:
    """The kept picture, or a fresh one; what was not looked at for longest goes."""
    picture = _kept.get(key)
    if picture is not None:
        _kept.move_to_end(key)
        return picture
    sides = (math.ceil((side + 2 * _AIR) * ratio) for side in (width, height))
    picture = QPixmap(*sides)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    with QPainter(picture) as painter:
        draw(painter, QRectF(_AIR, _AIR, width, height))
    _kept[key] = picture
    if len(_kept) > _KEPT:
        _kept.popitem(last=False)
    return picture


class _Measures(NamedTuple):
    """Of a line, in logical pixels; `above` is the ascent up to whole ones."""

    width: float
    height: float
    ascent: float
    above: int


@lru_cache(maxsize=4096)
def _measured(text: str, face: Face, _scale: float) -> _Measures:
    metrics = QFontMetricsF(font(*face))
    ascent = metrics.ascent()
    width = metrics.horizontalAdvance(text)
    return _Measures(width, metrics.height(), ascent, math.ceil(ascent))


def text_measures(text: str, face: Face) -> tuple[float, float]:
    """Width and height of a line, in logical pixels."""
    return _measured(text, face, text_scale())[:2]


def text_width(text: str, face: Face) -> int:
    """Width of a line, up to whole logical pixels."""
    return math.ceil(_measured(text, face, text_scale()).width)


def fitted(text: str, face: Face, width: float) -> str:
    """A line as it fits a width, cut with an ellipsis where it must be."""
    if text_width(text, face) <= width:
        return text
    room = max(int(width), 0)
    return QFontMetrics(font(*face)).elidedText(text, Qt.TextElideMode.ElideRight, room)


def wrapped(text: str, face: Face, width: float) -> tuple[str, ...]:
    """A text in as many lines as a width asks for, parted between words; none for no text."""
    if not text:
        return ()
    layout = QTextLayout(text, font(*face))
    layout.beginLayout()
    lines = []
    while (line := layout.createLine()).isValid():
        line.setLineWidth(max(width, 1.0))
        first = line.textStart()
        lines.append(text[first : first + line.textLength()].rstrip())
    layout.endLayout()
    return tuple(lines)


def write(
    painter: QPainter,
    room: QRect | QRectF,
    text: str,
    face: Face,
    colour: QColor,
    share: float = LEFT,
) -> None:
    """Write one line in its room, half way up, with `share` of the spare width before it."""
    measures = _measured(text, face, text_scale())
    x = room.x() + (room.width() - measures.width) * share
    baseline = room.y() + (room.height() - measures.height) / 2.0 + measures.ascent
    _lay_down(painter, x, baseline, text, face, colour, measures)


def write_on(
    painter: QPainter, x: float, baseline: float, text: str, face: Face, colour: QColor
) -> float:
    """Write one line on a baseline, on whole pixels; how wide it is."""
    measures = _measured(text, face, text_scale())
    _lay_down(painter, x, baseline, text, face, colour, measures)
    return measures.width


def _lay_down(
    painter: QPainter,
    x: float,
    baseline: float,
    text: str,
    face: Face,
    colour: QColor,
    measures: _Measures,
) -> None:
    if not text:
        return
    width, height, _, above = measures

    def draw(letters: QPainter, box: QRectF) -> None:
        letters.setFont(font(*face))
        letters.setPen(colour)
        letters.drawText(QPointF(box.x(), box.y() + above), text)

    ratio = painter.device().devicePixelRatioF()
    key = (text, face, text_scale(), colour.rgba(), ratio)
    picture = _picture(key, math.ceil(width), math.ceil(height) + 1, ratio, draw)
    painter.drawPixmap(round(x) - _AIR, round(baseline) - above - _AIR, picture)
