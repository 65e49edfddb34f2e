"""A frames track: the predicted frames of one take, spread over the whole width."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, QTimer
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPen
from PySide6.QtWidgets import QWidget

from app.remember import Last
from app.sheet.clock import Clock
from app.sheet.developer import Developer
from app.sheet.framespicture import (
    NUMBERS_PX,
    Cells,
    FramesPicture,
    cells_of,
    frames_across,
    frames_picture,
)
from app.sheet.ink import draw_head
from app.sheet.scene import Scene
from app.sheet.takeframes import Batch, Family, batches_of, wishes_of
from app.sheet.track import ApartTrack
from app.store import Store
from app.theme import px, text_scale
from app.widgets.marks import draw_mark
from app.widgets.stamp import write
from core.language import say
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.preview import frame_indices

#: What is not drawn is shown as such after so long; before, its place is empty.
BUSY_AFTER_MS: Final = 300
#: A hand that has not moved the start for so long is at rest.
_REST_MS = 40
_OUTLINE, _MARK = 2.0, 13.0
#: Room that a frame needs for its clock time beside its number.
_ROOM_FOR_CLOCK = 72

_Strip = tuple[Cells, tuple[int, ...], tuple[Batch, ...]]


class FramesTrack(ApartTrack[FramesPicture]):
    """Frames of one shoot; a frame under the pointer moves the cursor to its time."""

    def __init__(
        self, store: Store, name: ShootName, developer: Developer, parent: QWidget | None = None
    ) -> None:
        super().__init__(store, say("Frames {name}", name=name), parent)
        self._name = name
        self._developer = developer
        self._take: tuple[Family | None, float] = (None, 0.0)
        self._moving = self._timer(_REST_MS)
        self._busy = self._timer(BUSY_AFTER_MS)
        self._waiting = False
        self._strip: Last[_Strip] = Last()
        self._shown: Last[FramesPicture] = Last()
        developer.drawn.connect(self._show_again)

    def picture_of(self, scene: Scene, clock: Clock) -> FramesPicture | None:
        """The take's frames as far as they are drawn; the others are wished for."""
        view, name = scene.view, self._name
        plan, seen = view.plan, view.outlooks[name]
        canvas = clock, text_scale(), self.devicePixelRatioF()
        # An outlook is another object whenever anything that its frames show is another.
        strip = self._strip.of((seen,), canvas, lambda: self._strip_of(plan, seen, clock))
        cells, indices, batches = strip
        self._wish(batches, view.active)
        dim = self.theme.name == "dim"
        images = []
        for batch in batches:
            drawn = self._developer.images_of(batch, seen.mid, plan.camera.highlight_stops, dim=dim)
            images += list(drawn or [None] * len(batch.indices))
        counting = self._counts(complete=None not in images)
        return self._shown.of(
            (seen, cells, *images),
            (counting,),
            lambda: frames_picture(view, name, cells, indices, images, counting=counting),
        )

    def _strip_of(self, plan: Plan, seen: Outlook, clock: Clock) -> _Strip:
        """Which frames the strip shows, where, and what must be drawn for it."""
        across = frames_across(clock)
        indices = frame_indices(seen.clip.frames, across)
        cells, ratio = cells_of(clock, plan.camera, len(indices)), self.devicePixelRatioF()
        size = (round(cells.height * ratio), round(cells.width * ratio))
        return cells, indices, batches_of(plan, seen, across, size)

    def _timer(self, after_ms: int) -> QTimer:
        """A timer after which the track shows its scene again."""
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.setInterval(after_ms)
        timer.timeout.connect(self._show_again)
        return timer

    def _wish(self, batches: Sequence[Batch], active: ShootName) -> None:
        """Ask for what is missing; under a moving hand only for what helps it."""
        take = (batches[0].family, batches[0].press_s)
        if take[0] != self._take[0]:
            self._moving.stop()
        elif take != self._take:
            self._moving.start()
        self._take = take
        moving = self._moving.isActive()
        wishes = wishes_of(batches, active=self._name == active, moving=moving)
        self._developer.wish(self._name, wishes, active)

    def _counts(self, *, complete: bool) -> bool:
        """Whether frames have been missing for so long that it must be shown."""
        if complete:
            self._waiting = False
            self._busy.stop()
        elif not self._waiting:
            self._waiting = True
            self._busy.start()
        return self._waiting and not self._busy.isActive()

    def _show_again(self) -> None:
        if self._clock is not None and self._scene is not None:
            self.show_scene(self._scene, self._clock)

    def description_of(self, picture: FramesPicture | None) -> str:
        """How many frames, and which of them break a limit."""
        return picture.description if picture is not None else ""

    def still_of(self, picture: FramesPicture | None) -> object:
        """Only the head."""
        return None if picture is None else picture.second_line

    def draw_still(self, painter: QPainter, _clock: Clock) -> None:
        """Draw the head."""
        theme, picture = self.theme, self._picture
        if picture is None:
            draw_head(painter, theme, px(2), say("Frames {name}", name=self._name))
        else:
            draw_head(painter, theme, px(2), say("Frames"), (picture.second_line,), self._name)

    def draw_moving(self, painter: QPainter, _clock: Clock) -> None:
        """Draw the frames and their numbers."""
        picture = self._picture
        if picture is None:
            return
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        for index in range(len(picture.numbers)):
            self._draw_frame(painter, picture, index)
            self._draw_number(painter, picture, index)

    def _draw_frame(self, painter: QPainter, picture: FramesPicture, index: int) -> None:
        theme, rect, image = self.theme, _rect(picture, index), picture.images[index]
        if image is not None:
            painter.drawImage(rect, image)
        elif picture.counting:
            _draw_outline(painter, rect, theme.edge, 1.0, Qt.PenStyle.DashLine)
        if picture.failing[index]:
            _draw_outline(painter, rect, theme.alarm, _OUTLINE)
            side = float(px(_MARK))
            corner = QRectF(rect.right() - side, rect.top(), side, side)
            draw_mark(painter, corner, "stop", theme)

    def _draw_number(self, painter: QPainter, picture: FramesPicture, index: int) -> None:
        theme, rect = self.theme, _rect(picture, index)
        failing = picture.failing[index]
        face = (11, 700 if failing else 400)
        number = str(picture.numbers[index])
        room = QRectF(rect.left() + px(2), rect.bottom(), rect.width(), px(NUMBERS_PX) - px(2))
        write(painter, room, number, face, theme.alarm if failing else theme.ink2)
        if rect.width() >= px(_ROOM_FOR_CLOCK):
            room.setLeft(room.left() + px(8 + 7 * len(number)))
            write(painter, room, picture.clocks[index], (11, 400), theme.ink3)

    def draw_cursor(self, painter: QPainter, _x: float) -> None:
        """Frame the frame that is nearest to the cursor."""
        picture, clock = self._picture, self._clock
        if picture is None or clock is None or self._cursor_s is None:
            return
        index = picture.nearest(clock.axis.utc_s(self._cursor_s, self._name))
        if index is not None:
            inner = px(_OUTLINE) if picture.failing[index] else 0
            rect = _rect(picture, index).adjusted(inner, inner, -inner, -inner)
            _draw_outline(painter, rect, self.theme.ink, _OUTLINE)

    def changeEvent(self, event: QEvent) -> None:
        """Expose anew in another theme, draw anew at another text scale."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange):
            self._show_again()

    def event(self, event: QEvent) -> bool:
        """Draw anew on a screen with other pixels."""
        if event.type() == QEvent.Type.DevicePixelRatioChange:
            self._show_again()
        return super().event(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Move the cursor to the frame's time."""
        self._point_to(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move the cursor to the time of the frame under the pointer."""
        self._point_to(event.position())

    def _point_to(self, position: QPointF) -> None:
        picture, clock, scene = self._picture, self._clock, self._scene
        if picture is None or clock is None or scene is None:
            return
        index = picture.cells.at(position.x(), position.y())
        if index is None:
            self._store.set_cursor(None)
            return
        axis_s = clock.axis.of(picture.time_s[index], self._name)
        self._store.set_cursor(clock.axis.utc_s(axis_s, scene.view.active))


def _rect(picture: FramesPicture, index: int) -> QRectF:
    cells = picture.cells
    return QRectF(cells.lefts[index], 0.0, cells.width, cells.height)


def _draw_outline(
    painter: QPainter,
    rect: QRectF,
    colour: QColor,
    width_px: float,
    style: Qt.PenStyle = Qt.PenStyle.SolidLine,
) -> None:
    """Stroke the inside of a rectangle."""
    width = max(1.0, width_px * text_scale())
    pen = QPen(colour, width, style)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    half = width / 2.0
    painter.drawRect(rect.adjusted(half, half, -half, -half))
