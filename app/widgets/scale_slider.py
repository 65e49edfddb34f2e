"""A slider along a camera's scale that shows where the plan holds before it is moved."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QSlider, QWidget

from app.theme import Theme, px, text_scale, theme_of
from app.widgets.presses import Presses
from core.plan import ShootName

#: Scales with more steps than this have no notches.
MOST_NOTCHES = 25
_INSET_PX = 7.0
_HEIGHT_PX = 21.0
_GROOVE_Y_PX = 10.0
_HANDLE_PX = (10.0, 16.0)
_LEAST_RUN_PX = 20.0


@dataclass(frozen=True)
class SliderState:
    """What a slider shows; places count steps of the scale from 0.

    `position` and `other`, the other shoot's value, may lie between two steps. `good` holds
    the runs of steps where the plan holds, None while they are not known; `outside` says that
    the value lies outside them. A drag stops at every `step`; a page is `page` real steps.
    """

    count: int
    position: float
    shoot: ShootName = "A"
    other: float | None = None
    good: tuple[tuple[float, float], ...] | None = None
    outside: bool = False
    notches: bool = True
    step: int = 1
    page: int = 5
    locked: bool = False


class ScaleSlider(QSlider):
    """A slider over the steps of a scale; what it is moved to is handed over as a step.

    Signals
    -------
    grasped
        A new movement of the hand begins: press, key or turn of the wheel.
    picked
        Moved to a step.
    stepped
        By so many real steps, or by the finest ones (Shift).
    good_end
        To the first (-1) or last (+1) good value.
    opened
        The value is to be typed, with the first letter where one was pressed.
    reset
        Back to the default.
    locking
        The lock is to be turned.
    """

    grasped = Signal()
    picked = Signal(int)
    stepped = Signal(int, bool)
    good_end = Signal(int)
    opened = Signal(str)
    reset = Signal()
    locking = Signal()

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._state = SliderState(count=2, position=0.0)
        self._grip: float | None = None
        self._presses = Presses()
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.valueChanged.connect(self._picked)

    @property
    def state(self) -> SliderState:
        """What it shows."""
        return self._state

    def show_state(self, state: SliderState) -> None:
        """Show another state; nothing is repainted where nothing changed."""
        if state == self._state:
            return
        self._state = state
        blocked = self.blockSignals(True)
        self.setRange(0, state.count - 1)
        self.setSingleStep(state.step)
        self.setPageStep(state.page * state.step)
        if self._grip is None:
            self.setValue(round(state.position))
        self.blockSignals(blocked)
        self.update()

    def x_of(self, position: float) -> float:
        """Where a place of the scale stands, in pixels."""
        inset = px(_INSET_PX)
        span = max(self._state.count - 1, 1)
        return inset + (self.width() - 2.0 * inset) * position / span

    def _step_at(self, x: float) -> int:
        inset = px(_INSET_PX)
        share = (x - inset) / max(self.width() - 2.0 * inset, 1.0)
        step = self._state.step
        place = round(share * (self._state.count - 1) / step) * step
        return min(max(place, 0), self._state.count - 1)

    def _picked(self, place: int) -> None:
        self.picked.emit(place)

    def sizeHint(self) -> QSize:
        """As high as handle, ring and notches."""
        return QSize(px(120), px(_HEIGHT_PX))

    def minimumSizeHint(self) -> QSize:
        """Room to be moved."""
        return QSize(px(60), px(_HEIGHT_PX))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Grasp the handle where it is, or bring it to the pointer."""
        if event.button() != Qt.MouseButton.LeftButton:
            event.ignore()
            return
        self.grasped.emit()
        handle, x = self.x_of(self._state.position), event.position().x()
        near = abs(x - handle) <= px(_HANDLE_PX[0])
        self._grip = handle - x if near else 0.0
        self.setSliderDown(True)
        if not near:
            self.setValue(self._step_at(x))
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the hand."""
        if self._grip is not None:
            self.setValue(self._step_at(event.position().x() + self._grip))
            event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if self._grip is not None and event.button() == Qt.MouseButton.LeftButton:
            self._grip = None
            self.setSliderDown(False)
            event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Step with the keyboard's focus only; otherwise the column scrolls."""
        turns = event.angleDelta().y()
        if not self.hasFocus() or not turns:
            event.ignore()
            return
        self.grasped.emit()
        self.stepped.emit(1 if turns > 0 else -1, False)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows step, Page steps by five, Home and End go to the ends, a digit opens the value."""
        if not self._moves(event) and not self._opens(event):
            super().keyPressEvent(event)

    def _moves(self, event: QKeyEvent) -> bool:
        key = event.key()
        steps = {
            Qt.Key.Key_Left: -1,
            Qt.Key.Key_Down: -1,
            Qt.Key.Key_Right: 1,
            Qt.Key.Key_Up: 1,
            Qt.Key.Key_PageDown: -self._state.page,
            Qt.Key.Key_PageUp: self._state.page,
        }
        to_end = {Qt.Key.Key_Home: -1, Qt.Key.Key_End: 1}
        if key not in steps and key not in to_end:
            return False
        if self._presses.begins(event):
            self.grasped.emit()
        modifiers = event.modifiers()
        if key in steps:
            fine = bool(modifiers & Qt.KeyboardModifier.ShiftModifier)
            self.stepped.emit(steps[Qt.Key(key)], fine)
        elif modifiers & Qt.KeyboardModifier.ControlModifier:
            self.good_end.emit(to_end[Qt.Key(key)])
        else:
            self.picked.emit(0 if key == Qt.Key.Key_Home else self._state.count - 1)
        return True

    def _opens(self, event: QKeyEvent) -> bool:
        key, text = event.key(), event.text()
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if key == Qt.Key.Key_F2:
            self.opened.emit("")
        elif plain and text.isdecimal():
            self.opened.emit(text)
        elif plain and key == Qt.Key.Key_Backspace:
            self.grasped.emit()
            self.reset.emit()
        elif plain and key == Qt.Key.Key_L:
            self.locking.emit()
        else:
            return False
        return True

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint groove, notches, good range, the other shoot's value and the handle."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            self._paint_groove(painter, theme)
            if self._state.other is not None:
                self._paint_other(painter, theme, self.x_of(self._state.other))
            # On a whole pixel, so that its edges are sharp.
            self._paint_handle(painter, theme, round(self.x_of(self._state.position)))

    def _paint_groove(self, painter: QPainter, theme: Theme) -> None:
        line = max(1, px(1))
        y, left, right = px(_GROOVE_Y_PX), self.x_of(0.0), self.x_of(self._state.count - 1.0)
        groove = theme.edge if self.isEnabled() else theme.rule
        painter.fillRect(QRectF(left, y - line / 2.0, right - left, line), groove)
        if self._state.notches and 1 < self._state.count <= MOST_NOTCHES:
            for place in range(self._state.count):
                x = round(self.x_of(place)) - line // 2
                painter.fillRect(x, y + px(4), line, px(4), groove)
        for first, last in self._state.good or ():
            begin, end = self.x_of(first), self.x_of(last)
            # A run of one step shows at both sides of the handle.
            short = max(0.0, px(_LEAST_RUN_PX) - (end - begin)) / 2.0
            rect = QRectF(begin, y - 2.25 * text_scale(), end - begin, 4.5 * text_scale())
            good = rect.adjusted(-short, 0.0, short, 0.0).intersected(
                QRectF(0.0, 0.0, self.width(), self.height())
            )
            painter.fillRect(good, theme.ink2)

    def _paint_other(self, painter: QPainter, theme: Theme, x: float) -> None:
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        size = 8.0 * text_scale()
        rect = QRectF(0.0, 0.0, size, size)
        rect.moveCenter(QRectF(x, px(_GROOVE_Y_PX), 0.0, 0.0).topLeft())
        other: ShootName = "B" if self._state.shoot == "A" else "A"
        painter.setPen(QPen(theme.shoot(other), 1.6 * text_scale()))
        painter.setBrush(theme.window)
        painter.drawRect(rect) if other == "A" else painter.drawEllipse(rect)
        painter.restore()

    def _paint_handle(self, painter: QPainter, theme: Theme, x: float) -> None:
        scale, shoot, outside = text_scale(), self._state.shoot, self._state.outside
        rect = QRectF(0.0, 0.0, _HANDLE_PX[0] * scale, _HANDLE_PX[1] * scale)
        rect.moveCenter(QRectF(x, px(_GROOVE_Y_PX), 0.0, 0.0).topLeft())
        radius = 0.0 if shoot == "A" else rect.width() / 2.0
        colour = theme.alarm if outside else theme.shoot(shoot)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if outside:
            half = scale
            painter.setPen(QPen(colour, 2.0 * scale))
            painter.setBrush(theme.window)
            inner = rect.adjusted(half, half, -half, -half)
        else:
            # A rim of the ground parts the handle from the groove.
            painter.setPen(QPen(theme.window, 2.0 * scale))
            painter.setBrush(theme.window)
            painter.drawRoundedRect(rect, radius, radius)
            painter.setPen(Qt.PenStyle.NoPen)
            free = self.isEnabled() and not self._state.locked
            painter.setBrush(colour if free else theme.ink3)
            inner = rect
        painter.drawRoundedRect(
            inner, max(radius - (rect.width() - inner.width()) / 2.0, 0.0), radius
        )
        stroke = QRectF(0.0, 0.0, 1.6 * scale, 8.0 * scale)
        stroke.moveCenter(rect.center())
        painter.fillRect(stroke, colour if outside else theme.on_shoot(shoot))
        if self.hasFocus():
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            pen = QPen(theme.ink, 2.0 * scale)
            pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
            painter.setPen(pen)
            painter.drawRect(rect.adjusted(-3.0 * scale, -scale, 3.0 * scale, scale))
        painter.restore()
