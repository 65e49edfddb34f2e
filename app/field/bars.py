"""Two bars: how much of the time to the next step has passed, and the charge with its stop."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.sheet.hatch import draw_hatch
from app.style import draw_outline
from app.theme import px, theme_of
from core.language import say
from core.words import number_text

_FULL = 100.0


class ShareBar(QWidget):
    """Fills from the left as the time to the next step passes."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._share = 0.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_share(self, share: float) -> None:
        """Show how much has passed, 0 to 1."""
        if share != self._share:
            self._share = share
            self.update()

    def sizeHint(self) -> QSize:
        """A thin line."""
        return QSize(px(120), px(11))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Fill the share, outline the whole."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            rect = QRectF(self.rect())
            inner = rect.adjusted(px(2), px(2), -px(2), -px(2))
            inner.setWidth(inner.width() * self._share)
            painter.fillRect(inner, theme.ink)
            draw_outline(painter, rect, QPen(theme.edge, max(1, px(1))))


class ChargeBar(QWidget):
    """The charge: the reserve hatched, the charge to stop at a tall stroke, what is expected."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._reserve, self._stop, self._expected = 0.0, None, None  # type: tuple[float, float | None, float | None]
        self.setAccessibleName(say("Charge"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_charge(self, reserve: float, stop: float | None, expected: float | None) -> None:
        """Show percents; None for what is not known."""
        shown = reserve, stop, expected
        if shown != (self._reserve, self._stop, self._expected):
            self._reserve, self._stop, self._expected = shown
            said = [say("reserve {reserve} %", reserve=number_text(reserve, 0))]
            said += [] if stop is None else [say("stop at {stop} %", stop=number_text(stop, 0))]
            if expected is not None:
                said += [say("expected now {expected} %", expected=number_text(expected, 0))]
            self.setAccessibleDescription(", ".join(said))
            self.update()

    def sizeHint(self) -> QSize:
        """Room for the bar and the stroke that stands out of it."""
        return QSize(px(160), px(36))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint hatch, filling, outline and stroke."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            bar = QRectF(self.rect()).adjusted(0, px(7), 0, -px(7))
            each = bar.width() / _FULL
            kept = QRectF(bar.x(), bar.y(), self._reserve * each, bar.height())
            draw_hatch(painter, kept, theme.edge, 1.0)
            if self._expected is not None and self._expected > self._reserve:
                left = bar.adjusted(self._reserve * each, px(6), 0, -px(6))
                left.setWidth((min(self._expected, _FULL) - self._reserve) * each)
                painter.fillRect(left, theme.edge)
            draw_outline(painter, bar, QPen(theme.edge, max(1, px(1))))
            if self._stop is not None:
                x = bar.x() + min(self._stop, _FULL) * each
                painter.fillRect(QRectF(x - px(2), 0.0, px(4), self.height()), theme.ink)
