"""Figures for arm's length: one as large as there is room, with a smaller end where it has one."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtCore import QPointF, QSize
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import font, px, theme_of

#: Of the size of the figure: its end, and the room it takes at least.
_END, _LEAST = 0.46, 0.4
#: Height of figures over the size of their type.
_CAP: Final = 0.74


class BigFigure(QWidget):
    """A clock or a countdown.

    Parameters
    ----------
    size_px
        Of the type at 100 % text; less where the room is narrow.
    """

    def __init__(self, name: str, size_px: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._name, self._size_px = name, size_px
        self._text, self._end, self._ink = "", "", "ink"
        self.setAccessibleName(name)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    @property
    def text(self) -> str:
        """What stands there, its smaller end included."""
        return self._text + self._end

    def limit(self, size_px: float) -> None:
        """Let the type be no larger than this at 100 % text."""
        if size_px != self._size_px:
            self._size_px = size_px
            self.updateGeometry()
            self.update()

    def show_text(self, text: str, end: str = "", ink: str = "ink") -> None:
        """Show a figure, and a smaller end such as the seconds of a clock."""
        if (text, end, ink) != (self._text, self._end, self._ink):
            self._text, self._end, self._ink = text, end, ink
            self.setAccessibleDescription(self.text)
            self.updateGeometry()
            self.update()

    def sizeHint(self) -> QSize:
        """Room for the figures; the width is the layout's."""
        return QSize(px(self._size_px), self._high(self._size_px))

    def minimumSizeHint(self) -> QSize:
        """As small as it may become."""
        return QSize(px(_LEAST * self._size_px), self._high(_LEAST * self._size_px))

    def hasHeightForWidth(self) -> bool:
        """Smaller figures need less height."""
        return True

    def heightForWidth(self, width: int) -> int:
        """As high as the figures at the size that a width leaves."""
        return self._high(self.shown_px(width))

    def _high(self, size: float) -> int:
        return math.ceil(_CAP * px(size)) + px(6)

    def shown_px(self, width: int | None = None) -> float:
        """The size of the type that a width leaves, its own if left out, as at 100 % text."""
        room = self.width() if width is None else width
        size = self._size_px
        needed = self._advance(size)
        return size if needed <= room else max(10.0, size * room / needed)

    def _advance(self, size: float) -> float:
        text = QFontMetricsF(font(size, 700)).horizontalAdvance(self._text)
        return text + QFontMetricsF(font(_END * size, 700)).horizontalAdvance(self._end)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Write figure and end on one baseline."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            size = math.floor(self.shown_px())
            painter.setPen(theme.token(self._ink))
            baseline = QPointF(0.0, self.height() - px(3))
            for text, face in ((self._text, font(size, 700)), (self._end, font(_END * size, 700))):
                painter.setFont(face)
                painter.drawText(baseline, text)
                baseline += QPointF(QFontMetricsF(face).horizontalAdvance(text), 0.0)
