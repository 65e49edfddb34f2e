"""Quick presses of keys as one movement of the hand."""

from __future__ import annotations

from PySide6.QtCore import QElapsedTimer
from PySide6.QtGui import QKeyEvent

#: Presses no further apart belong together (common practice, no source).
TOGETHER_MS = 1000


class Presses:
    """Tells the first press of a row of quick ones; a held key is one press."""

    def __init__(self) -> None:
        self._since = QElapsedTimer()

    def begins(self, event: QKeyEvent) -> bool:
        """Whether a new movement begins with this press."""
        fresh = not self._since.isValid() or self._since.elapsed() > TOGETHER_MS
        self._since.restart()
        return fresh and not event.isAutoRepeat()
