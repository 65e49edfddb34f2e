"""The developer: frames drawn in linear light beside the window, exposed when they are shown.

Drawing takes a thread of its own. The latest wishes replace those before them, and what is
drawn is kept by what it depends on: a picture is found only by the plan that it belongs to,
and a change of exposure draws nothing.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from threading import Lock
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QImage

from app.sheet.darkroom import DARKROOM
from app.sheet.takeframes import Batch, Draw, Wishes, between, steps_around
from core.plan import ShootName
from core.preview import LinearFrames, develop, dim_ramp

#: Batches of some five frames: both takes and several steps of a moving start.
_KEPT: Final = 48
_PRINTS: Final = 12
#: After so long without new wishes the steps of a start that is not moved yet are drawn.
_IDLE_MS: Final = 250

Images = tuple[QImage, ...]


class Developer(QObject):
    """Gives the pictures of takes, and draws what is wished for.

    Signals
    -------
    drawn
        Some more frames can be had.

    Parameters
    ----------
    draw
        What draws frames; called in another thread.
    """

    drawn = Signal()

    def __init__(self, parent: QObject | None = None, draw: Draw = DARKROOM.draw) -> None:
        super().__init__(parent)
        self._desk = _Desk()
        self._wishes: dict[ShootName, Wishes] = {"A": Wishes(), "B": Wishes()}
        self._first: ShootName = "A"
        self._idle = QTimer(self)
        self._idle.setSingleShot(True)
        self._idle.setInterval(_IDLE_MS)
        self._idle.timeout.connect(self._send)
        self._prints: OrderedDict[Hashable, Images] = OrderedDict()
        self._bell = _Bell()
        self._bell.rung.connect(self._deliver, Qt.ConnectionType.QueuedConnection)
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="developer")
        self._work = partial(_work, self._desk, draw, self._bell)
        # No drawing may outlive the window that asked for it.
        self.destroyed.connect(partial(_close, self._desk, self._thread))

    def wish(self, name: ShootName, wishes: Wishes, first: ShootName) -> None:
        """Replace what is to be drawn for a shoot; the shoot `first` is drawn first."""
        if _keys(wishes) != _keys(self._wishes[name]):
            self._idle.start()
        self._wishes[name] = wishes
        self._first = first
        self._send()

    def _send(self) -> None:
        one, other = self._wishes[self._first], self._wishes["B" if self._first == "A" else "A"]
        now = (*one.now, *other.now)
        # The window itself is busy just after an edit: what may come later would hold it up.
        later = () if self._idle.isActive() else (*one.later, *other.later)
        if self._desk.lay_out((*now, *later)):
            self._thread.submit(self._work).add_done_callback(self._bell.tell)

    def images_of(
        self, batch: Batch, mid: float, highlight_stops: float, *, dim: bool
    ) -> Images | None:
        """The pictures of a batch as they are exposed, or None until they can be had.

        Parameters
        ----------
        mid, highlight_stops
            As for `core.preview.develop`.
        dim
            Whether they are for eyes that are adapted to the dark.
        """
        exact = self._desk.find(batch)
        frames = exact or self._between(batch)
        if frames is None:
            return None
        # A picture between two starts gives way to the start's own when that is drawn.
        key = (batch.key, exact is not None, frames.rgb.shape, mid, highlight_stops, dim)
        if key not in self._prints:
            pictures = develop(frames, mid, highlight_stops)
            self._prints[key] = images(dim_ramp(pictures) if dim else pictures)
            if len(self._prints) > _PRINTS:
                self._prints.popitem(last=False)
        self._prints.move_to_end(key)
        return self._prints[key]

    def _between(self, batch: Batch) -> LinearFrames | None:
        before, after = (self._desk.find(one) for one in steps_around(batch))
        if before is None or after is None or before.rgb.shape != after.rgb.shape:
            return None
        return between(before, after, batch.press_s)

    @Slot(object)
    def _deliver(self, done: Future[None] | None) -> None:
        if done is not None:
            done.result()  # what went wrong in the thread is told in the window's own
        self.drawn.emit()


class _Bell(QObject):
    """Carries word from the drawing thread; it belongs to both, so neither can lose it."""

    rung = Signal(object)

    def tell(self, done: Future[None]) -> None:
        """Hand over a thread's end if something went wrong."""
        if not done.cancelled() and done.exception() is not None:
            self.rung.emit(done)


class _Desk:
    """What both threads share: the wishes, and the frames that are drawn."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._waiting: list[Batch] = []
        self._drawn: OrderedDict[Hashable, LinearFrames] = OrderedDict()
        self._worked_on: Hashable = None
        self._at_work = False

    def lay_out(self, batches: Sequence[Batch]) -> bool:
        """Replace the wishes; whether somebody has to be sent to work."""
        with self._lock:
            self._waiting = [
                one for one in batches if one.key != self._worked_on and not self._has(one)
            ]
            send = bool(self._waiting) and not self._at_work
            self._at_work = self._at_work or send
            return send

    def next(self) -> Batch | None:
        """Take the first wish that nobody has fulfilled; None ends the work."""
        with self._lock:
            self._worked_on = None
            while self._waiting:
                batch = self._waiting.pop(0)
                if not self._has(batch):
                    self._worked_on = batch.key
                    return batch
            self._at_work = False
            return None

    def put(self, batch: Batch, frames: LinearFrames) -> None:
        """Keep what was drawn, and forget what was not looked at for longest."""
        with self._lock:
            self._drawn[batch.key] = frames
            self._drawn.move_to_end(batch.key)
            while len(self._drawn) > _KEPT:
                self._drawn.popitem(last=False)

    def find(self, batch: Batch) -> LinearFrames | None:
        """The frames of a batch, in whatever size they were drawn."""
        with self._lock:
            if batch.key in self._drawn:
                self._drawn.move_to_end(batch.key)
            return self._drawn.get(batch.key)

    def _has(self, batch: Batch) -> bool:
        frames = self._drawn.get(batch.key)
        return frames is not None and frames.rgb.shape[1:3] == (batch.rows, batch.cols)

    def leave(self) -> None:
        """Let the next one be sent, after an end before its time."""
        with self._lock:
            self._at_work, self._worked_on = False, None


def _work(desk: _Desk, draw: Draw, bell: _Bell) -> None:
    """Draw what lies on the desk, one batch after the other."""
    try:
        while (batch := desk.next()) is not None:
            desk.put(batch, draw(batch))
            bell.rung.emit(None)
    except BaseException:
        desk.leave()
        raise


def _close(desk: _Desk, thread: ThreadPoolExecutor) -> None:
    desk.lay_out(())
    thread.shutdown(wait=True, cancel_futures=True)


def _keys(wishes: Wishes) -> tuple[Hashable, ...]:
    return tuple(batch.key for batch in (*wishes.now, *wishes.later))


def images(pictures: NDArray[np.uint8]) -> Images:
    """Pictures (n, rows, cols, 3) as images of the window's own."""
    _, rows, cols, _ = pictures.shape
    kind, size = QImage.Format.Format_RGB888, QImage.Format.Format_RGB32
    plain = np.ascontiguousarray(pictures)
    return tuple(
        QImage(one.data, cols, rows, 3 * cols, kind).convertToFormat(size) for one in plain
    )
