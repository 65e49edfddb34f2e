"""The windows beside a main one, each made when it is first asked for."""

from __future__ import annotations

from typing import TypeVar

from PySide6.QtWidgets import QWidget

from app.store import Store
from app.windows.best import BestWindow
from app.windows.compare import CompareWindow, Moves
from app.windows.details import DetailsWindow
from app.windows.field import FieldWindow
from app.windows.last_night import LastNightWindow
from app.windows.late import LateWindow
from app.windows.moving import MovingWindow
from app.windows.nights import NightsWindow
from app.windows.readings import ReadingsWindow

BesideWindow = (
    BestWindow
    | CompareWindow
    | DetailsWindow
    | FieldWindow
    | LastNightWindow
    | LateWindow
    | MovingWindow
    | NightsWindow
    | ReadingsWindow
)
_Kind = TypeVar(
    "_Kind",
    BestWindow, CompareWindow, DetailsWindow, FieldWindow, LastNightWindow,
    LateWindow, MovingWindow, NightsWindow, ReadingsWindow,
)  # fmt: skip


class Beside:
    """Shows them over the main window, and closes them with it.

    Parameters
    ----------
    moves
        What puts shoots in each other's place, see `CompareWindow`.
    """

    def __init__(self, store: Store, parent: QWidget, moves: Moves) -> None:
        self._store, self._parent, self._moves = store, parent, moves
        self._made: dict[type[BesideWindow], BesideWindow] = {}

    def show(self, kind: type[_Kind]) -> _Kind:
        """Bring the window of a kind to the front."""
        window = self.get(kind) or kind(self._store, self._parent)
        if isinstance(window, CompareWindow):
            window.moves = self._moves
        elif isinstance(window, FieldWindow):
            window.open_readings = self.read_at
        self._made[kind] = window
        window.show()
        window.raise_()
        window.activateWindow()
        return window

    def read_at(self, time_s: float) -> ReadingsWindow:
        """Bring the window for readings to the front, at an instant in UTC seconds."""
        window = self.show(ReadingsWindow)
        window.read_at(time_s)
        return window

    def get(self, kind: type[_Kind]) -> _Kind | None:
        """The window of a kind, None before it was first shown."""
        made = self._made.get(kind)
        return made if isinstance(made, kind) else None

    def close(self) -> None:
        """Close them all."""
        for window in self._made.values():
            window.close()
