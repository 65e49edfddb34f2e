"""Everything of the plan that has no slider: place, ground, path, craft, camera, limits."""

from __future__ import annotations

import msgspec
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QScrollBar, QVBoxLayout, QWidget

from app.store import Store
from app.theme import px, scale_changes
from app.widgets.buttons import Button
from app.widgets.key_row import KeyRow
from app.widgets.text import Text
from app.windows.sections import Section, sections_of, unused_words
from core.fields import field_of
from core.plan import Path, Plan, Station

_STATIONS = field_of("path.stations")
MOST_STATIONS = int(_STATIONS.high) if _STATIONS and _STATIONS.high else 1


class DetailsWindow(QWidget):
    """A window beside the main one; every value goes straight to the plan and is one undo."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowFlag(self.windowType().Window, on=True)
        self.setWindowTitle("Place, path, camera and craft \N{EN DASH} Duskwright")
        self._store = store
        self._stations = 0
        self.rows: dict[str, KeyRow] = {}
        self.buttons: tuple[Button, ...] = ()
        self._new_buttons: tuple[Button, ...] = ()
        self._area = QScrollArea()
        self._area.setWidgetResizable(True)
        self._area.setFrameShape(QFrame.Shape.NoFrame)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self._area)
        self.resize(px(540), px(720))
        store.changed.connect(self._refresh)
        scale_changes().changed.connect(self._build_anew)
        self._refresh()

    def scroll_bar(self) -> QScrollBar:
        """What the sections are scrolled with."""
        return self._area.verticalScrollBar()

    def _refresh(self) -> None:
        plan = self._store.plan
        if plan is None:
            return
        if len(plan.path.stations) != self._stations:
            self._build(plan)
        for key, row in self.rows.items():
            row.refresh()
            row.show_unused(unused_words(plan, key))

    def _build_anew(self) -> None:
        if self._store.plan is not None:
            self._build(self._store.plan)

    def _build(self, plan: Plan) -> None:
        """Lay the sections out anew, for as many stations as there are."""
        self._stations = len(plan.path.stations)
        self.rows = {}
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(px(20), px(14), px(20), px(20))
        column.setSpacing(0)
        for section in sections_of(plan):
            column.addLayout(self._section(section))
            if section.title == "Path":
                column.addLayout(self._station_buttons())
        column.addStretch(1)
        self._exchange(body)

    def _exchange(self, body: QWidget) -> None:
        """Show another body at the same height, with the keyboard on the same button."""
        height = self._area.verticalScrollBar().value()
        focus = self.focusWidget()
        held = next((k for k, one in enumerate(self.buttons) if one is focus), None)
        self.buttons = self._new_buttons
        # The old one may be telling of a click just now, so it goes later.
        old = self._area.takeWidget()
        self._area.setWidget(body)
        self._area.verticalScrollBar().setValue(height)
        if old is not None:
            old.deleteLater()
        if held is not None:
            self.buttons[held].setFocus()

    def _section(self, section: Section) -> QVBoxLayout:
        box = QVBoxLayout()
        box.setContentsMargins(0, px(12), 0, px(4))
        box.setSpacing(0)
        box.addWidget(Text(section.title, size_px=15, weight=600))
        box.addWidget(Text(section.about, size_px=11, ink="ink3", wraps=True))
        for key, label in section.rows:
            row = KeyRow(self._store, key, label, section.title)
            self.rows[key] = row
            box.addWidget(row)
        return box

    def _station_buttons(self) -> QHBoxLayout:
        line = QHBoxLayout()
        line.setContentsMargins(0, px(6), 0, 0)
        line.setSpacing(px(8))
        add = Button("Add a station at the end")
        add.clicked.connect(self._add_station)
        remove = Button("Remove the last station")
        add.setEnabled(self._stations < MOST_STATIONS)
        remove.setEnabled(self._stations > 1)
        remove.clicked.connect(self._remove_station)
        self._new_buttons = (add, remove)
        for button in self._new_buttons:
            line.addWidget(button)
        line.addStretch(1)
        return line

    def _add_station(self) -> None:
        """A new last station, as far on as the last piece of the way."""
        plan = self._store.plan
        if plan is not None:
            stations = plan.path.stations
            before, last = stations[-2 if len(stations) > 1 else -1], stations[-1]
            further = msgspec.structs.replace(
                last,
                east_m=2.0 * last.east_m - before.east_m,
                north_m=2.0 * last.north_m - before.north_m,
            )
            self._take_stations("add a station", plan, (*stations, further))

    def _remove_station(self) -> None:
        plan = self._store.plan
        if plan is not None:
            self._take_stations("remove a station", plan, plan.path.stations[:-1])

    def _take_stations(self, label: str, plan: Plan, stations: tuple[Station, ...]) -> None:
        self._store.begin_gesture()
        path = Path(timing=plan.path.timing, stations=stations)
        self._store.replace(label, msgspec.structs.replace(plan, path=path))
