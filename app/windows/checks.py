"""Before take-off: what to lock and to look at, ticked on site."""

from __future__ import annotations

from collections.abc import Hashable
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QVBoxLayout, QWidget

from app.store import Store
from app.theme import font, px
from app.widgets.rule import Rule
from app.widgets.text import Text
from app.windows.panes import Pane, heading
from core.checklist import ChecklistItem, checklist_of
from core.dates import date_text

_ABOUT = (
    "Figures are those of the plan; a tick marks one step done and goes when its figure changes."
)
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class ChecksWindow(Pane):
    """The list of the active shoot; ticks are kept for each night while the program runs.

    What was ticked is the item with its figures: another interval or another card space opens
    it again.
    """

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, "Before take-off", parent)
        self._ticked: dict[Hashable, set[ChecklistItem]] = {}
        self.rows: dict[str, CheckRow] = {}
        self.resize(px(740), px(710))

    @property
    def open_items(self) -> int:
        """How many lines are not ticked."""
        return sum(not row.box.isChecked() for row in self.rows.values())

    @property
    def left(self) -> str:
        """How many lines are not ticked, in words."""
        return self._left.text()

    def subject(self) -> Hashable:
        """A night's shoot and the items it has: another one is laid out anew."""
        codes = tuple(item.code for item in self._items())
        return (super().subject(), codes)

    def fill(self, column: QVBoxLayout) -> None:
        """A row for each item of the list."""
        shoot = self._seen.shoot
        title = f"Shoot {self._store.active}, {shoot.twilight} of {date_text(shoot.date)}"
        column.addLayout(heading(title, _ABOUT))
        self._left = Text("", weight=600)
        column.addWidget(self._left)
        column.addSpacing(px(6))
        self.rows = {item.code: CheckRow(item) for item in self._items()}
        for row in self.rows.values():
            row.box.toggled.connect(partial(self._tick, row))
            column.addWidget(Rule())
            column.addWidget(row)
        column.addWidget(Rule())

    def refresh(self) -> None:
        """Show the figures of the plan, and the ticks that belong to them."""
        ticked = self._ticked.get(self._night(), set())
        for item in self._items():
            self.rows[item.code].show_item(item, ticked=item in ticked)
        self._count()

    def _items(self) -> tuple[ChecklistItem, ...]:
        return checklist_of(self._plan, self._seen)

    def _night(self) -> Hashable:
        shoot, place = self._seen.shoot, self._plan.place
        where = (place.name, place.latitude_deg, place.longitude_deg)
        return (where, shoot.date, shoot.twilight)

    def _tick(self, row: CheckRow, ticked: bool) -> None:
        done = self._ticked.setdefault(self._night(), set())
        if ticked:
            done.add(row.item)
        else:
            done.discard(row.item)
        self._count()

    def _count(self) -> None:
        many, left = len(self.rows), self.open_items
        self._left.show_text(f"{left} of {many} left" if left else f"{many} ticked")


class CheckRow(QWidget):
    """A box with the fact, and the way to see to it at the right; a click anywhere ticks."""

    def __init__(self, item: ChecklistItem) -> None:
        super().__init__()
        self.item = item
        self.box = QCheckBox()
        self._how = Text("", size_px=12, ink="ink2", wraps=True, align=_RIGHT)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, px(8), 0, px(8))
        line.setSpacing(px(16))
        line.addWidget(self.box)
        line.addWidget(self._how, 1)
        self.box.toggled.connect(self._show_tick)
        self.show_item(item, ticked=False)

    def show_item(self, item: ChecklistItem, *, ticked: bool) -> None:
        """Show an item's figures of tonight, without telling of a tick."""
        self.item = item
        self.box.setText(item.fact)
        self.box.setAccessibleName(item.fact)
        self.box.setAccessibleDescription(item.how)
        self._how.show_text(item.how)
        told = self.box.blockSignals(True)
        self.box.setChecked(ticked)
        self.box.blockSignals(told)
        self._show_tick(ticked)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Tick, wherever the row is touched."""
        super().mouseReleaseEvent(event)
        self.box.click()

    def _show_tick(self, ticked: bool) -> None:
        """What is left to do stands out by its weight."""
        self.box.setFont(font(15, 400 if ticked else 600))
