"""A list to choose from, in a page that scrolls."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox, QWidget


class ChoiceBox(QComboBox):
    """A box whose choice the wheel moves with the keyboard's focus only; else the page scrolls."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        # As Qt has it the wheel itself would bring the focus.
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave it to the page unless the box is in hand."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()
