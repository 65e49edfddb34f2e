"""Small painting steps that the tracks share: words, chips, heads, shade, verticals."""

from __future__ import annotations

import math
from functools import lru_cache

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QGradient, QLinearGradient, QPainter, QPen, QPixmap
from PySide6.QtWidgets import QWidget

from app.sheet.clock import Clock
from app.sheet.labels import Box
from app.sheet.pictures import Edges
from app.sheet.tonepicture import SHADE_STOPS, Shade
from app.theme import Theme, faint, px, text_scale
from app.widgets.flags import DASHES, draw_flag, flag_width
from app.widgets.marks import part_path
from app.widgets.stamp import Face, stamp, text_measures, write
from core.plan import Part, ShootName

#: Air beside the words of a chip.
PAD = 3.0
_CHIP = 0.95
_STRIP = 16.0
# A part's glyph with its rim.
_GLYPH = 12.5
#: Where heads begin, and where their titles stand beside a flag.
HEAD_X, TITLE_X = 12.0, 42.0


def text_size(text: str, face: Face) -> tuple[float, float]:
    """Width and height of a word's box, with the air of a chip."""
    width, height = text_measures(text, face)
    return width + 2.0 * PAD * text_scale(), height


def draw_text(
    painter: QPainter,
    box: Box,
    text: str,
    face: Face,
    colour: QColor,
    chip: QColor | None = None,
) -> None:
    """Write a word in its box, over a chip of the ground where one is given."""
    rect = QRectF(*box)
    if chip is not None:
        painter.fillRect(rect, faint(chip, _CHIP))
    write(painter, rect.translated(PAD * text_scale(), 0.0), text, face, colour)


def draw_head(
    painter: QPainter,
    theme: Theme,
    top: float,
    title: str,
    second: tuple[str, ...] = (),
    flag: ShootName | None = None,
) -> None:
    """Write a track's head: a flag where it belongs to one shoot, title, second lines."""
    x = HEAD_X
    if flag is not None:
        side = float(px(18))
        rect = QRectF(px(HEAD_X), top - px(1), flag_width(flag, side), side)
        draw_flag(painter, rect, flag, theme)
        x = TITLE_X
    write(painter, QRectF(px(x), top, px(120), px(16)), title, (13, 600), theme.ink)
    for row, line in enumerate(second):
        room = QRectF(px(x), top + px(17 + 14 * row), px(120), px(14))
        write(painter, room, line, (11, 400), theme.ink3)


def mixed(one: QColor, other: QColor, share: float) -> QColor:
    """A colour `share` of the way from one to another."""
    keep = 1.0 - share
    return QColor.fromRgbF(
        keep * one.redF() + share * other.redF(),
        keep * one.greenF() + share * other.greenF(),
        keep * one.blueF() + share * other.blueF(),
    )


def shade_colour(theme: Theme, shade: Shade, share: float) -> QColor:
    """Colour of the ground at a share of the clock's width."""
    at = min(max(share, 0.0), 1.0) * (SHADE_STOPS - 1)
    first = min(int(at), SHADE_STOPS - 2)
    low, high = shade.darkness[first], shade.darkness[first + 1]
    return mixed(theme.shade0, theme.shade1, low + (at - first) * (high - low))


def draw_shade(painter: QPainter, rect: QRectF, theme: Theme, shade: Shade | None) -> None:
    """Lay down the ground of a track: the sky's luminance along the clock."""
    if shade is None:
        painter.fillRect(rect, theme.sheet)
        return
    room, ratio = rect.toAlignedRect(), painter.device().devicePixelRatioF()
    if not room.isEmpty():
        ends = theme.shade0.rgb(), theme.shade1.rgb()
        painter.drawTiledPixmap(room, _shade_strip(ends, shade, room.width(), ratio))


# All tracks stand on the same shade, and all are drawn anew when their clock changes.
@lru_cache(maxsize=4)
def _shade_strip(ends: tuple[int, int], shade: Shade, width: int, ratio: float) -> QPixmap:
    """The ground as wide as a track and a few pixels high."""
    bright, dark = (QColor.fromRgb(end) for end in ends)
    strip = QPixmap(math.ceil(width * ratio), math.ceil(_STRIP * ratio))
    gradient = QLinearGradient(0.0, 0.0, width * ratio, 0.0)
    gradient.setInterpolationMode(QGradient.InterpolationMode.ComponentInterpolation)
    for index, darkness in enumerate(shade.darkness):
        gradient.setColorAt(index / (SHADE_STOPS - 1), mixed(bright, dark, darkness))
    with QPainter(strip) as painter:
        painter.fillRect(strip.rect(), gradient)
    strip.setDevicePixelRatio(ratio)
    return strip


def sheet_pixmap(widget: QWidget, theme: Theme, width: float, height: float) -> QPixmap:
    """A piece of bare sheet in the pixels of the widget's screen; opaque, so quick to lay down."""
    ratio = widget.devicePixelRatioF()
    pixmap = QPixmap(max(1, round(width * ratio)), max(1, round(height * ratio)))
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(theme.sheet)
    return pixmap


def edge_pen(theme: Theme, name: ShootName, width: float) -> QPen:
    """The pen of a take's edge: solid for A, dashed for B."""
    pen = QPen(theme.shoot(name), width)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    if name == "B":
        pen.setDashPattern([2.0 * one for one in DASHES] if width < px(2) else list(DASHES))
    return pen


def draw_edges(
    painter: QPainter, theme: Theme, clock: Clock, edges: tuple[Edges, ...], height: float
) -> None:
    """Draw the edges of the takes as thin verticals through a track."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    for edge in edges:
        pen = edge_pen(theme, edge.name, max(1.0, text_scale()))
        pen.setColor(faint(pen.color(), 0.7))
        painter.setPen(pen)
        for axis_s in (edge.first_s, edge.last_s):
            x = round(clock.x(axis_s))
            painter.drawLine(QLineF(x, 0.0, x, height))


def draw_vertical(
    painter: QPainter, colour: QColor, x: float, top: float, bottom: float, width: float = 1.0
) -> None:
    """Draw an upright line on whole pixels."""
    thick = max(1, px(width))
    painter.fillRect(QRectF(round(x) - thick // 2, top, thick, bottom - top), colour)


def draw_glyph(
    painter: QPainter, x: float, y: float, part: Part, colour: QColor, ground: QColor
) -> None:
    """Draw a part's glyph with a rim of the ground, as at the ends of an inked stretch."""

    def draw(glyph: QPainter, rect: QRectF) -> None:
        glyph.setRenderHint(QPainter.RenderHint.Antialiasing)
        glyph.setPen(QPen(ground, 0.12 * side))
        glyph.setBrush(colour)
        glyph.drawPath(part_path(rect.center(), 0.72 * side, part))

    side = px(_GLYPH)
    rect = QRectF(x - side / 2.0, y - side / 2.0, side, side)
    stamp(painter, rect, ("glyph", part, colour.rgb(), ground.rgb()), draw)


def draw_dot(painter: QPainter, x: float, y: float, colour: QColor, size: float = 7.0) -> None:
    """Draw a small disc, as where the cursor meets a line."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    radius = size * text_scale() / 2.0
    painter.drawEllipse(QPointF(x, y), radius, radius)
