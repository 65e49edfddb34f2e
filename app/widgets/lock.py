"""A small lock: what it closes is left alone by searches."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.theme import px, text_scale, theme_of
from core.language import say


class Lock(QAbstractButton):
    """Open or closed; pressed by pointer, by screen reader, or through its row's key L."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setCheckable(True)
        self.setAccessibleName(say("{name}, lock", name=name))
        self.setToolTip(say("Locked, it is left alone by Best settings (L)."))
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        # The row's slider is where the keyboard is.
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def sizeHint(self) -> QSize:
        """As high as a line."""
        return QSize(px(16), px(20))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the body filled where it is closed, the shackle raised where it is open."""
        theme, scale = theme_of(self), text_scale()
        closed = self.isChecked()
        ink = theme.ink2 if closed or self.underMouse() else theme.edge
        body = QRectF(0.0, 0.0, 10.0 * scale, 7.0 * scale)
        body.moveCenter(QRectF(self.rect()).center())
        body.translate(0.0, 3.0 * scale)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(ink, 1.4 * scale))
            painter.setBrush(ink if closed else Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(body, scale, scale)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPath(_shackle(body, scale, closed=closed))


def _shackle(body: QRectF, scale: float, *, closed: bool) -> QPainterPath:
    left, right = body.left() + 2.0 * scale, body.right() - 2.0 * scale
    top = body.top() - (5.5 if closed else 6.5) * scale
    arch = QRectF(left, top, right - left, right - left)
    path = QPainterPath()
    path.moveTo(left, body.top())
    path.lineTo(left, arch.center().y())
    path.arcTo(arch, 180.0, -180.0)
    if closed:
        path.lineTo(right, body.top())
    return path
