"""How far long work is."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.style import draw_outline
from app.theme import px, theme_of


class Bar(QWidget):
    """A thin bar that fills from the left."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self._share = 0.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(name)

    def show_share(self, share: float) -> None:
        """Show a share from 0 to 1."""
        self._share = share
        self.update()

    def sizeHint(self) -> QSize:
        """A thin bar."""
        return QSize(px(200), px(10))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the outline and what is done."""
        theme, rect = theme_of(self), QRectF(self.rect())
        with QPainter(self) as painter:
            done = QRectF(rect.left(), rect.top(), rect.width() * self._share, rect.height())
            painter.fillRect(rect, theme.field)
            painter.fillRect(done, theme.ink2)
            draw_outline(painter, rect, QPen(theme.edge, max(1.0, px(1))))
