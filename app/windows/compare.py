"""A against B in full, with what copies and swaps them."""

from __future__ import annotations

from collections.abc import Callable, Hashable

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.shown.comparing import Side, full_comparison
from app.store import Store
from app.widgets.buttons import Button
from app.widgets.readout import Column, Table
from app.widgets.roomy import open_at
from app.windows.panes import Pane, beside
from core.language import say
from core.plan import ShootName

#: What puts shoots in each other's place: a step of undo in words, and for each shoot to be
#: replaced the one that takes its place.
Moves = Callable[[str, dict[ShootName, ShootName]], object]


class CompareWindow(Pane):
    """Two starts, settings, nights or twilights in one table; what differs is marked.

    `moves` is what the buttons call.
    """

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("A against B"), parent)
        self.moves: Moves | None = None
        open_at(self, 600, 760)

    def fill(self, column: QVBoxLayout) -> None:
        """The buttons and the table."""
        self.buttons = {
            "copy A to B": Button(say("Copy A to B")),
            "copy B to A": Button(say("Copy B to A")),
            "swap A and B": Button(say("Swap")),
        }
        sources: dict[str, dict[ShootName, ShootName]] = {
            "copy A to B": {"B": "A"},
            "copy B to A": {"A": "B"},
            "swap A and B": {"A": "B", "B": "A"},
        }
        for label, button in self.buttons.items():
            button.clicked.connect(lambda _=False, label=label: self._move(label, sources[label]))
        column.addLayout(beside(*self.buttons.values(), above_px=0))
        columns = (Column(1, "left"), Column(1), Column(0), Column(1))
        self.table = Table(say("A against B"), columns, row_px=22, ruled=True)
        column.addWidget(self.table)

    def subject(self) -> Hashable:
        """Always the same: nothing is typed here."""
        return "both shoots"

    def refresh(self) -> None:
        """Show both shoots as they stand."""
        a, b = (self._side(name) for name in ("A", "B"))
        if a is None or b is None:
            return
        self.table.show_rows(full_comparison(a, b))

    def _side(self, name: ShootName) -> Side | None:
        plan, seen = self._store.plan, self._store.outlook(name)
        if plan is None or seen is None:
            return None
        return Side(plan, seen, self._store.starts(name))

    def _move(self, label: str, came_from: dict[ShootName, ShootName]) -> None:
        if self.moves is not None:
            self._store.begin_gesture()
            self.moves(label, came_from)
