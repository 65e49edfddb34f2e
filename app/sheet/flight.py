"""A flight's row: take-off, legs, take and landing on the clock."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import QWidget

from app.sheet.clock import Clock
from app.sheet.flightpicture import FlightPicture, flight_picture
from app.sheet.hatch import draw_hatch
from app.sheet.ink import draw_head, draw_text, draw_vertical, edge_pen, text_size
from app.sheet.labels import Box
from app.sheet.pictures import Edges
from app.sheet.scene import Scene
from app.sheet.track import Track
from app.store import Store
from app.theme import faint, px, text_scale
from app.widgets.marks import draw_mark
from core.language import say
from core.plan import ShootName

HEIGHT: Final = 27
_BAR = 18.0
_LEGS_SHARE = 0.22
_GAP = 4.0
_MARK = 14.0
_FACE: Final = (12, 400)
_ERROR_FACE: Final = (12, 600)


class FlightTrack(Track[FlightPicture]):
    """One shoot's flight."""

    def __init__(self, store: Store, name: ShootName, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Flight {name}", name=name), parent)
        self._name = name

    def picture_of(self, scene: Scene, clock: Clock) -> FlightPicture | None:
        """The shoot's flight on the clock."""
        return flight_picture(scene.view, self._name, clock.axis)

    def description_of(self, picture: FlightPicture | None) -> str:
        """When it takes off, how long it shoots, when it is down."""
        return picture.description if picture is not None else ""

    def takes_in_reach(self) -> tuple[Edges, ...]:
        """The row's own take."""
        return tuple(edge for edge in self.edges if edge.name == self._name)

    def still_of(self, picture: FlightPicture | None) -> object:
        """Only the head."""
        return picture is None

    def draw_still(self, painter: QPainter, _clock: Clock) -> None:
        """Draw the head."""
        theme, picture = self.theme, self._picture
        top = (self.height() - px(16)) / 2.0
        flag = self._name if picture is not None else None
        title = say("Flight") if picture is not None else say("Flight {name}", name=self._name)
        draw_head(painter, theme, top, title, flag=flag)

    def draw_moving(self, painter: QPainter, clock: Clock) -> None:
        """Draw bar, ticks of the legs and the words at both ends."""
        picture = self._picture
        painter.setClipRect(self.plot_rect(clock))
        self.draw_edges(painter, clock)
        if picture is not None:
            bar = self._draw_bar(painter, clock, picture)
            if picture.error:
                self._draw_error(painter, clock, picture)
            else:
                self._draw_words(painter, clock, picture, bar)

    def _draw_bar(self, painter: QPainter, clock: Clock, picture: FlightPicture) -> QRectF:
        theme, name = self.theme, picture.name
        colour = theme.shoot(name)
        first, last = clock.x(picture.first_s), clock.x(picture.last_s)
        height = float(px(_BAR))
        bar = QRectF(first, (self.height() - height) / 2.0, last - first, height)
        take_first, take_last = (clock.x(one) for one in picture.take_s)
        take = QRectF(take_first, bar.y(), take_last - take_first, height)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(bar, faint(colour, _LEGS_SHARE))
        painter.fillRect(take, colour)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        width = 1.4 * text_scale()
        painter.setPen(edge_pen(theme, name, width))
        half = width / 2.0
        painter.drawRect(bar.adjusted(half, half, -half, -half))
        if picture.empty_s is not None:
            self._draw_empty(painter, clock, picture.empty_s, bar)
            # The words of the take stand on what can be flown of it.
            take.setRight(max(min(take.right(), clock.x(picture.empty_s)), take.left()))
        for axis_s in picture.legs_s:
            x = clock.x(axis_s)
            painter.setPen(QPen(colour, max(1.0, text_scale())))
            draw_vertical(painter, colour, x, bar.y() + px(4), bar.bottom() - px(4))
        self._draw_take_words(painter, picture, take)
        return bar

    def _draw_empty(self, painter: QPainter, clock: Clock, empty_s: float, bar: QRectF) -> None:
        """Hatch what would be flown with an empty battery, from an upright stroke on."""
        theme, x = self.theme, clock.x(empty_s)
        rest = QRectF(x, bar.y(), bar.right() - x, bar.height())
        painter.fillRect(rest, self.ground_colour(x))
        draw_hatch(painter, rest, theme.alarm, 0.9)
        draw_vertical(painter, theme.alarm, x, bar.y() - px(3), bar.bottom() + px(3))

    def _draw_take_words(self, painter: QPainter, picture: FlightPicture, take: QRectF) -> None:
        theme, face = self.theme, (12, 700)
        for text in picture.take_words:
            width, height = text_size(text, face)
            if width <= take.width():
                x = take.center().x() - width / 2.0
                box = Box(x, take.center().y() - height / 2.0, width, height)
                draw_text(painter, box, text, face, theme.on_shoot(picture.name))
                return

    def _draw_words(
        self, painter: QPainter, clock: Clock, picture: FlightPicture, bar: QRectF
    ) -> None:
        """Write take-off at the left and landing at the right, shorter where there is no room."""
        bounds = Box(clock.left, 0.0, clock.width, float(self.height()))
        empty = picture.empty_s is not None
        for at_left, texts in ((True, picture.take_off_words), (False, picture.down_words)):
            alarmed = empty and not at_left
            for text in texts:
                width, height = _with_mark(text, px(_MARK) + px(2)) if alarmed else _size(text)
                x = bar.left() - width - px(_GAP) if at_left else bar.right() + px(_GAP)
                box = Box(x, bar.center().y() - height / 2.0, width, height)
                if box.inside(bounds):
                    self._draw_word(painter, box, text, alarmed=alarmed)
                    break

    def _draw_word(self, painter: QPainter, box: Box, text: str, *, alarmed: bool) -> None:
        theme, ground = self.theme, self.ground_colour(box.x)
        if not alarmed:
            draw_text(painter, box, text, _FACE, theme.ink, ground)
            return
        side = float(px(_MARK))
        mark = QRectF(box.x, box.y + (box.height - side) / 2.0, side, side)
        draw_mark(painter, mark, "stop", theme)
        room = Box(mark.right() + px(2), box.y, box.right - mark.right() - px(2), box.height)
        draw_text(painter, room, text, _ERROR_FACE, theme.alarm, ground)

    def _draw_error(self, painter: QPainter, clock: Clock, picture: FlightPicture) -> None:
        """Write that it cannot be flown, with its mark, in one whole line beside the take."""
        theme, side = self.theme, float(px(_MARK))
        text, box = error_place(picture, clock, self.height())
        mark = QRectF(box.x + px(_GAP), box.y + (box.height - side) / 2.0, side, side)
        painter.fillRect(QRectF(*box), self.ground_colour(box.x))
        draw_mark(painter, mark, "stop", theme)
        room = Box(mark.right() + px(2), box.y, box.right - mark.right() - px(2), box.height)
        draw_text(painter, room, text, _ERROR_FACE, theme.alarm)


def error_place(picture: FlightPicture, clock: Clock, height: float) -> tuple[str, Box]:
    """The longest words that fit whole beside the take, with their mark, and where.

    Where even the shortest do not fit, the mark stands alone at the take's end.
    """
    first, last = clock.x(picture.first_s), clock.x(picture.last_s)
    bounds = Box(clock.left, 0.0, clock.width, height)
    before_words = px(_GAP) + px(_MARK) + px(2)
    boxes = (
        (text, Box(x, (height - tall) / 2.0, width, tall))
        for text in (*picture.error_words, "")
        for width, tall in [_with_mark(text, before_words)]
        for x in (last + px(_GAP), first - width - px(_GAP))
    )
    fallback = "", Box(clock.right - before_words, 0.0, before_words, height)
    return next(((text, box) for text, box in boxes if box.inside(bounds)), fallback)


def _size(text: str) -> tuple[float, float]:
    return text_size(text, _FACE)


def _with_mark(text: str, before: float) -> tuple[float, float]:
    width, height = text_size(text, _ERROR_FACE)
    return before + (width if text else 0.0), height
