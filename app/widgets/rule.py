"""What parts one thing from the next: a line, or some room that grows with the text."""

from __future__ import annotations

from PySide6.QtCore import QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import px, theme_of


class Rule(QWidget):
    """A horizontal line, 1 px high."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """One pixel, two where the text is twice as large."""
        return QSize(px(10), max(1, px(1)))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Fill the line."""
        QPainter(self).fillRect(self.rect(), theme_of(self).rule)


class Gap(QWidget):
    """Room of a height in pixels at 100 % text."""

    def __init__(self, height_px: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._height_px = height_px
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """The height at the text scale."""
        return QSize(0, px(self._height_px))
