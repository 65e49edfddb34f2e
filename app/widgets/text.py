"""One line of text in a token's colour, at a size that follows the text scale."""

from __future__ import annotations

import math
import re

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from app.theme import font, px, theme_of
from app.widgets.marks import Mark
from app.widgets.stamp import LEFT, MIDDLE, RIGHT, fitted, text_measures, write
from core.phrases import leading
from core.sentences import by_names
from core.words import number_text, unbroken

# A figure as the plan's file has it, in 'Latitude is 95.0; a number of degrees was expected.'
_FIGURE = re.compile(r"(?<= )(-?\d+\.\d+(?:e[+-]?\d+)?)(?=;)")
_F_NUMBER = re.compile(r"(?<=\bf/)(?=\d)")
_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


class Text(QLabel):
    """A line of text.

    Parameters
    ----------
    size_px, weight
        Size in pixels at 100 % and weight of the type.
    ink
        Name of the colour, see `app.theme.TOKENS`.
    wraps
        Whether it breaks into lines where the room is narrow, never between a figure and its
        unit; otherwise it is cut with an ellipsis and the whole of it is its tip.
    whole
        Whether it claims its whole width instead of being cut: for a clock.
    """

    def __init__(
        self,
        text: str = "",
        parent: QWidget | None = None,
        *,
        size_px: float = 13,
        weight: int = 400,
        ink: str = "ink",
        align: Qt.AlignmentFlag = _LEFT,
        wraps: bool = False,
        whole: bool = False,
    ) -> None:
        super().__init__(text, parent)
        self._size_px, self._weight, self._ink = size_px, weight, ink
        self._wraps, self._whole = wraps, whole
        self._align = align
        self.setTextFormat(Qt.TextFormat.PlainText)
        across = QSizePolicy.Policy.Ignored if wraps else QSizePolicy.Policy.Preferred
        policy = QSizePolicy(across, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(wraps)
        self.setSizePolicy(policy)

    def show_text(
        self,
        text: str,
        *,
        size_px: float | None = None,
        weight: int | None = None,
        ink: str | None = None,
    ) -> None:
        """Show another text or another type; nothing is repainted where nothing changed."""
        wanted = (size_px or self._size_px, weight or self._weight, ink or self._ink)
        if (text, wanted) == (self.text(), (self._size_px, self._weight, self._ink)):
            return
        self._size_px, self._weight, self._ink = wanted
        self.setText(text)
        if self._wraps:
            self.setMinimumHeight(self.heightForWidth(self.width()) if text else 0)
        self.updateGeometry()
        self.update()

    def _type(self) -> QFont:
        return font(self._size_px, self._weight)

    def sizeHint(self) -> QSize:
        """Room for the whole text in one line."""
        width, height = text_measures(self.text(), (self._size_px, self._weight))
        return QSize(math.ceil(width) + 1, round(height))

    def minimumSizeHint(self) -> QSize:
        """Room for a few letters: the rest may be cut, unless it is to stand whole."""
        whole = self.sizeHint()
        return whole if self._whole else QSize(min(whole.width(), px(24)), whole.height())

    def hasHeightForWidth(self) -> bool:
        """Whether it wraps."""
        return self._wraps

    def heightForWidth(self, width: int) -> int:
        """How high the wrapped text is."""
        room = QRect(0, 0, max(width, 1), 10_000)
        flags = Qt.TextFlag.TextWordWrap.value
        return QFontMetrics(self._type()).boundingRect(room, flags, _bound(self.text())).height()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Claim the lines that a wrapped text needs, also in a column with no room to spare."""
        super().resizeEvent(event)
        if self._wraps:
            self.setMinimumHeight(self.heightForWidth(self.width()))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the text, cut with an ellipsis where it must be."""
        theme, face = theme_of(self), (self._size_px, self._weight)
        with QPainter(self) as painter:
            ink = theme.token(self._ink) if self.isEnabled() else theme.ink3
            if not self._wraps:
                shown = fitted(self.text(), face, self.width())
                write(painter, self.rect(), shown, face, ink, _share(self._align))
                return
            painter.setFont(self._type())
            painter.setPen(ink)
            flags = self._align.value | Qt.TextFlag.TextWordWrap.value
            painter.drawText(self.rect(), flags, _bound(self.text()))


def _bound(text: str) -> str:
    """A text whose figures stay whole where Qt breaks it, an f-number too."""
    return _F_NUMBER.sub("\N{WORD JOINER}", unbroken(text))


def _begun(sentence: str) -> str:
    """A sentence with a capital at its head, but where a file's name stands there."""
    head = sentence.partition(" ")[0].rstrip(".,:;")
    return sentence if re.search(r"[./\\]", head) else leading(sentence)


def _as_typed(sentence: str) -> str:
    """A refusal with its figure as a pilot types it: 'is 95;' for 'is 95.0;'."""
    return _FIGURE.sub(lambda found: number_text(float(found[1])), sentence)


def _share(align: Qt.AlignmentFlag) -> float:
    if align & Qt.AlignmentFlag.AlignHCenter:
        return MIDDLE
    return RIGHT if align & Qt.AlignmentFlag.AlignRight else LEFT


class Refusal(QWidget):
    """The line beneath a field that says what was not understood, with its mark."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._mark = Mark("stop", self, size_px=13)
        self._text = Text("", self, size_px=12, weight=600, ink="alarm", wraps=True)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.hide()

    @property
    def sentence(self) -> str:
        """What is said; empty while nothing is wrong."""
        return self._text.text()

    def tell(self, sentence: str) -> None:
        """Show a sentence, or nothing for an empty one; keys of the plan by their names."""
        sentence = _as_typed(_begun(by_names(sentence, {})))
        self._text.show_text(sentence)
        self.setAccessibleName(sentence)
        self.setVisible(bool(sentence))
        self.updateGeometry()

    def _gap(self) -> int:
        return self._mark.sizeHint().width() + px(5)

    def hasHeightForWidth(self) -> bool:
        """The sentence wraps."""
        return True

    def heightForWidth(self, width: int) -> int:
        """As high as the sentence needs."""
        return self._text.heightForWidth(width - self._gap()) + px(6)

    def sizeHint(self) -> QSize:
        """As high as the sentence needs at the width it has."""
        return QSize(px(120), self.heightForWidth(max(self.width(), px(120))))

    def resizeEvent(self, _event: object) -> None:
        """Put mark and sentence beside each other."""
        self._mark.setGeometry(QRect(0, px(4), *self._mark.sizeHint().toTuple()))
        gap = self._gap()
        # What it needed at another width must not hold it open at this one.
        self._text.setMinimumHeight(0)
        self._text.setGeometry(gap, px(2), self.width() - gap, self.height() - px(4))
