"""The horizon over a frame of a take: dragged, turned and typed to where it really lies."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import (
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from app.plots.plotkit import polygon
from app.remember import Last
from app.reviewed.measuring import Measured, Pair
from app.reviewed.picture import image_of
from app.sheet.ink import draw_text, text_size
from app.sheet.labels import Box
from app.style import draw_focus_ring, draw_outline
from app.theme import Theme, px, theme_of
from app.widgets.stamp import Face
from app.widgets.text import Text
from app.widgets.typed_row import TypedRow
from core.exposure import FloatArray
from core.language import say
from core.path import LEVEL, Tilt, half_field_tangents
from core.review.geometry import Lens
from core.review.tilt import held, raised, tilted_pose, turned, typed_tilt_deg
from core.words import signed_text

#: The line turns by what lies further from the middle than this share of the width.
_ENDS: Final = 0.25
#: Where the handles stand, as shares of the width.
_HANDLES: Final = (0.12, 0.5, 0.88)
_SMALL: Final[Face] = (11.0, 400)
#: One press of a key, and one with Shift, degrees; of a field the other way round.
_STEP_DEG, _FAR_DEG = 0.1, 1.0
#: The hand has come to rest after so long, ms (our judgement).
_REST_MS: Final = 700
_KEYS: Final[dict[int, tuple[float, float]]] = {
    Qt.Key.Key_Up: (-1.0, 0.0),
    Qt.Key.Key_Down: (1.0, 0.0),
    Qt.Key.Key_Left: (0.0, 1.0),
    Qt.Key.Key_Right: (0.0, -1.0),
}
_PAGES: Final[dict[int, int]] = {Qt.Key.Key_PageUp: -1, Qt.Key.Key_PageDown: 1}
_TIP: Final = say(
    "Drag the line up and down, or turn it by its ends. Keys: up and down move it 0.1°, left "
    "and right turn it, with Shift 1°, Backspace lays it as planned; Page up and down show "
    "another frame."
)


@dataclass(frozen=True)
class _Hold:
    """Where the hand took the line, how it lay then, and whether the hand turns it."""

    at: QPointF
    on_screen: QPointF
    tilt: Tilt
    middle_y: float
    turns: bool


class HorizonPicture(QWidget):
    """A frame of the take, and on it the edge of the sky by the path and the tilt.

    Signals
    -------
    moved
        The tilt by which the line lies where it was moved to.
    """

    moved = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._measured: Measured | None = None
        self._place = 0
        self._tilt = LEVEL
        self._hold: _Hold | None = None
        self._line: Last[tuple[FloatArray, FloatArray]] = Last()
        self._image: Last[QImage | None] = Last()
        self.setToolTip(_TIP)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self._tell()

    # ---- what it shows ----

    @property
    def in_hand(self) -> bool:
        """Whether the hand has the line."""
        return self._hold is not None

    @property
    def number(self) -> int | None:
        """The frame that is shown, counted from 1; None while there is none."""
        pair = self._pair
        if pair is None or self._measured is None:
            return None
        return self._measured.seen.shown.reviewed.frames[pair.at].index + 1

    def show_take(self, measured: Measured, *, anew: bool) -> None:
        """Show a take; of another one the frame with the horizon nearest to its middle."""
        self._measured = measured
        if anew or self._place >= len(measured.pairs):
            away = [self._off_middle(pair) for pair in measured.pairs]
            self._place = int(np.argmin(away)) if away else 0
        self.updateGeometry()
        self._tell()

    def show_tilt(self, tilt: Tilt) -> None:
        """Lay the line as a camera of this tilt saw it."""
        if tilt != self._tilt:
            self._tilt = tilt
            self._tell()

    def show_frame(self, at: int) -> None:
        """Show the nearest to a frame of those that are at hand."""
        pairs = self._measured.pairs if self._measured else ()
        if pairs:
            self._place = int(np.argmin([abs(pair.at - at) for pair in pairs]))
            self._tell()

    def line(self) -> tuple[FloatArray, FloatArray]:
        """The edge of the sky, from left to right, in pixels of the widget."""
        pair, measured = self._pair, self._measured
        if pair is None or measured is None:
            return np.zeros(0), np.zeros(0)
        # Asked for three times a painting, and by the hand.
        figures = (self._tilt, self.width(), self.height())
        return self._line.of((measured, pair), figures, lambda: self._line_of(measured, pair))

    def _line_of(self, measured: Measured, pair: Pair) -> tuple[FloatArray, FloatArray]:
        skyline = measured.seen.shown.reviewed.plan.place.skyline
        x, y = self._lens().skyline(tilted_pose(pair.pose, self._tilt), skyline)
        known = np.isfinite(x) & np.isfinite(y)
        return x[known], y[known]

    def handles(self) -> tuple[QPointF, ...]:
        """Where the hand may take the line: its left end, middle and right end."""
        x, y = self.line()
        if not x.size:
            return ()
        wide = self.width()
        return tuple(QPointF(s * wide, float(np.interp(s * wide, x, y))) for s in _HANDLES)

    @property
    def _pair(self) -> Pair | None:
        pairs = self._measured.pairs if self._measured else ()
        return pairs[self._place] if self._place < len(pairs) else None

    def _lens(self) -> Lens:
        camera = self._measured.seen.shown.reviewed.plan.camera if self._measured else None
        tangents = half_field_tangents(camera) if camera else (4.0, 3.0)
        return Lens(max(self.width(), 1), max(self.height(), 1), *tangents)

    def _off_middle(self, pair: Pair) -> float:
        """How far the horizon's middle is from that of a frame, in half its heights."""
        return abs(math.tan(math.radians(pair.pose.pitch_deg))) / self._lens().half_height

    def _out_of_sight(self) -> bool:
        x, y = self.line()
        inside = (x > 0.0) & (x < self.width()) & (y > 0.0) & (y < self.height())
        return not bool(inside.any())

    def _tell(self) -> None:
        number = self.number
        self.setAccessibleName(
            say("Horizon") if number is None else say("Horizon in frame {number}", number=number)
        )
        pitch, roll = map(_angle_text, (self._tilt.pitch_deg, self._tilt.roll_deg))
        self.setAccessibleDescription(say("Pitch {pitch}, roll {roll}", pitch=pitch, roll=roll))
        self.update()

    def hasHeightForWidth(self) -> bool:
        """The frame keeps its shape."""
        return True

    def heightForWidth(self, width: int) -> int:
        """The height of the camera's frame."""
        lens = self._lens()
        return round(width * lens.half_height / lens.half_width)

    def sizeHint(self) -> QSize:
        """The width of the column."""
        return QSize(px(300), self.heightForWidth(px(300)))

    # ---- what the hand does ----

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the line."""
        handles = self.handles()
        if event.button() != Qt.MouseButton.LeftButton or not handles:
            event.ignore()
            return
        at = event.position()
        turns = abs(at.x() / self.width() - 0.5) > _ENDS and not self._out_of_sight()
        self._hold = _Hold(at, event.globalPosition(), self._tilt, handles[1].y(), turns)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move or turn what is held; otherwise show that it can be."""
        hold = self._hold
        if hold is None:
            self.setCursor(Qt.CursorShape.SizeVerCursor)
            return
        # By the screen: an answer that comes meanwhile may move the picture.
        at = hold.at + event.globalPosition() - hold.on_screen
        if hold.turns:
            start, end = ((hold.at.x(), hold.at.y()), (at.x(), at.y()))
            self._move(turned(hold.tilt, self._lens(), start, end, hold.middle_y))
        else:
            self._move(raised(hold.tilt, self._lens(), hold.at.y(), at.y()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._hold = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows move and turn the line, Backspace lays it as planned, pages change the frame."""
        key = event.key()
        if key in _PAGES and self._measured is not None:
            last = len(self._measured.pairs) - 1
            self._place = min(max(self._place + _PAGES[key], 0), last)
            self._tell()
        elif key in _KEYS and self._measured is not None:
            far = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            step = _FAR_DEG if far else _STEP_DEG
            up, round_ = _KEYS[key]
            pitch, roll = self._tilt.pitch_deg + step * up, self._tilt.roll_deg + step * round_
            self._move(held(pitch, roll))
        elif key == Qt.Key.Key_Backspace:
            self._move(LEVEL)
        else:
            super().keyPressEvent(event)

    def _move(self, tilt: Tilt) -> None:
        if tilt != self._tilt:
            self.show_tilt(tilt)
            self.moved.emit(tilt)

    # ---- how it looks ----

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the frame, and the line on it."""
        theme, whole = theme_of(self), QRectF(self.rect())
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.fillRect(whole, theme.field)
            if self._pair is not None:
                self._draw_image(painter, self._pair, dim=theme.name == "dim")
                self._draw_line(painter, theme)
                self._draw_words(painter, theme)
            draw_outline(painter, whole, QPen(theme.edge, max(1, px(1))))
            if self.hasFocus():
                draw_focus_ring(painter, whole, theme)

    def _draw_image(self, painter: QPainter, pair: Pair, *, dim: bool) -> None:
        image = self._image.of((pair,), (dim,), lambda: image_of(pair.close, dim=dim))
        if image is not None:
            painter.drawImage(QRectF(self.rect()), image)

    def _draw_line(self, painter: QPainter, theme: Theme) -> None:
        """Draw the line in ink with a rim of the ground, so that it shows over any picture."""
        x, y = self.line()
        near = (x > -self.width()) & (x < 2.0 * self.width())
        points: QPolygonF = polygon(x[near], y[near])
        for colour, width in ((theme.field, 3.0), (theme.ink, 1.0)):
            painter.setPen(QPen(colour, px(1) * width))
            painter.drawPolyline(points)
        painter.setBrush(theme.ink)
        painter.setPen(QPen(theme.field, 1.5 * px(1)))
        for at in self.handles():
            painter.drawEllipse(at, px(5), px(5))

    def _draw_words(self, painter: QPainter, theme: Theme) -> None:
        words = say("frame {number}", number=self.number)
        if self._out_of_sight():
            words = say("frame {number}: the horizon lies outside", number=self.number)
        wide, high = text_size(words, _SMALL)
        box = Box(px(4), self.height() - high - px(4), wide, high)
        draw_text(painter, box, words, _SMALL, theme.ink, theme.field)


class HorizonBox(QWidget):
    """The horizon over a frame, and by how much the camera was off, as figures.

    Signals
    -------
    settled
        The hand has come to rest at a tilt.
    """

    settled = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._take_id, self._tilt = "", LEVEL
        self.picture = HorizonPicture()
        self.pitch, self.roll = (
            TypedRow(label, 0.0, typed_tilt_deg, _angle_text, label_px=52, field_px=72)
            for label in (say("Pitch"), say("Roll"))
        )
        self.pitch.field.setAccessibleName(say("Camera above its planned pitch"))
        self.roll.field.setAccessibleName(say("Camera leaning to the right"))
        hint = say("Lay the line on the edge of the sky: the take is measured again by it.")
        self._rest = QTimer(self, singleShot=True, interval=_REST_MS)
        self._rest.timeout.connect(self._come_to_rest)
        self.picture.moved.connect(self._move)
        for row in (self.pitch, self.roll):
            row.taken.connect(self._take_typed)
        for field, part in ((self.pitch.field, "pitch_deg"), (self.roll.field, "roll_deg")):
            field.stepped.connect(lambda step, fine, part=part: self._step(part, step, fine=fine))
            field.reset.connect(lambda part=part: self._move(replace(self._tilt, **{part: 0.0})))
        rows = QHBoxLayout()
        rows.setSpacing(px(8))
        for row in (self.pitch, self.roll):
            rows.addWidget(row, 1, Qt.AlignmentFlag.AlignTop)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(px(4))
        whole.addWidget(self.picture)
        whole.addLayout(rows)
        whole.addWidget(Text(hint, size_px=12, ink="ink2", wraps=True))

    @property
    def tilt(self) -> Tilt:
        """By how much the camera was off, as the line lies."""
        return self._tilt

    def show_take(self, measured: Measured) -> None:
        """Show a take and the tilt it was measured by; a line under the hand stays there."""
        take_id = measured.seen.shown.reviewed.take.id
        self.picture.show_take(measured, anew=take_id != self._take_id)
        if take_id != self._take_id or not (self._rest.isActive() or self.picture.in_hand):
            self._rest.stop()
            self._put(measured.seen.shown.reviewed.tilt)
        self._take_id = take_id

    def forget(self) -> None:
        """Ask for nothing more."""
        self._rest.stop()

    def _put(self, tilt: Tilt) -> None:
        self._tilt = tilt
        self.picture.show_tilt(tilt)
        self.pitch.put(tilt.pitch_deg)
        self.roll.put(tilt.roll_deg)

    def _move(self, tilt: Tilt) -> None:
        self._put(tilt)
        self._rest.start()

    def _step(self, part: str, steps: int, *, fine: bool) -> None:
        step = steps * (_STEP_DEG if fine else _FAR_DEG)
        wished = replace(self._tilt, **{part: getattr(self._tilt, part) + step})
        self._move(held(wished.pitch_deg, wished.roll_deg))

    def _take_typed(self) -> None:
        self._put(held(self.pitch.value, self.roll.value))
        self._come_to_rest()

    def _come_to_rest(self) -> None:
        if self.picture.in_hand:
            self._rest.start()
            return
        self._rest.stop()
        self.settled.emit(self._tilt)


def _angle_text(angle_deg: float) -> str:
    return f"{signed_text(angle_deg)}°"
