"""The sheet: everything that happens at the same moment on the same vertical."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from PySide6.QtCore import QEvent, QRectF, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QScrollBar, QWidget

from app.sheet import charge, clocktrack, fan, flight, slack, tone
from app.sheet.charge import ChargeTrack
from app.sheet.clock import Axis, Clock, ClockAxis, stay_of
from app.sheet.clocktrack import ClockTrack
from app.sheet.darkroom import DARKROOM
from app.sheet.developer import Developer
from app.sheet.fan import FanTrack
from app.sheet.flight import FlightTrack
from app.sheet.frames import FramesTrack
from app.sheet.framespicture import strip_height
from app.sheet.pictures import View
from app.sheet.question import Question
from app.sheet.scene import Scene, scene_of
from app.sheet.slack import SlackTrack
from app.sheet.takeframes import Draw
from app.sheet.tone import ToneTrack
from app.sheet.track import Track
from app.store import Store
from app.style import draw_focus_ring
from app.theme import px, scale_changes, theme_of
from core.language import say
from core.outlook import Outlook
from core.plan import SHOOT_NAMES, Camera, ShootName

_GUTTER, _WIDE_GUTTER, _INSET = 112, 124, 12
#: From this width of the sheet on the gutter is wider, from this height on the charge taller.
_WIDE, _TALL = 900, 780
_LEAST_WIDTH: Final = 420
_BY_KEY = (
    Qt.FocusReason.TabFocusReason,
    Qt.FocusReason.BacktabFocusReason,
    Qt.FocusReason.ShortcutFocusReason,
)
_EMPTY = Axis(0.0, 3600.0)


class SheetPanel(QWidget):
    """Tone, start slack, clock, frames, flights and charge, all on one clock.

    Signals
    -------
    demo_requested, place_requested
        The pilot has no plan yet and wants a ready one, or to type a place.

    Parameters
    ----------
    draw
        What draws the predicted frames; called in another thread.
    """

    demo_requested = Signal()
    place_requested = Signal()

    def __init__(
        self, store: Store, parent: QWidget | None = None, *, draw: Draw = DARKROOM.draw
    ) -> None:
        super().__init__(parent)
        self._store = store
        self._developer = Developer(self, draw)
        self._clock_axis = ClockAxis()
        self._below = QWidget(self)
        self.tone = ToneTrack(store, self)
        self.clock = ClockTrack(store, self)
        self.slack = SlackTrack(store, self)
        self.fan = FanTrack(store, self._below)
        self.frames = tuple(
            FramesTrack(store, name, self._developer, self._below) for name in SHOOT_NAMES
        )
        self.flights = tuple(FlightTrack(store, name, self._below) for name in SHOOT_NAMES)
        self.charge = ChargeTrack(store, self._below)
        self._tracks: tuple[Track[Any], ...] = (
            self.tone, self.slack, self.clock, self.fan, *self.frames, *self.flights, self.charge
        )  # fmt: skip
        self._bar = QScrollBar(Qt.Orientation.Vertical, self)
        self._question = Question(self)
        self._ring = _Ring(self)
        self._axis = _EMPTY
        self._scene: Scene | None = None
        self.setAccessibleName(say("Sheet"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setMinimumWidth(_LEAST_WIDTH)
        self._connect()
        self.show_plan()

    def _connect(self) -> None:
        self._store.changed.connect(self.show_plan)
        self._store.settled.connect(self._show_starts)
        self._store.cursor_moved.connect(self._show_cursor)
        self._question.demo_requested.connect(self.demo_requested)
        self._question.place_requested.connect(self.place_requested)
        self._bar.valueChanged.connect(self._scroll)
        scale_changes().changed.connect(self._lay_out)
        for track in self._tracks:
            track.grabbed.connect(self.hold)
            track.released.connect(self.release)

    def hold(self) -> None:
        """Keep the clock still while a hand moves something on it."""
        self._clock_axis.hold()

    def release(self) -> None:
        """Let the clock follow the plan again."""
        self._clock_axis.release()
        self.show_plan()

    def show_plan(self) -> None:
        """Show the store's plan as it stands; tracks repaint only what changed."""
        view = self._view()
        stays = {name: stay_of(one) for name, one in view.outlooks.items()} if view else {}
        self._axis = self._clock_axis.fit(stays) if stays else _EMPTY
        self._question.setVisible(view is None)
        clock = self._shared_clock()
        scene = scene_of(view, self._axis, self._scene) if view is not None else None
        self._scene = scene
        if self._strip_height(clock) == self.frames[0].height():
            for track in self._tracks:
                track.show_scene(scene, clock)
        else:
            self._lay_out()
        self._show_cursor(self._store.cursor_s)
        self._describe(view)

    def _show_starts(self) -> None:
        """Catch up with the starts, where they are not shown already."""
        scene = self._scene
        if scene is not None and scene.view.starts is not self._store.starts(self._store.active):
            self.show_plan()

    def _view(self) -> View | None:
        store = self._store
        known: dict[ShootName, Outlook] = {}
        for name in SHOOT_NAMES:
            outlook = store.outlook(name)
            if outlook is not None:
                known[name] = outlook
        if store.plan is None or len(known) < len(SHOOT_NAMES):
            return None
        return View(store.plan, store.active, known, store.starts(store.active))

    def _describe(self, view: View | None) -> None:
        if view is None:
            self.setAccessibleDescription(say("No place is chosen yet."))
            return
        said = " ".join(track.accessibleDescription() for track in self._tracks)
        if said != self.accessibleDescription():
            self.setAccessibleDescription(said)

    def _shared_clock(self) -> Clock:
        gutter = _WIDE_GUTTER if self.width() >= px(_WIDE) else _GUTTER
        left = float(px(gutter))
        return Clock(self._axis, left, max(float(self.width() - px(_INSET)), left + 1.0))

    def _show_cursor(self, time_s: float | None) -> None:
        at = None if time_s is None else self._axis.of(time_s, self._store.active)
        for track in self._tracks:
            track.show_cursor(at)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the spare height to tone, then to charge."""
        super().resizeEvent(event)
        self._lay_out()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the text scale."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.update()

    def _strip_height(self, clock: Clock) -> int:
        """Height of the frames of one take, with the camera's own aspect."""
        plan = self._store.plan
        return strip_height(clock, plan.camera if plan is not None else Camera())

    def _lay_out(self) -> None:
        clock = self._shared_clock()
        tall = self.height() >= px(_TALL)
        rows = [px(slack.HEIGHT), px(fan.HEIGHT), *2 * [self._strip_height(clock)]]
        rows += [px(flight.HEIGHT), px(flight.HEIGHT)]
        rows.append(px(charge.TALL_HEIGHT if tall else charge.HEIGHT))
        spare = self.height() - sum(rows) - px(clocktrack.HEIGHT)
        if spare >= px(tone.LEAST_HEIGHT):
            self._lay_out_whole(spare, rows)
        else:
            self._lay_out_pinned(rows)
        self._ring.setGeometry(self.rect())
        self._ring.raise_()
        plot = QRectF(clock.left, 0.0, clock.width, self.tone.height())
        self._question.setGeometry(plot.toRect())
        for track in self._tracks:
            track.show_scene(self._scene, clock)

    def _lay_out_whole(self, tone_height: int, rows: list[int]) -> None:
        """All tracks one below the other; the clock stands between slack and frames."""
        width = self.width()
        self._adopt(self)
        self.tone.setGeometry(0, 0, width, tone_height)
        self.slack.setGeometry(0, tone_height, width, rows[0])
        top = tone_height + rows[0]
        self.clock.setGeometry(0, top, width, px(clocktrack.HEIGHT))
        top += px(clocktrack.HEIGHT)
        self._below.setGeometry(0, top, width, self.height() - top)
        self._bar.setRange(0, 0)
        self._bar.hide()
        self._stack(self._tracks[3:], rows[1:], 0)

    def _lay_out_pinned(self, rows: list[int]) -> None:
        """Too low for all: tone and clock stay, the other tracks scroll under them."""
        width, clock_height = self.width(), px(clocktrack.HEIGHT)
        self._adopt(self._below)
        # The tallest of the others must be seen whole under tone and clock.
        spare = self.height() - clock_height - max(rows)
        tone_height = min(max(spare, px(tone.PINNED_HEIGHT)), px(tone.LEAST_HEIGHT))
        tone_height = min(tone_height, max(self.height() - clock_height, 1))
        ends = np.cumsum(rows)
        whole = ends[ends <= self.height() - clock_height - tone_height]
        if whole.size and whole[-1] >= max(rows):
            # No row is cut at the lower edge: what is left of one goes to the tone.
            tone_height = self.height() - clock_height - int(whole[-1])
        self.tone.setGeometry(0, 0, width, tone_height)
        self.clock.setGeometry(0, tone_height, width, clock_height)
        top = tone_height + clock_height
        left = max(self.height() - top, 0)
        self._below.setGeometry(0, top, width, left)
        self._bar.setGeometry(width - px(_INSET), top, px(_INSET), left)
        self._bar.setRange(0, max(sum(rows) - left, 0))
        self._bar.setPageStep(left)
        self._bar.setSingleStep(px(flight.HEIGHT))
        self._bar.show()
        self._bar.raise_()
        stops = [0, *(int(end) - left for end in ends if end > left)]
        top = min(stops, key=lambda stop: abs(stop - self._bar.value()))
        self._stack((self.slack, *self._tracks[3:]), rows, -top)

    def _adopt(self, parent: QWidget) -> None:
        if self.slack.parentWidget() is not parent:
            self.slack.setParent(parent)
            self.slack.show()

    def _stack(self, tracks: tuple[QWidget, ...], rows: list[int], top: int) -> None:
        for track, height in zip(tracks, rows, strict=True):
            track.setGeometry(0, top, self.width(), height)
            top += height

    def scroll_to_end(self) -> None:
        """Show the lowest track, where they do not all fit."""
        self._bar.setValue(self._bar.maximum())

    def _scroll(self) -> None:
        if self._bar.isVisible():
            self._lay_out()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll the lower tracks where they do not all fit."""
        if self._bar.isVisible():
            self._bar.event(event)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint what no track covers."""
        QPainter(self).fillRect(self.rect(), theme_of(self).sheet)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step the cursor through the active take's frames."""
        outlook = self._store.outlook(self._store.active)
        frame = None if outlook is None else self._frame_for(event.key(), outlook)
        if outlook is None or (frame is None and event.key() != Qt.Key.Key_Escape):
            super().keyPressEvent(event)
            return
        times = outlook.tones.time_s
        self._store.set_cursor(None if frame is None else float(times[frame]))

    def _frame_for(self, key: int, outlook: Outlook) -> int | None:
        times, cursor_s = outlook.tones.time_s, self._store.cursor_s
        last = len(times) - 1
        here = 0 if cursor_s is None else int(np.abs(times - cursor_s).argmin())
        step = 0 if cursor_s is None else 1
        frames = {
            Qt.Key.Key_Left: here - step,
            Qt.Key.Key_Right: here + step,
            Qt.Key.Key_Home: 0,
            Qt.Key.Key_End: last,
        }
        frame = frames.get(Qt.Key(key))
        return None if frame is None else min(max(frame, 0), last)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the ring when the keyboard comes here."""
        super().focusInEvent(event)
        self._ring.setVisible(event.reason() in _BY_KEY)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Take the ring away."""
        super().focusOutEvent(event)
        self._ring.hide()


class _Ring(QWidget):
    """The focus ring, over the tracks."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hide()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Stroke the ring."""
        draw_focus_ring(QPainter(self), QRectF(self.rect()), theme_of(self))
