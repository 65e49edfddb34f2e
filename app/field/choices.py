"""What can still be done, in the place of the steps: a sentence and one large button each."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from app.theme import px
from app.widgets.buttons import Button
from app.widgets.text import Text
from core.language import say
from core.option import Option

#: More than these nobody reads in the dark.
SHOWN = 3
_WORDS_PX = 17.0


class Choices(QScrollArea):
    """A page with the best options.

    Signals
    ----------
    taken
        The option that the pilot takes.
    left
        The pilot goes back to the steps.
    """

    taken = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setFrameShape(self.Shape.NoFrame)
        self.buttons: tuple[Button, ...] = ()
        self.told = Text("", size_px=_WORDS_PX, weight=600, wraps=True)

    def sizeHint(self) -> QSize:
        """Some room: what it has more is scrolled to."""
        return QSize(px(300), px(156))

    def show_told(self, sentence: str) -> None:
        """Show a sentence alone: that it is being looked for, or that there is nothing."""
        self._put(sentence, ())

    def show_options(self, reason: str | None, options: tuple[Option, ...]) -> None:
        """Show the best options, and why none of them is likely to hold where that is so."""
        self._put(reason or "", options[:SHOWN])
        if self.buttons:
            self.buttons[0].setFocus()

    def _put(self, sentence: str, options: tuple[Option, ...]) -> None:
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, px(6), px(8), 0)
        column.setSpacing(px(8))
        self.told = Text(sentence, size_px=_WORDS_PX, weight=600, wraps=True)
        if sentence:
            column.addWidget(self.told)
        buttons = []
        for place, option in enumerate(options, 1):
            button = Button(say("Do this"), strong=place == 1, height_px=48, size_px=_WORDS_PX)
            button.setAccessibleName(
                say("Do number {number}: {sentence}", number=place, sentence=option.sentence)
            )
            button.clicked.connect(partial(self.taken.emit, option))
            row = QHBoxLayout()
            row.setSpacing(px(12))
            row.addWidget(Text(option.sentence, size_px=_WORDS_PX, weight=600, wraps=True), 1)
            row.addWidget(button)
            column.addLayout(row)
            buttons.append(button)
        back = Button(say("Back to the steps"), height_px=48, size_px=_WORDS_PX)
        back.clicked.connect(self.left)
        column.addWidget(back)
        column.addStretch(1)
        self.buttons = tuple(buttons)
        self.setWidget(body)
