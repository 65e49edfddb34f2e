"""Buttons that name their result: strong for the one that leads on, plain for the rest."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

from app.style import draw_focus_ring, draw_outline
from app.theme import font, px, theme_of


class Button(QPushButton):
    """A button; a strong one is filled with ink, in dim it has a heavy outline instead.

    Parameters
    ----------
    height_px, size_px
        Of the button and of its type at 100 % text.
    """

    def __init__(
        self,
        text: str,
        parent: QWidget | None = None,
        *,
        strong: bool = False,
        height_px: float = 30,
        size_px: float = 13,
        wide: bool = False,
    ) -> None:
        super().__init__(text, parent)
        self._strong = strong
        self._height_px, self._size_px = height_px, size_px
        across = QSizePolicy.Policy.Expanding if wide else QSizePolicy.Policy.Fixed
        self.setSizePolicy(across, QSizePolicy.Policy.Fixed)
        self.setAutoDefault(False)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)

    def show_text(self, text: str) -> None:
        """Show another text if it is another."""
        if text != self.text():
            self.setText(text)
            self.updateGeometry()

    def show_strong(self, *, strong: bool) -> None:
        """Lead on by this button, or by another from now on."""
        self._strong = strong
        self.update()

    def sizeHint(self) -> QSize:
        """Room for the text and a margin."""
        return QSize(self.width_for(self.text()), px(self._height_px))

    def width_for(self, text: str) -> int:
        """The width that a text needs at the size of its type."""
        return QFontMetrics(font(self._size_px, 600)).horizontalAdvance(text) + px(18)

    def minimumSizeHint(self) -> QSize:
        """No less than the text needs."""
        return self.sizeHint()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint ground, outline, text and focus ring."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            rect = QRectF(self.rect())
            filled = self._strong and self.isEnabled() and theme.large_fills
            painter.fillRect(rect, theme.ink if filled else theme.field)
            if self.isDown():
                painter.fillRect(rect, theme.edge if filled else theme.rule)
            if not filled:
                width = px(2) if self._strong else max(1.0, px(1))
                colour = theme.ink if self._strong or self.underMouse() else theme.edge
                draw_outline(painter, rect, QPen(colour if self.isEnabled() else theme.rule, width))
            painter.setFont(font(self._size_px, 600))
            painter.setPen(
                theme.window if filled else theme.ink if self.isEnabled() else theme.ink3
            )
            painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, self.text())
            if self.hasFocus():
                gap = px(3) if filled else 0
                ring_theme = theme
                if filled:
                    draw_outline(
                        painter, rect.adjusted(gap, gap, -gap, -gap), QPen(theme.window, px(2))
                    )
                else:
                    draw_focus_ring(painter, rect, ring_theme)
