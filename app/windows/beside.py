"""The windows beside a main one, each imported and made when it is first asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QApplication, QWidget

from app.store import Store
from app.windows.help import HelpWindow, give_topic, topic_in_hand

if TYPE_CHECKING:
    from app.windows.best import BestWindow
    from app.windows.compare import CompareWindow, Moves
    from app.windows.details import DetailsWindow
    from app.windows.field import FieldWindow
    from app.windows.last_night import LastNightWindow
    from app.windows.late import LateWindow
    from app.windows.moving import MovingWindow
    from app.windows.nights import NightsWindow
    from app.windows.readings import ReadingsWindow

    _Kind = TypeVar(
        "_Kind",
        BestWindow, CompareWindow, DetailsWindow, FieldWindow, LastNightWindow,
        LateWindow, MovingWindow, NightsWindow, ReadingsWindow,
    )  # fmt: skip


class Beside:
    """Brings them to the front over the main window, and closes them with it.

    Parameters
    ----------
    moves
        What puts shoots in each other's place, see `CompareWindow`.
    """

    def __init__(self, store: Store, parent: QWidget, moves: Moves) -> None:
        self._store, self._parent, self._moves = store, parent, moves
        self._made: dict[type[QWidget], QWidget] = {}
        self._help: HelpWindow | None = None

    def best(self) -> BestWindow:
        """Best settings."""
        from app.windows.best import BestWindow

        return self._raised(BestWindow, "best")

    def compare(self) -> CompareWindow:
        """A against B."""
        from app.windows.compare import CompareWindow

        window = self._raised(CompareWindow, "compare")
        window.moves = self._moves
        return window

    def details(self) -> DetailsWindow:
        """Place, path, camera and craft."""
        from app.windows.details import DetailsWindow

        return self._raised(DetailsWindow, "details")

    def field(self) -> FieldWindow:
        """Before take-off and on site."""
        from app.windows.field import FieldWindow

        window = self._raised(FieldWindow, "field")
        window.open_readings = self.read_at
        return window

    def last_night(self) -> LastNightWindow:
        """What the last take showed."""
        from app.windows.last_night import LastNightWindow

        return self._raised(LastNightWindow, "lastnight")

    def late(self) -> LateWindow:
        """Late, early, one more battery."""
        from app.windows.late import LateWindow

        return self._raised(LateWindow, "late")

    def moving(self) -> MovingWindow:
        """Motion and weather."""
        from app.windows.moving import MovingWindow

        return self._raised(MovingWindow, "motion")

    def nights(self) -> NightsWindow:
        """Many nights."""
        from app.windows.nights import NightsWindow

        return self._raised(NightsWindow, "nights")

    def readings(self) -> ReadingsWindow:
        """Readings on site."""
        from app.windows.readings import ReadingsWindow

        return self._raised(ReadingsWindow, "readings")

    def read_at(self, time_s: float) -> ReadingsWindow:
        """Readings on site, at an instant in UTC seconds."""
        window = self.readings()
        window.read_at(time_s)
        return window

    def help(self, topic: str | None = None) -> HelpWindow:
        """The help, at a page or at what is in hand."""
        topic = topic or topic_in_hand(QApplication.activeWindow() or self._parent)
        if self._help is None:
            self._help = HelpWindow(self._parent)
        self._help.show_topic(topic)
        self._bring(self._help)
        return self._help

    def get(self, kind: type[_Kind]) -> _Kind | None:
        """The window of a kind, None before it was first shown."""
        made = self._made.get(kind)
        return made if isinstance(made, kind) else None

    def close(self) -> None:
        """Close them all."""
        for window in (*self._made.values(), self._help):
            if window is not None:
                window.close()

    def _raised(self, kind: type[_Kind], topic: str) -> _Kind:
        window = self.get(kind)
        if window is None:
            window = self._made[kind] = kind(self._store, self._parent)
            give_topic(window, topic)
            QShortcut(QKeySequence.StandardKey.HelpContents, window, self.help)
        self._bring(window)
        return window

    def _bring(self, window: QWidget) -> None:
        window.show()
        window.raise_()
        window.activateWindow()
