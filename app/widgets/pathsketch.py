"""The path from above, north up: stations are moved and turned where they stand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.style import draw_focus_ring, draw_outline
from app.theme import px, theme_of
from app.widgets.pathpicture import PathPicture
from app.widgets.pathwords import LOOK_PX, towards
from app.widgets.planview import Metres, PlanView, Sketch, Spot, fitted_view
from app.widgets.presses import Presses
from core.language import say
from core.words import bearing_text

#: So near, in pixels, a hand means a handle; the path keeps the margin from the rim.
_NEAR_PX, _MARGIN_PX, _MARGIN_SHARE = 10.0, 30.0, 0.2
#: A press moves this little, in pixels, without being a drag.
_STILL_PX: Final = 4.0
_TIP = say(
    "Drag a station to move it, the end of its line to turn it. Keys: Page up and down "
    "choose a station, arrows move it 1 m, with Shift 10 m, with Ctrl they turn and "
    "tilt it 1°, + and − move it up and down."
)

Handle = Literal["place", "look", "aim"]


@dataclass(frozen=True)
class _Hold:
    """What the hand has: a handle of a station, where it took it, and that beside its middle."""

    handle: Handle
    number: int
    taken: QPointF
    beside: QPointF


class PathSketch(QWidget):
    """Draws a sketch and hands over what the pilot makes of it.

    Signals
    -------
    grasped
        A new movement of the hand begins.
    placed, aimed
        A station, or the point that it looks at, by its number: to metres east and north.
    turned
        A station to a heading in degrees.
    nudged
        The chosen station by so much of `east_m`, `north_m`, `up_m`, `heading_deg`, `pitch_deg`.
    chosen
        Another station is the one that keys move and fields show.
    """

    grasped = Signal()
    placed = Signal(int, float, float)
    aimed = Signal(int, float, float)
    turned = Signal(int, float)
    nudged = Signal(int, str, float)
    chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sketch: Sketch | None = None
        self._view: PlanView | None = None
        self._number = 0
        self._hold: _Hold | None = None
        self._dragging = False
        self._above_px = 0
        self._presses = Presses()
        self.setAccessibleName(say("Path from above"))
        self.setToolTip(_TIP)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    # ---- what it shows ----

    @property
    def view(self) -> PlanView | None:
        """How metres lie on it; None while there is no path."""
        return self._view

    @property
    def spot(self) -> Spot | None:
        """The chosen station."""
        spots = self._sketch.spots if self._sketch else ()
        return next((one for one in spots if one.number == self._number), None)

    def show_sketch(self, sketch: Sketch) -> None:
        """Show another sketch; the ground stays still while the hand moves something on it."""
        if sketch == self._sketch:
            return
        self._sketch = sketch
        if self.spot is None:
            self._number = sketch.spots[0].number
        if self._hold is None:
            self._fit()
        told = self.spot.told() if self.spot else ""
        self.setAccessibleDescription(
            say("{station}; glow {bearing}", station=told, bearing=bearing_text(sketch.glow_deg))
        )
        self.update()

    def choose(self, number: int) -> None:
        """Let keys and fields belong to a station."""
        if number != self._number:
            self._number = number
            if self.spot is not None:
                self.setAccessibleDescription(self.spot.told())
            self.update()
            self.chosen.emit(number)

    def keep_above(self, height_px: int) -> None:
        """Keep a strip above free of stations, for what lies over the sketch there."""
        if height_px != self._above_px:
            self._above_px = height_px
            self._fit()
            self.update()

    def _fit(self) -> None:
        if self._sketch is not None:
            sides = self.width(), self.height()
            margin = min(px(_MARGIN_PX), _MARGIN_SHARE * min(sides))
            points_m = self._sketch.points_m()
            self._view = fitted_view(points_m, *sides, margin, self._above_px)

    def sizeHint(self) -> QSize:
        """As the map."""
        return QSize(px(150), px(104))

    def minimumSizeHint(self) -> QSize:
        """Room for a hand."""
        return QSize(px(120), px(104))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the path into the room there is."""
        super().resizeEvent(event)
        self._fit()

    # ---- what the hand does ----

    def _at(self, place_m: Metres) -> QPointF:
        return QPointF(*self._view.xy(place_m)) if self._view else QPointF()

    def _middle(self, spot: Spot, handle: Handle) -> QPointF | None:
        """Where a handle of a station is; None where it has none."""
        at = self._at(spot.eye.place_m)
        if handle == "place":
            return at
        if handle == "aim":
            return self._at(spot.aim_m) if spot.aim_m is not None else None
        return at + towards(spot.eye.heading_deg, px(LOOK_PX)) if spot.aim_m is None else None

    def _under(self, point: QPointF) -> _Hold | None:
        """The handle under the hand: a station before a line, the chosen one before others."""
        spots = self._sketch.spots if self._sketch else ()
        chosen_first = sorted(spots, key=lambda one: one.number != self._number)
        handles: tuple[Handle, ...] = ("place", "look", "aim")
        for handle in handles:
            for spot in chosen_first:
                middle = self._middle(spot, handle)
                if middle is not None and _length(point - middle) <= px(_NEAR_PX):
                    return _Hold(handle, spot.number, point, middle - point)
        return None

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take what is under the hand."""
        hold = self._under(event.position())
        if event.button() != Qt.MouseButton.LeftButton or hold is None:
            event.ignore()
            return
        self.choose(hold.number)
        self.grasped.emit()
        self._hold, self._dragging = hold, False
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move what is held; otherwise show that something can be."""
        hold, view = self._hold, self._view
        if hold is None or view is None:
            free = self._under(event.position()) is None
            shape = Qt.CursorShape.ArrowCursor if free else Qt.CursorShape.OpenHandCursor
            self.setCursor(shape)
            return
        if not self._dragging and _length(event.position() - hold.taken) < px(_STILL_PX):
            # A hand that presses is not quite still, and means to choose.
            return
        self._dragging = True
        at = event.position() + hold.beside
        east, north = (float(round(metres)) for metres in view.metres(at.x(), at.y()))
        if hold.handle == "place":
            self.placed.emit(hold.number, east, north)
        elif hold.handle == "aim":
            self.aimed.emit(hold.number, east, north)
        elif self.spot is not None:
            out = at - self._at(self.spot.eye.place_m)
            heading = round(math.degrees(math.atan2(out.x(), -out.y()))) % 360
            self.turned.emit(hold.number, float(heading))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go, and fit the path again."""
        if self._hold is not None and event.button() == Qt.MouseButton.LeftButton:
            self._hold = None
            self._fit()
            self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose, move, turn and tilt a station."""
        key, modifiers = Qt.Key(event.key()), event.modifiers()
        pages = {Qt.Key.Key_PageUp: -1, Qt.Key.Key_PageDown: 1}
        if key in pages:
            self._page(pages[key])
            return
        turning = bool(modifiers & Qt.KeyboardModifier.ControlModifier)
        nudge = (_TURNS if turning else _STEPS).get(key)
        if nudge is None:
            super().keyPressEvent(event)
            return
        if self._presses.begins(event):
            self.grasped.emit()
        name, step = nudge
        far = bool(modifiers & Qt.KeyboardModifier.ShiftModifier) and key in _ARROWS
        self.nudged.emit(self._number, name, step * (10.0 if far else 1.0))

    def _page(self, steps: int) -> None:
        order = [one.number for one in self._sketch.spots] if self._sketch else []
        if self._number in order:
            at = order.index(self._number) + steps
            self.choose(order[min(max(at, 0), len(order) - 1)])

    # ---- how it looks ----

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the ground, and on it the path."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            whole = QRectF(self.rect())
            painter.fillRect(whole, theme.shade0)
            if self._sketch is not None and self._view is not None:
                PathPicture(painter, theme, self._sketch, self._view).draw(self._number)
            draw_outline(painter, whole, QPen(theme.edge, max(1, px(1))))
            if self.hasFocus():
                draw_focus_ring(painter, whole, theme)


_STEPS: Final[dict[Qt.Key, tuple[str, float]]] = {
    Qt.Key.Key_Left: ("east_m", -1.0),
    Qt.Key.Key_Right: ("east_m", 1.0),
    Qt.Key.Key_Down: ("north_m", -1.0),
    Qt.Key.Key_Up: ("north_m", 1.0),
    Qt.Key.Key_Plus: ("up_m", 1.0),
    Qt.Key.Key_Minus: ("up_m", -1.0),
}
_ARROWS: Final = (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Down, Qt.Key.Key_Up)
_TURNS: Final[dict[Qt.Key, tuple[str, float]]] = {
    Qt.Key.Key_Left: ("heading_deg", -1.0),
    Qt.Key.Key_Right: ("heading_deg", 1.0),
    Qt.Key.Key_Down: ("pitch_deg", -1.0),
    Qt.Key.Key_Up: ("pitch_deg", 1.0),
}


def _length(step: QPointF) -> float:
    return math.hypot(step.x(), step.y())
