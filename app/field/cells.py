"""The settings on site: labelled values in three columns, large enough for arm's length."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import px, theme_of
from app.widgets.stamp import fitted, write

_COLUMNS, _ROW_PX = 3, 52.0


class Cells(QWidget):
    """Small labels above their values."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._entries: tuple[tuple[str, str], ...] = ()
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def entries(self) -> tuple[tuple[str, str], ...]:
        """Label and value, row by row."""
        return self._entries

    def show_entries(self, entries: Sequence[tuple[str, str]]) -> None:
        """Show labels and values."""
        fresh = tuple(entries)
        if fresh != self._entries:
            self._entries = fresh
            said = "; ".join(f"{label} {value}" for label, value in fresh)
            self.setAccessibleDescription(said)
            self.updateGeometry()
            self.update()

    def sizeHint(self) -> QSize:
        """As many rows as the entries need."""
        return QSize(px(280), px(_ROW_PX) * -(-len(self._entries) // _COLUMNS))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint row by row."""
        painter, theme = QPainter(self), theme_of(self)
        wide, high = self.width() / _COLUMNS, px(_ROW_PX)
        for place, (label, value) in enumerate(self._entries):
            row, column = divmod(place, _COLUMNS)
            room = QRectF(column * wide, row * high, wide - px(6), px(20))
            write(painter, room, label, (15, 400), theme.ink2)
            room.translate(0.0, px(20))
            room.setHeight(px(26))
            write(painter, room, fitted(value, (21, 700), room.width()), (21, 700), theme.ink)
