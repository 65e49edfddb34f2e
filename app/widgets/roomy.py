"""How large a window opens, and whether it has room for what is not needed all the time."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QWidget

from app.theme import px

#: From this size of the window on the path has a place of its own, and A against B a table.
ROOMY_PX: Final = (1500, 960)


def open_at(window: QWidget, width_px: int, height_px: int) -> None:
    """Give a window its size at 100 % text; large text makes it no larger than the screen."""
    plain, room = QSize(width_px, height_px), window.screen().availableSize()
    window.resize(QSize(px(width_px), px(height_px)).boundedTo(room.expandedTo(plain)))


def is_roomy(widget: QWidget) -> bool:
    """Whether the window around a widget is wide and high enough."""
    window = widget.window().size()
    return window.width() >= px(ROOMY_PX[0]) and window.height() >= px(ROOMY_PX[1])
