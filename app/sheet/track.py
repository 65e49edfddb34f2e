"""A track of the sheet: a strip on the common clock with its head in the gutter."""

from __future__ import annotations

import contextlib
from typing import Generic, TypeVar

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPixmap, QResizeEvent
from PySide6.QtWidgets import QWidget

from app.sheet.clock import Clock
from app.sheet.drag import Grip, Hold, dragged, grip_at
from app.sheet.ink import draw_edges, draw_shade, draw_vertical, shade_colour, sheet_pixmap
from app.sheet.pictures import Edges, same
from app.sheet.scene import Scene
from app.store import Store
from app.theme import Theme, px, text_scale, theme_of
from core.edit import PlanError
from core.plan import ShootName

Picture = TypeVar("Picture")
_REACH = 6.0


class Track(QWidget, Generic[Picture]):
    """A strip that shows one picture, and through which the takes' edges and the cursor run.

    What it shows is drawn once, when it changes, into a picture: first what lies still under
    a moving take, which is kept, then the rest. Painting lays that down and the cursor over
    it.

    Signals
    -------
    grabbed, released
        A hand took hold of a take, or let it go.
    """

    grabbed = Signal()
    released = Signal()

    def __init__(self, store: Store, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._scene: Scene | None = None
        self._clock: Clock | None = None
        self._picture: Picture | None = None
        self._cursor_s: float | None = None
        self._hold: Hold | None = None
        self._still = QPixmap()
        self._still_key: tuple[object, ...] = ()
        self._drawn = QPixmap()
        self._stale = True
        self._theme: Theme | None = None
        self.setAccessibleName(name)
        self.setMouseTracking(True)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    @property
    def theme(self) -> Theme:
        """The theme that it is painted in, asked for once until it changes."""
        if self._theme is None:
            self._theme = theme_of(self)
        return self._theme

    @property
    def picture(self) -> Picture | None:
        """What it shows."""
        return self._picture

    def picture_of(self, scene: Scene, clock: Clock) -> Picture | None:
        """The picture of this track; None shows its ground only."""
        raise NotImplementedError

    def description_of(self, picture: Picture | None) -> str:
        """The picture in one sentence."""
        raise NotImplementedError

    def still_of(self, picture: Picture | None) -> object:
        """What of the picture lies still while a take moves; all of it, if not said otherwise."""
        return picture

    def draw_still(self, painter: QPainter, clock: Clock) -> None:
        """Draw the head and what lies still, over the ground."""
        raise NotImplementedError

    def draw_moving(self, painter: QPainter, clock: Clock) -> None:
        """Draw what moves with the takes."""

    def draw_cursor(self, painter: QPainter, x: float) -> None:
        """Draw the cursor and what is read at it."""
        draw_vertical(painter, self.theme.ink, x, 0.0, self.height())

    def show_scene(self, scene: Scene | None, clock: Clock) -> None:
        """Show a scene on a clock; nothing is repainted where nothing changed."""
        picture = self.picture_of(scene, clock) if scene is not None else None
        before = (self._clock, self._ground(), self._picture)
        self._scene, self._clock = scene, clock
        if same(before, (clock, self._ground(), picture)):
            return
        self._picture = picture
        self.setAccessibleDescription(self.description_of(picture))
        self.refresh()

    def _ground(self) -> object:
        return None if self._scene is None else (self.edges, self._scene.shade)

    def show_cursor(self, axis_s: float | None) -> None:
        """Move the cursor to a second of the axis, or take it away."""
        if axis_s != self._cursor_s:
            self._cursor_s = axis_s
            self.moved_cursor()

    def moved_cursor(self) -> None:
        """Repaint what follows the cursor."""
        self.update()

    def refresh(self) -> None:
        """Draw anew before the next painting."""
        self._stale = True
        self.update()

    def plot_rect(self, clock: Clock) -> QRectF:
        """The part of the track that lies on the clock."""
        return QRectF(clock.left, 0.0, clock.width, self.height())

    def ground_colour(self, x: float) -> QColor:
        """The colour of the ground at a place, for the chip under a word."""
        theme = self.theme
        if self._clock is None or self._scene is None:
            return theme.sheet
        share = (x - self._clock.left) / self._clock.width
        return shade_colour(theme, self._scene.shade, share)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Lay down what is drawn, and the cursor over it."""
        self._redraw_if_stale()
        # A painter that is left open where drawing fails takes the program down with it.
        with QPainter(self) as painter:
            painter.drawPixmap(0, 0, self._drawn)
            x = self._cursor_x()
            if x is not None:
                self.draw_cursor(painter, x)

    def _cursor_x(self) -> float | None:
        if self._clock is None or self._cursor_s is None or self._picture is None:
            return None
        x = self._clock.x(self._cursor_s)
        return x if self._clock.left <= x <= self._clock.right else None

    def _redraw_if_stale(self) -> None:
        ratio = self.devicePixelRatioF()
        if self._clock is None or not (self._stale or self._drawn.devicePixelRatio() != ratio):
            return
        self._stale = False
        self._keep_still(self._clock)
        self._drawn = QPixmap(self._still)
        with QPainter(self._drawn) as painter:
            self.draw_moving(painter, self._clock)

    def _keep_still(self, clock: Clock) -> None:
        """Draw what lies still, unless it is what is kept."""
        theme = self.theme
        shade = self._scene.shade if self._scene is not None else None
        canvas = (theme.name, text_scale(), self.size().toTuple(), self.devicePixelRatioF())
        key = (canvas, clock, shade, self.still_of(self._picture))
        if same(key, self._still_key):
            return
        self._still_key = ()
        self._still = sheet_pixmap(self, theme, self.width(), self.height())
        with QPainter(self._still) as painter:
            draw_shade(painter, self.plot_rect(clock), theme, shade)
            self.draw_still(painter, clock)
        self._still_key = key

    def draw_edges(self, painter: QPainter, clock: Clock) -> None:
        """Draw the takes' edges through the track."""
        draw_edges(painter, self.theme, clock, self.edges, self.height())

    def changeEvent(self, event: QEvent) -> None:
        """Draw anew in another theme or at another text scale."""
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange):
            self._theme = None
            self.refresh()
        super().changeEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Draw anew at another size."""
        super().resizeEvent(event)
        self.refresh()

    @property
    def edges(self) -> tuple[Edges, ...]:
        """Edges that run through the track: of both takes, the active one last."""
        return self._scene.edges if self._scene is not None else ()

    def takes_in_reach(self) -> tuple[Edges, ...]:
        """The takes that a hand can move on this track."""
        return self.edges

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of a take, and make its shoot the active one."""
        held = self._grip_at(event.position())
        if event.button() != Qt.MouseButton.LeftButton or held is None or self._clock is None:
            super().mousePressEvent(event)
            return
        name, grip = held
        outlook = self._store.outlook(name)
        if outlook is None:
            return
        x_s = self._clock.axis.of(self._clock.utc_s(event.position().x(), name), name)
        self._hold = Hold(name, grip, x_s, outlook)
        self._store.begin_gesture()
        self.grabbed.emit()
        self._store.set_active(name)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Move what is held, or the cursor."""
        if self._clock is None or self._scene is None:
            return
        x = event.position().x()
        if self._hold is not None:
            label, values = dragged(self._hold, self._clock.axis_s(x))
            # A value at the end of its range stays where the hand left it.
            with contextlib.suppress(PlanError):
                self._store.edit(label, values)
            return
        self._point_at(x)
        held = self._grip_at(event.position())
        shapes = {"whole": Qt.CursorShape.SizeHorCursor, "end": Qt.CursorShape.SplitHCursor}
        self.setCursor(shapes[held[1]] if held is not None else Qt.CursorShape.ArrowCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if self._hold is not None and event.button() == Qt.MouseButton.LeftButton:
            self._hold = None
            self.released.emit()
        super().mouseReleaseEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        """Take the cursor away with the pointer."""
        if self._hold is None:
            self._store.set_cursor(None)
        super().leaveEvent(event)

    def _point_at(self, x: float) -> None:
        clock, scene = self._clock, self._scene
        if clock is None or scene is None:
            return
        inside = clock.left <= x <= clock.right
        self._store.set_cursor(clock.utc_s(x, scene.view.active) if inside else None)

    def _grip_at(self, position: QPointF) -> tuple[ShootName, Grip] | None:
        if self._clock is None or not self._clock.left <= position.x() <= self._clock.right:
            return None
        return grip_at(self._clock, self.takes_in_reach(), position.x(), px(_REACH))


class ApartTrack(Track[Picture]):
    """A track that stands on the bare sheet: no clock, no edges and no cursor run across it."""

    @property
    def edges(self) -> tuple[Edges, ...]:
        """None: a take cannot be moved here."""
        return ()

    def plot_rect(self, clock: Clock) -> QRectF:
        """Nothing of it lies on the clock."""
        return QRectF(clock.left, 0.0, 0.0, 0.0)
