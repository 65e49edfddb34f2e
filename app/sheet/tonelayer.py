"""What lies over the tone curves: edges, grips, glyphs, flags, words and the cursor."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.sheet.clock import Clock
from app.sheet.ink import draw_dot, draw_glyph, draw_text, draw_vertical, edge_pen, mixed
from app.sheet.labels import Box
from app.sheet.toneground import tone_y
from app.sheet.tonelabels import GLYPH_ROOM, MARK_ROOM, Reading, Word, bar_of, face_of
from app.sheet.tonepicture import Limits, Take
from app.theme import Theme, faint, px, text_scale, theme_of
from app.widgets.flags import draw_shape
from app.widgets.marks import draw_mark, draw_part
from app.widgets.stamp import MIDDLE, write
from core.plan import ShootName

_CHIP = 0.95
_GLYPH = 9.0
_GRIP_WIDTH, _GRIP_HEIGHT, _GRIP_RISE = 7.0, 18.0, 12.0


@dataclass(frozen=True)
class Laid:
    """Everything in its place; `ground` is the colour of the ground at a place x."""

    clock: Clock
    takes: tuple[Take, ...]
    limits: Limits
    words: tuple[Word, ...]
    readings: tuple[Reading, ...]
    cursor_x: float | None
    ground: Callable[[float], QColor]


class ToneLayer(QWidget):
    """A transparent widget over the plot, which the mouse does not see."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._laid: Laid | None = None
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)

    def show_laid(self, laid: Laid) -> None:
        """Show what has found its place."""
        self._laid = laid
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint it."""
        laid = self._laid
        if laid is None:
            return
        theme, height, clock = theme_of(self), float(self.height()), laid.clock
        with QPainter(self) as painter:
            painter.setClipRect(QRectF(clock.left - px(1), 0.0, clock.width + px(2), height))
            for take in laid.takes:
                _draw_take(painter, theme, clock, take, height)
            if laid.cursor_x is not None:
                draw_vertical(painter, theme.ink, laid.cursor_x, 0.0, height)
                for reading in laid.readings:
                    draw_dot(painter, laid.cursor_x, tone_y(reading.stops, height), theme.ink)
            for word in laid.words:
                if word.kind == "flag":
                    _draw_start_flag(painter, theme, word)
                else:
                    _draw_word(painter, theme, word, _chip(theme, laid, word, height))


def _chip(theme: Theme, laid: Laid, word: Word, height: float) -> QColor | None:
    """The colour under a word, with the keepable band where it lies on it."""
    if word.kind == "part" and not word.chip:
        return None
    box, limits = word.box, laid.limits
    ground, y = laid.ground(box.x), box.y + box.height / 2.0
    low, high = (tone_y(stops, height) for stops in (limits.low_stops, limits.high_stops))
    if not high <= y <= low:
        return ground
    solid = QColor(theme.band.red(), theme.band.green(), theme.band.blue())
    return mixed(ground, solid, theme.band.alphaF())


def _draw_word(painter: QPainter, theme: Theme, word: Word, chip: QColor | None) -> None:
    box = word.box
    colour = {"failing": theme.alarm, "limit": theme.ink2}.get(word.kind, theme.ink)
    rooms = {"failing": px(MARK_ROOM), "part": px(GLYPH_ROOM)}
    room = rooms.get("part" if word.kind == "beyond" else word.kind, 0)
    if chip is not None:
        painter.fillRect(QRectF(*box), faint(chip, _CHIP))
    text = Box(box.x + room, box.y, box.width - room, box.height)
    draw_text(painter, text, word.text, face_of(word.kind), colour)
    middle = box.y + box.height / 2.0
    if word.kind == "failing":
        side = float(px(14))
        mark = QRectF(box.x + px(2), middle - side / 2.0, side, side)
        draw_mark(painter, mark, "stop", theme)
    elif word.of in ("street", "land", "sky") and word.kind in ("part", "beyond"):
        draw_part(painter, QPointF(box.x + px(8), middle), px(_GLYPH), word.of, theme.ink)


def _draw_take(painter: QPainter, theme: Theme, clock: Clock, take: Take, height: float) -> None:
    """Draw a take's edges, grips, the bar where it fails and the glyphs of its parts."""
    width = float(max(2, px(2)))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
    painter.setPen(edge_pen(theme, take.name, width))
    edges = [round(clock.x(one)) for one in (take.first_s, take.last_s)]
    painter.drawLines([QLineF(x, 0.0, x, height) for x in edges])
    for bar in bar_of(take, clock):
        painter.fillRect(QRectF(*bar), theme.alarm)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for edge_x in edges:
        _draw_grip(painter, theme, take, edge_x, height)
    for line in take.lines:
        for at in (end for run in line.runs for end in (run.start, run.stop - 1)):
            x, y = clock.x(float(line.axis_s[at])), tone_y(float(line.stops[at]), height)
            draw_glyph(painter, x, y, line.part, theme.shoot(take.name), theme.shade0)


def _draw_grip(painter: QPainter, theme: Theme, take: Take, x: float, height: float) -> None:
    wide, tall = float(px(_GRIP_WIDTH)), float(px(_GRIP_HEIGHT))
    rect = QRectF(x - wide / 2.0, height - px(_GRIP_RISE) - tall, wide, tall)
    painter.setPen(QPen(theme.shoot(take.name), 1.5 * text_scale()))
    painter.setBrush(theme.shade0)
    if take.name == "A":
        painter.drawRect(rect)
    else:
        painter.drawRoundedRect(rect, wide / 2.0, wide / 2.0)


def _draw_start_flag(painter: QPainter, theme: Theme, word: Word) -> None:
    name: ShootName = "A" if word.of == "A" else "B"
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.shoot(name))
    rect = QRectF(*word.box)
    draw_shape(painter, rect, name)
    ink = theme.on_shoot(name)
    write(painter, rect, word.text, face_of("flag"), ink, MIDDLE)
