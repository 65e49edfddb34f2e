"""Answers that take a while, worked out beside the window; only the latest question counts."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial

from PySide6.QtCore import QObject, Qt, Signal, Slot


class Background(QObject):
    """Works out one answer at a time in a thread of its own.

    Signals
    -------
    answered
        The key of the latest question, and its answer. A question that was followed by
        another is never answered.
    failed
        The latest question found no answer, by a fault of the work.
    """

    answered = Signal(object, object)
    failed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._key: Hashable = None
        self._bell = _Bell()
        self._bell.rung.connect(self._deliver, Qt.ConnectionType.QueuedConnection)
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="background")
        self._waiting: Future[object] | None = None
        # No work may outlive the window that asked for it.
        self.destroyed.connect(partial(_close, self._thread))

    @property
    def asked(self) -> Hashable:
        """The key of the question that is not answered yet, None if there is none."""
        return self._key

    def ask(self, key: Hashable, work: Callable[[], object]) -> None:
        """Ask a question; one that waits still is forgotten. `work` must touch no widget."""
        self._key = key
        if self._waiting is not None:
            self._waiting.cancel()
        self._waiting = self._thread.submit(work)
        self._waiting.add_done_callback(partial(self._bell.tell, key))

    def forget(self) -> None:
        """Take the latest question back."""
        self._key = None

    @Slot(object, object)
    def _deliver(self, key: Hashable, done: Future[object]) -> None:
        if done.cancelled() or key != self._key:
            return
        self._key = None
        if done.exception() is not None:
            self.failed.emit()
        # What went wrong in the thread is told in the window's own.
        self.answered.emit(key, done.result())


class Progress(QObject):
    """Carries how far work is from its thread: its question, what is done, of how much."""

    told = Signal(object, int, int)


class _Bell(QObject):
    """Carries word from the thread; it belongs to both, so neither can lose it."""

    rung = Signal(object, object)

    def tell(self, key: Hashable, done: Future[object]) -> None:
        self.rung.emit(key, done)


def _close(thread: ThreadPoolExecutor) -> None:
    thread.shutdown(wait=True, cancel_futures=True)
