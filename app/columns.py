"""The sheet between its two side columns; what does not fit beside it becomes a drawer."""

from __future__ import annotations

from typing import Final, Literal

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QWidget

from app.theme import px, scale_changes
from app.widgets.buttons import Button
from core.language import say

Side = Literal["left", "right"]
SIDES: Final[tuple[Side, Side]] = ("left", "right")
#: From this width on the columns are the wider of their two widths.
WIDE_PX: Final = 1500
#: Below these widths a column is a drawer.
DRAWER_BELOW_PX: Final[dict[Side, int]] = {"left": 1120, "right": 900}
_WIDTHS_PX: Final[dict[Side, tuple[int, int]]] = {"left": (232, 264), "right": (288, 328)}
DRAWER_NAMES: Final[dict[Side, str]] = {
    "left": say("Place and night"),
    "right": say("Settings of the shoot"),
}
_BACK = say("Back to the sheet")


class Columns(QWidget):
    """Left column, sheet and right column, which scroll on their own when the window is short.

    All measures grow with the text, so that at 200 % text both columns of a small screen are
    drawers: one at a time stands beside the sheet. `openers` are their buttons, seen only while
    there is something to open; whoever owns this puts them somewhere.

    Signals
    -------
    arranged
        The widths of the left and the right column are new; 0 for one that is a drawer.
    """

    arranged = Signal(int, int)

    def __init__(self, left: QWidget, sheet: QWidget, right: QWidget) -> None:
        super().__init__()
        self._sheet = sheet
        self._panels: dict[Side, QWidget] = {"left": left, "right": right}
        self._areas = {side: _column(panel) for side, panel in self._panels.items()}
        self.openers: dict[Side, Button] = {side: Button("", height_px=20) for side in SIDES}
        self._open: Side | None = None
        self._compose()
        for side, button in self.openers.items():
            button.clicked.connect(lambda _checked=False, side=side: self.toggle(side))
        scale_changes().changed.connect(self._arrange)
        self._arrange()

    def _compose(self) -> None:
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self._areas["left"])
        row.addWidget(self._sheet, 1)
        row.addWidget(self._areas["right"])

    def width_of(self, side: Side) -> int:
        """How wide a column is; 0 while it is away."""
        area = self._areas[side]
        return 0 if area.isHidden() else area.width()

    def is_drawer(self, side: Side) -> bool:
        """Whether the window is too narrow to keep this column beside the sheet."""
        return self.width() < px(DRAWER_BELOW_PX[side])

    def toggle(self, side: Side) -> None:
        """Open a drawer and go there with the keyboard, or close it again."""
        if not self.is_drawer(side):
            return
        self._open = None if self._open == side else side
        self._arrange()
        if self._open == side:
            self._panels[side].setFocus(Qt.FocusReason.TabFocusReason)
            self._panels[side].focusNextChild()
        else:
            self._sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let columns go, or take them back."""
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        wide = self.width() >= px(WIDE_PX)
        widths: dict[Side, int] = {side: px(_WIDTHS_PX[side][wide]) for side in SIDES}
        shown = {side: not self.is_drawer(side) or self._open == side for side in SIDES}
        if self._open and sum(widths.values()) + self._sheet.minimumWidth() > self.width():
            shown[_across(self._open)] = False
        # What goes, goes first: both together could be wider than the window.
        for side in sorted(SIDES, key=lambda side: shown[side]):
            area = self._areas[side]
            area.setVisible(shown[side])
            area.setFixedWidth(widths[side])
            # The scroll bar stands on the column's margin.
            self._panels[side].setFixedWidth(widths[side])
            self._show_opener(side)
        self.arranged.emit(*(0 if self.is_drawer(side) else widths[side] for side in SIDES))

    def _show_opener(self, side: Side) -> None:
        button = self.openers[side]
        # Wide enough for both its texts: the menu's row lays it out once.
        texts = (_BACK, DRAWER_NAMES[side])
        button.setFixedWidth(max(button.width_for(text) for text in texts))
        button.setVisible(self.is_drawer(side))
        button.show_text(_BACK if self._open == side else DRAWER_NAMES[side])


def _across(side: Side) -> Side:
    return "right" if side == "left" else "left"


def _column(panel: QWidget) -> QScrollArea:
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(panel)
    return area
