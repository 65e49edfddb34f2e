"""Everything of the plan that has no slider: place, ground, path, craft, camera, limits."""

from __future__ import annotations

from collections.abc import Hashable

import msgspec
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.store import Store
from app.widgets.buttons import Button
from app.widgets.key_row import KeyRow
from app.widgets.kit_row import KitRow
from app.widgets.roomy import open_at
from app.windows.panes import Pane, beside, heading
from app.windows.sections import PATH, sections_of, unused_words
from core.fields import field_of
from core.kits import KitKind
from core.language import say
from core.plan import Path, Station

_STATIONS = field_of("path.stations")
MOST_STATIONS = int(_STATIONS.high) if _STATIONS and _STATIONS.high else 1


class DetailsWindow(Pane):
    """A window beside the main one; every value goes straight to the plan and is one undo."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(store, say("Place, path, camera and craft"), parent)
        self.rows: dict[str, KeyRow] = {}
        self.kits: dict[KitKind, KitRow] = {}
        self.buttons: tuple[Button, ...] = ()
        open_at(self, 540, 720)
        # A row shows what it was given before the next key is pressed.
        store.changed.connect(self._renew_if_shown)

    def subject(self) -> Hashable:
        """As many rows as there are stations."""
        return len(self._plan.path.stations)

    def fill(self, column: QVBoxLayout) -> None:
        """Lay the sections out."""
        self.rows, self.kits = {}, {}
        for section in sections_of(self._plan):
            column.addLayout(heading(section.title, section.about))
            if section.kit is not None:
                self.kits[section.kit] = KitRow(self._store, section.kit)
                column.addWidget(self.kits[section.kit])
            for key, label in section.rows:
                self.rows[key] = KeyRow(self._store, key, label, section.title)
                column.addWidget(self.rows[key])
            if section is PATH:
                column.addLayout(self._station_buttons())

    def refresh(self) -> None:
        """Show the plan's values, and which of them nothing uses."""
        for key, row in self.rows.items():
            row.refresh()
            row.show_unused(unused_words(self._plan, key))
        for kit in self.kits.values():
            kit.refresh()

    def _build(self) -> None:
        """Keep the keyboard on the same button."""
        focus = self.focusWidget()
        held = next((k for k, one in enumerate(self.buttons) if one is focus), None)
        super()._build()
        if held is not None:
            self.buttons[held].setFocus()

    def _station_buttons(self) -> QHBoxLayout:
        add, remove = (
            Button(say("Add a station at the end")),
            Button(say("Remove the last station")),
        )
        stations = len(self._plan.path.stations)
        add.setEnabled(stations < MOST_STATIONS)
        remove.setEnabled(stations > 1)
        add.clicked.connect(self._add_station)
        remove.clicked.connect(self._remove_station)
        self.buttons = (add, remove)
        return beside(*self.buttons)

    def _add_station(self) -> None:
        """A new last station, as far on as the last piece of the way."""
        stations = self._plan.path.stations
        before, last = stations[-2 if len(stations) > 1 else -1], stations[-1]
        further = msgspec.structs.replace(
            last,
            east_m=2.0 * last.east_m - before.east_m,
            north_m=2.0 * last.north_m - before.north_m,
        )
        self._take_stations(say("add a station"), (*stations, further))

    def _remove_station(self) -> None:
        self._take_stations(say("remove a station"), self._plan.path.stations[:-1])

    def _take_stations(self, label: str, stations: tuple[Station, ...]) -> None:
        self._store.begin_gesture()
        path = Path(timing=self._plan.path.timing, stations=stations)
        self._store.replace(label, msgspec.structs.replace(self._plan, path=path))
