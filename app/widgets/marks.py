"""Marks of severity and glyphs of the parts: shapes first, colour only for what is wrong."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import Theme, px, theme_of
from app.widgets.stamp import stamp
from core.findings import Severity
from core.language import say
from core.plan import Part

SEVERITY_WORDS: Final[dict[Severity, str]] = {
    "stop": say("Problem"),
    "warn": say("Caution"),
    "note": say("Note"),
}


def draw_mark(painter: QPainter, rect: QRectF, severity: Severity, theme: Theme) -> None:
    """Paint a severity in a square: a filled cross, a hollow triangle or a short bar."""

    def draw(mark: QPainter, square: QRectF) -> None:
        draw_mark_anew(mark, square, severity, theme)

    stamp(painter, rect, ("mark", severity, theme.name), draw)


def draw_mark_anew(painter: QPainter, rect: QRectF, severity: Severity, theme: Theme) -> None:
    """Paint a severity in lines and fills, as paper wants it: nothing is kept as a picture."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    {"stop": _problem, "warn": _caution, "note": _note}[severity](painter, rect, theme)


def _problem(painter: QPainter, rect: QRectF, theme: Theme) -> None:
    painter.fillRect(rect, theme.alarm)
    painter.setPen(_round_pen(theme.on_alarm, rect.width() / 8.0))
    inset = rect.width() * 0.28
    inner = rect.adjusted(inset, inset, -inset, -inset)
    painter.drawLine(inner.topLeft(), inner.bottomRight())
    painter.drawLine(inner.topRight(), inner.bottomLeft())


def _caution(painter: QPainter, rect: QRectF, theme: Theme) -> None:
    width = rect.width() / 9.5
    half = width / 2.0
    painter.setPen(_round_pen(theme.ink, width))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    base = rect.bottom() - rect.height() * 0.1
    painter.drawPolygon(
        QPolygonF(
            [
                QPointF(rect.center().x(), rect.top() + rect.height() * 0.06 + half),
                QPointF(rect.right() - half, base),
                QPointF(rect.left() + half, base),
            ]
        )
    )
    x = rect.center().x()
    painter.drawLine(
        QPointF(x, rect.top() + rect.height() * 0.38), QPointF(x, rect.top() + rect.height() * 0.6)
    )
    dot = rect.top() + rect.height() * 0.76
    painter.drawLine(QPointF(x, dot), QPointF(x, dot + 0.01))


def _note(painter: QPainter, rect: QRectF, theme: Theme) -> None:
    bar = QRectF(0.0, 0.0, rect.width() * 0.62, max(2.0, rect.height() * 0.13))
    bar.moveCenter(rect.center())
    painter.fillRect(bar, theme.ink3)


def _round_pen(colour: QColor, width: float) -> QPen:
    return QPen(
        colour, width, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap, Qt.PenJoinStyle.RoundJoin
    )


def draw_part(painter: QPainter, centre: QPointF, size: float, part: Part, colour: QColor) -> None:
    """Paint a part's glyph: street a disc, land a triangle, sky a half disc on its flat side."""

    def draw(glyph: QPainter, square: QRectF) -> None:
        glyph.setRenderHint(QPainter.RenderHint.Antialiasing)
        glyph.setPen(Qt.PenStyle.NoPen)
        glyph.setBrush(colour)
        glyph.drawPath(part_path(square.center(), size, part))

    rect = QRectF(centre.x() - size / 2.0, centre.y() - size / 2.0, size, size)
    stamp(painter, rect, ("part", part, colour.rgba()), draw)


def part_path(centre: QPointF, size: float, part: Part) -> QPainterPath:
    """The outline of a part's glyph, `size` across."""
    path, half = QPainterPath(), size / 2.0
    if part == "street":
        path.addEllipse(centre, half, half)
    elif part == "land":
        path.moveTo(centre.x(), centre.y() - half)
        path.lineTo(centre.x() + half, centre.y() + 0.8 * half)
        path.lineTo(centre.x() - half, centre.y() + 0.8 * half)
        path.closeSubpath()
    else:
        base = centre.y() + 0.5 * half
        path.moveTo(centre.x() + half, base)
        path.arcTo(QRectF(centre.x() - half, base - half, size, size), 0.0, 180.0)
        path.closeSubpath()
    return path


class Mark(QWidget):
    """A mark of severity that stands in a layout."""

    def __init__(
        self, severity: Severity, parent: QWidget | None = None, *, size_px: float = 16.0
    ) -> None:
        super().__init__(parent)
        self._severity = severity
        self._size_px = size_px
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(SEVERITY_WORDS[severity])

    @property
    def severity(self) -> Severity:
        """What the mark says."""
        return self._severity

    def show_severity(self, severity: Severity) -> None:
        """Turn the mark to another severity."""
        if severity != self._severity:
            self._severity = severity
            self.setAccessibleName(SEVERITY_WORDS[severity])
            self.update()

    def sizeHint(self) -> QSize:
        """A square."""
        return QSize(px(self._size_px), px(self._size_px))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the mark."""
        with QPainter(self) as painter:
            draw_mark(painter, QRectF(self.rect()), self._severity, theme_of(self))
