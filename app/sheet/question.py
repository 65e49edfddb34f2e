"""The empty sheet's question and its two ways on."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPalette, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSpacerItem, QVBoxLayout, QWidget

from app.theme import px, scale_changes
from app.widgets.buttons import Button
from app.widgets.text import Text
from core.language import say

#: Height from which on the question stands with room around it.
_ROOMY_PX = 176


class Question(QWidget):
    """Asks where the pilot shoots.

    Signals
    -------
    demo_requested, place_requested
        Which of the two buttons was pressed.
    """

    demo_requested = Signal()
    place_requested = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._card = QWidget(self)
        self._card.setBackgroundRole(QPalette.ColorRole.AlternateBase)
        self._card.setAutoFillBackground(True)
        self._rows = QVBoxLayout(self._card)
        question = Text(say("Where do you shoot?"), size_px=20, weight=700)
        hint = Text(
            say("Type a place and its coordinates, or open a ready one."), size_px=13, ink="ink2"
        )
        demo = Button(say("Open a demo site"), strong=True)
        place = Button(say("Type a place"))
        demo.clicked.connect(self.demo_requested)
        place.clicked.connect(self.place_requested)
        buttons = QHBoxLayout()
        buttons.setSpacing(px(8))
        for button in (demo, place):
            buttons.addWidget(button)
        buttons.addStretch(1)
        for widget in (question, hint):
            self._rows.addWidget(widget)
        self._gap = QSpacerItem(0, 0)
        self._rows.addItem(self._gap)
        self._rows.addLayout(buttons)
        outer = QHBoxLayout(self)
        outer.addStretch(1)
        outer.addWidget(self._card, 0, Qt.AlignmentFlag.AlignCenter)
        outer.addStretch(1)
        scale_changes().changed.connect(self._fit)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Stand closer where there is little height: no word may be cut."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        roomy = self.height() >= px(_ROOMY_PX)
        side = px(20) if roomy else px(8)
        self._rows.setContentsMargins(side, side, side, side)
        self._rows.setSpacing(px(6) if roomy else px(3))
        self._gap.changeSize(0, px(24) if roomy else 0)
        self._rows.invalidate()
