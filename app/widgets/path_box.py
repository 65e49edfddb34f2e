"""The path: a sketch from above, and height, heading and pitch of the station that is chosen."""

from __future__ import annotations

import contextlib
from functools import partial
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from app.store import Store
from app.theme import px, scale_changes
from app.widgets.pathsketch import PathSketch
from app.widgets.planview import Spot, sketch_of
from app.widgets.text import Refusal, Text
from app.widgets.value_field import ValueField
from core.edit import PlanError
from core.language import say
from core.measures import length_text
from core.parse import parse_value
from core.phrases import within
from core.plan import Plan, Station
from core.sentences import by_names
from core.words import bearing_text, degrees_text

_FIELDS: Final = {"up_m": say("Height"), "heading_deg": say("Heading"), "pitch_deg": say("Pitch")}
_HEADING = "heading_deg"
_FULL_TURN_DEG = 360.0


class PathBox(QWidget):
    """Moves stations by hand, by key and by typing; each movement is one undo."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self.sketch = PathSketch()
        self.name = Text("", size_px=12, weight=600)
        middle = Qt.AlignmentFlag.AlignCenter
        self.fields = {
            key: ValueField(name, width_px=None, height_px=22, size_px=12, align=middle)
            for key, name in _FIELDS.items()
        }
        self._refusal = Refusal()
        self._compose()
        self._connect()

    def _compose(self) -> None:
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.addWidget(self.name, 1, 0)
        for column, (key, name) in enumerate(_FIELDS.items(), start=1):
            self._grid.addWidget(Text(within(name), size_px=11, ink="ink2"), 0, column)
            self._grid.addWidget(self.fields[key], 1, column)
            self._grid.setColumnStretch(column, 1)
        self._whole = QVBoxLayout(self)
        self._whole.setContentsMargins(0, 0, 0, 0)
        self._whole.addWidget(self.sketch, 1)
        self._whole.addLayout(self._grid)
        self._whole.addWidget(self._refusal)
        self._rescale()

    def _connect(self) -> None:
        store, sketch = self._store, self.sketch
        sketch.grasped.connect(store.begin_gesture)
        sketch.placed.connect(self._place)
        sketch.aimed.connect(self._aim)
        sketch.turned.connect(lambda number, heading: self._send(number, {_HEADING: heading}))
        sketch.nudged.connect(self._nudge)
        sketch.chosen.connect(lambda _number: self._show_spot())
        for key, field in self.fields.items():
            field.opened.connect(store.begin_gesture)
            field.entered.connect(partial(self._type, key))
            field.stepped.connect(partial(self._step, key))
            field.restored.connect(lambda: self._refusal.tell(""))
        store.changed.connect(self._refresh)
        store.cursor_moved.connect(lambda _time: self._refresh())
        scale_changes().changed.connect(self._rescale)

    def _rescale(self) -> None:
        self._whole.setSpacing(px(3))
        self._grid.setHorizontalSpacing(px(5))
        self._grid.setVerticalSpacing(0)

    @property
    def refusal(self) -> str:
        """The sentence beneath the fields; empty while nothing is wrong."""
        return self._refusal.sentence

    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what changed while nobody looked."""
        super().showEvent(event)
        self._refresh()

    # ---- what it shows ----

    def _refresh(self) -> None:
        plan, seen = self._store.plan, self._store.outlook(self._store.active)
        if self.isVisible() and plan is not None and seen is not None:
            self.sketch.show_sketch(sketch_of(plan, seen, self._store.cursor_s))
            self._show_spot()

    def _show_spot(self) -> None:
        spot = self.sketch.spot
        if spot is None:
            return
        self.name.show_text(spot.word)
        for key, text in _texts(spot).items():
            field = self.fields[key]
            field.show_value(text)
            field.setAccessibleName(
                say("{name}, {station} station", name=_FIELDS[key], station=spot.word)
            )
            aimed = spot.aim_m is not None and key != "up_m"
            field.setReadOnly(aimed)
            field.setToolTip(say("This station looks at a point, which sets it.") if aimed else "")

    # ---- what it sends ----

    def _send(self, number: int, values: dict[str, float]) -> None:
        # Beyond the end of a range nothing moves.
        with contextlib.suppress(PlanError):
            self._edit(number, values)

    def _edit(self, number: int, values: dict[str, float]) -> None:
        label = say("turn a station") if _HEADING in values else say("move a station")
        self._store.edit(
            label, {f"path.stations.{number}.{key}": value for key, value in values.items()}
        )

    def _station(self, number: int) -> Station | None:
        plan: Plan | None = self._store.plan
        return plan.path.stations[number] if plan is not None else None

    def _place(self, number: int, east_m: float, north_m: float) -> None:
        self._send(number, {"east_m": east_m, "north_m": north_m})

    def _aim(self, number: int, east_m: float, north_m: float) -> None:
        """Move the point that a station looks at, for all that look at the same one."""
        plan, station = self._store.plan, self._station(number)
        if plan is None or station is None or station.look_at is None:
            return
        aim = (east_m, north_m, station.look_at[2])
        alike = [k for k, one in enumerate(plan.path.stations) if one.look_at == station.look_at]
        with contextlib.suppress(PlanError):
            self._store.edit(
                say("move the point looked at"), {f"path.stations.{k}.look_at": aim for k in alike}
            )

    def _nudge(self, number: int, key: str, step: float) -> None:
        station = self._station(number)
        if station is not None and not (station.look_at and key in (_HEADING, "pitch_deg")):
            value = float(getattr(station, key)) + step
            self._send(number, {key: value % _FULL_TURN_DEG if key == _HEADING else value})

    def _step(self, key: str, steps: int, fine: bool) -> None:
        del fine  # nothing is finer than a metre or a degree
        if self.sketch.spot is not None:
            self._nudge(self.sketch.spot.number, key, float(steps))

    def _type(self, key: str, text: str) -> None:
        spot = self.sketch.spot
        if spot is None:
            return
        whole = f"path.stations.{spot.number}.{key}"
        try:
            self._store.edit(within(_FIELDS[key]), {whole: parse_value(whole, text)})
        except PlanError as refusal:
            self.fields[key].refuse()
            self._refusal.tell(by_names(str(refusal), {whole: _FIELDS[key]}))
        else:
            self._refusal.tell("")
            self.fields[key].accept()


def _texts(spot: Spot) -> dict[str, str]:
    return {
        "up_m": length_text(spot.up_m),
        _HEADING: bearing_text(spot.eye.heading_deg),
        "pitch_deg": degrees_text(spot.pitch_deg),
    }
