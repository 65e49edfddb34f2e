"""Large buttons of two lines, for cold fingers: the deed, and what it does."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

from app.style import draw_focus_ring, draw_outline
from app.theme import font, px, theme_of

_HEIGHT_PX, _LOW_PX = 72.0, 56.0
_DEED, _EFFECT = (20.0, 17.0, 14.0, 12.0), (15.0, 13.0, 11.0)


class BigButton(QPushButton):
    """A button with a key of its own.

    Parameters
    ----------
    key
        The figure that presses it.
    """

    def __init__(
        self,
        deed: str,
        effect: str,
        key: str,
        parent: QWidget | None = None,
        *,
        strong: bool = False,
    ) -> None:
        super().__init__(parent)
        self._deed, self._effect, self._strong = deed, effect, strong
        self._height_px = _HEIGHT_PX
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAutoDefault(False)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.show_deed(deed, effect)
        self.setShortcut(key)

    @property
    def deed(self) -> str:
        """The first line."""
        return self._deed

    def show_deed(self, deed: str, effect: str) -> None:
        """Show other lines; the key stays."""
        if (deed, effect) == (self._deed, self._effect) and self.accessibleName():
            return
        self._deed, self._effect = deed, effect
        self.setAccessibleName(deed)
        self.setAccessibleDescription(effect)
        self.update()

    def show_low(self, *, low: bool) -> None:
        """Be lower where the room is short."""
        self._height_px = _LOW_PX if low else _HEIGHT_PX
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        """72 high at 100 % text, 56 where the room is short."""
        return QSize(px(160), px(self._height_px))

    def minimumSizeHint(self) -> QSize:
        """Narrower, for the type gets smaller first."""
        return QSize(px(64), px(self._height_px))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint ground, outline and both lines."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            rect = QRectF(self.rect())
            painter.fillRect(rect, theme.rule if self.isDown() else theme.field)
            strong = self._strong and self.isEnabled()
            width = px(3) if strong else max(1.0, px(1))
            colour = theme.ink if strong or self.underMouse() else theme.edge
            draw_outline(painter, rect, QPen(colour if self.isEnabled() else theme.rule, width))
            edge = px(9) if self._height_px == _HEIGHT_PX else px(7)
            room = rect.adjusted(px(10), edge, -px(10), -edge)
            ink = theme.ink if self.isEnabled() else theme.ink3
            half = room.height() * 0.56
            top = QRectF(room.x(), room.y(), room.width(), half)
            below = QRectF(room.x(), room.y() + half, room.width(), room.height() - half)
            painter.setPen(ink)
            _line(painter, top, self._deed, _DEED, 700)
            painter.setPen(theme.ink2 if self.isEnabled() else theme.ink3)
            _line(painter, below, self._effect, _EFFECT, 400)
            if self.hasFocus():
                gap = px(5)
                draw_focus_ring(painter, rect.adjusted(gap, gap, -gap, -gap), theme)


def _line(
    painter: QPainter, room: QRectF, text: str, sizes: tuple[float, ...], weight: int
) -> None:
    """Write a line at the largest size that has room, up to its comma where none has."""
    face = _face(text, sizes, weight, room.width())
    if QFontMetricsF(face).horizontalAdvance(text) > room.width():
        text = text.partition(",")[0]
        face = _face(text, sizes, weight, room.width())
    painter.setFont(face)
    shown = QFontMetricsF(face).elidedText(text, Qt.TextElideMode.ElideRight, room.width())
    flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
    painter.drawText(room, flags, shown)


def _face(text: str, sizes: tuple[float, ...], weight: int, width: float) -> QFont:
    faces = [font(size, weight) for size in sizes]
    fits = (face for face in faces if QFontMetricsF(face).horizontalAdvance(text) <= width)
    return next(fits, faces[-1])
