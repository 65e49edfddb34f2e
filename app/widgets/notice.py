"""A sentence across the window, as when something could not be done: inline, never a box."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLabel, QWidget

from app.theme import px
from app.widgets.buttons import Button
from app.widgets.marks import SEVERITY_WORDS, Mark
from core.findings import Severity
from core.language import say


class Notice(QWidget):
    """What went wrong, what was kept and what to do; hidden while there is nothing to say."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._text = QLabel()
        self._text.setWordWrap(True)
        self._text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        copy = Button(say("Copy"))
        copy.setAccessibleName(say("Copy the sentence"))
        copy.clicked.connect(lambda: QApplication.clipboard().setText(self.text()))
        close = Button(say("Close"))
        close.setAccessibleName(say("Close the sentence"))
        close.clicked.connect(self.clear)
        row = QHBoxLayout(self)
        row.setContentsMargins(px(12), px(6), px(12), px(6))
        row.setSpacing(px(10))
        self._mark = Mark("stop")
        row.addWidget(self._mark)
        row.addWidget(self._text, 1)
        row.addWidget(copy)
        row.addWidget(close)
        self.hide()

    def text(self) -> str:
        """The sentence shown, or an empty text."""
        return self._text.text()

    @property
    def severity(self) -> Severity:
        """How the sentence is marked."""
        return self._mark.severity

    def tell(self, sentence: str, severity: Severity = "stop") -> None:
        """Show a sentence, of a problem unless it is marked less."""
        self._mark.show_severity(severity)
        self.setAccessibleName(SEVERITY_WORDS[severity])
        self._text.setText(sentence)
        self.setAccessibleDescription(sentence)
        self.show()

    def clear(self) -> None:
        """Take the sentence away."""
        self._text.clear()
        self.hide()

    def minimumSizeHint(self) -> QSize:
        """High enough for a button, at any width."""
        return QSize(0, px(40))
