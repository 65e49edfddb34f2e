"""Ink on paper: words, lines and rules in pixels of 1/120 inch, from the top of a page down."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from core.words import unbroken

#: All measures of the card count in these.
DOTS_PER_INCH: Final = 120
INK, INK2, GREY, PALE = (QColor(name) for name in ("#111111", "#434343", "#8a8a8a", "#e9eaeb"))

_FAMILY = "Inter"
_LEFT, _RIGHT = Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight
#: Air between two lines of a paragraph, of the size of the type.
_LEADING = 1.28


@lru_cache(maxsize=64)
def face(size: int, weight: int) -> QFont:
    """The program's type at a size in the pixels of the page.

    Every glyph is the plain one of its character: from another, as for figures of one width,
    no reader of a PDF gets the character back.
    """
    made = QFont(_FAMILY)
    made.setPixelSize(size)
    made.setWeight(QFont.Weight(weight))
    made.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    for feature in ("calt", "ccmp", "liga", "locl"):
        made.setFeature(QFont.Tag(feature), 0)
    return made


def width_of(text: str, size: int, weight: int = 400) -> float:
    """How wide a word stands."""
    return QFontMetricsF(face(size, weight)).horizontalAdvance(text)


class Paper:
    """A page being written: `y` is where the next line begins.

    Parameters
    ----------
    painter
        In the pixels of the page.
    width
        Of what may be written on.
    """

    def __init__(self, painter: QPainter, width: float) -> None:
        self.painter, self.width = painter, width
        self.y = 0.0

    def skip(self, height: float) -> None:
        """Leave room."""
        self.y += height

    def word(
        self,
        x: float,
        text: str,
        size: int,
        weight: int = 400,
        *,
        ink: QColor = INK,
        right: bool = False,
        y: float | None = None,
    ) -> float:
        """Write a line of text with its top at `y`; return how wide it is.

        It begins at `x`, or ends there.
        """
        font = face(size, weight)
        metrics = QFontMetricsF(font)
        advance = metrics.horizontalAdvance(text)
        self.painter.setFont(font)
        self.painter.setPen(ink)
        top = self.y if y is None else y
        left = x - advance if right else x
        self.painter.drawText(QPointF(left, top + metrics.ascent()), text)
        return advance

    def paragraph(
        self, x: float, width: float, text: str, size: int, weight: int = 400, ink: QColor = INK
    ) -> float:
        """Write text in lines from `y` down and return their height."""
        lines = lines_of(text, size, weight, width)
        for number, line in enumerate(lines):
            self.word(x, line, size, weight, ink=ink, y=self.y + number * _LEADING * size)
        return len(lines) * _LEADING * size

    def rule(self, x: float, end: float, width: float = 1.0, ink: QColor = INK) -> None:
        """Draw a line across at `y`."""
        self.painter.setPen(QPen(ink, width))
        self.painter.drawLine(QPointF(x, self.y), QPointF(end, self.y))

    def box(self, rect: QRectF, width: float = 1.4, ink: QColor = INK) -> None:
        """Draw an empty box, to be ticked."""
        self.painter.setPen(QPen(ink, width))
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
        self.painter.drawRect(rect)

    def fill(self, rect: QRectF, ink: QColor = PALE) -> None:
        """Tint a stretch of the page."""
        self.painter.fillRect(rect, ink)


def lines_of(text: str, size: int, weight: int, width: float) -> list[str]:
    """Break a text into lines no wider than a width; a word that is wider is cut.

    A figure stays with its unit.
    """
    metrics = QFontMetricsF(face(size, weight))
    lines: list[str] = []
    line = ""
    # Not at any white space: what keeps a figure with its unit is one.
    for bound in unbroken(" ".join(text.split())).split(" "):
        word = bound.replace("\N{NO-BREAK SPACE}", " ")
        longer = f"{line} {word}".strip()
        if line and metrics.horizontalAdvance(longer) > width:
            lines.append(line)
            longer = word
        line = metrics.elidedText(longer, Qt.TextElideMode.ElideRight, width)
    return [*lines, line] if line else lines
