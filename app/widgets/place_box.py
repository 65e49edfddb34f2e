"""The place: its name, coordinates and elevation, typed where they stand, and a map of it.

In a small window the path from above takes the place of the map at the turn of a switch.
"""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.store import Store
from app.theme import px, scale_changes
from app.widgets.buttons import Button
from app.widgets.locator import Locator
from app.widgets.path_box import PathBox
from app.widgets.switch import Switch
from app.widgets.text import Refusal
from app.widgets.value_field import ValueField
from core.edit import PlanError
from core.language import say
from core.measures import length_text
from core.parse import parse_value
from core.phrases import within
from core.place import time_zone_at
from core.plan import Place
from core.sentences import by_names
from core.words import number_text

_SIDES = {"place.latitude_deg": ("N", "S"), "place.longitude_deg": ("E", "W")}
_NAMES = {
    "place.name": say("Place"),
    "place.latitude_deg": say("Latitude"),
    "place.longitude_deg": say("Longitude"),
    "place.elevation_m": say("Elevation"),
}
_MIDDLE = Qt.AlignmentFlag.AlignVCenter


def angle_text(key: str, angle_deg: float) -> str:
    """Write a coordinate with its side: '62.2100° N'."""
    positive, negative = _SIDES[key]
    return f"{number_text(abs(angle_deg), 4)}° {negative if angle_deg < 0.0 else positive}"


class PlaceBox(QWidget):
    """Name, coordinates, elevation and map."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        left, right = Qt.AlignmentFlag.AlignLeft | _MIDDLE, Qt.AlignmentFlag.AlignRight | _MIDDLE
        self.fields = {
            "place.name": ValueField(
                say("Place"), width_px=None, height_px=26, size_px=13, align=left
            ),
            "place.latitude_deg": _small(say("Latitude"), 70, left),
            "place.longitude_deg": _small(say("Longitude"), 78, left),
            "place.elevation_m": _small(say("Elevation"), 46, right),
        }
        self.places = Button("\N{BLACK DOWN-POINTING SMALL TRIANGLE}", height_px=26)
        self.places.setAccessibleName(say("Recent places"))
        self.places.setToolTip(say("Recent places and demo sites"))
        self.locator = Locator()
        self.picture = MapOrPath(self.locator)
        self._refusal = Refusal()
        self._compose()
        for key, field in self.fields.items():
            field.opened.connect(store.begin_gesture)
            field.entered.connect(lambda text, key=key: self._type(key, text))
            field.restored.connect(lambda: self._refusal.tell(""))
        store.changed.connect(self._refresh)
        scale_changes().changed.connect(self._rescale)
        self._refresh()

    def _compose(self) -> None:
        self._whole = QVBoxLayout(self)
        self._names = QHBoxLayout()
        self._names.addWidget(self.fields["place.name"], 1)
        self._names.addWidget(self.places)
        self._whole.addLayout(self._names)
        self._row = QHBoxLayout()
        self._row.addWidget(self.fields["place.latitude_deg"])
        self._row.addWidget(self.fields["place.longitude_deg"])
        self._row.addStretch(1)
        self._row.addWidget(self.fields["place.elevation_m"])
        self._whole.addLayout(self._row)
        self._whole.addWidget(self._refusal)
        self._whole.addWidget(self.picture)
        self._rescale()

    def _rescale(self) -> None:
        self._whole.setContentsMargins(0, 0, 0, 0)
        self._whole.setSpacing(px(3))
        self._row.setSpacing(px(4))
        self._names.setSpacing(px(4))

    @property
    def refusal(self) -> str:
        """The sentence beneath the coordinates; empty while nothing is wrong."""
        return self._refusal.sentence

    def _refresh(self) -> None:
        plan = self._store.plan
        if plan is None:
            return
        for key, text in _texts(plan.place).items():
            self.fields[key].show_value(text, 600 if key == "place.name" else 400)
        self.locator.show_place(plan.place.latitude_deg, plan.place.longitude_deg)

    def _type(self, key: str, text: str) -> None:
        try:
            self._store.edit(within(_NAMES[key]), self._typed(key, text))
        except PlanError as refusal:
            self.fields[key].refuse()
            self._refusal.tell(by_names(str(refusal), {key: _NAMES[key]}))
        else:
            self._refusal.tell("")
            self.fields[key].accept()

    def _typed(self, key: str, text: str) -> Mapping[str, object]:
        values: dict[str, object] = {key: parse_value(key, text)}
        plan = self._store.plan
        if plan is None or key not in _SIDES:
            return values
        place = plan.place
        latitude = values.get("place.latitude_deg", place.latitude_deg)
        longitude = values.get("place.longitude_deg", place.longitude_deg)
        if (
            isinstance(latitude, (int, float))
            and isinstance(longitude, (int, float))
            and abs(latitude) <= 90.0
            and abs(longitude) <= 180.0
        ):
            # Another place has another clock; what is out of range is refused by the edit.
            values["place.time_zone"] = time_zone_at(latitude, longitude)
        return values


class MapOrPath(QWidget):
    """The map, or in its place the path from above, with the switch in its corner."""

    def __init__(self, locator: Locator) -> None:
        super().__init__()
        self._locator = locator
        self._path: PathBox | None = None
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.addWidget(locator)
        self.switch = Switch(say("Picture"), (say("Map"), say("Path")), height_px=20, size_px=12)
        self.switch.setParent(self)
        self.switch.show_choice(0)
        self.switch.chosen.connect(lambda _place: self._show())
        self._show()

    @property
    def path(self) -> PathBox | None:
        """The path that is held here, None where it has a place of its own."""
        return self._path

    def hold(self, path: PathBox | None) -> None:
        """Take the path, or let it go to a place of its own."""
        if self._path is not None:
            self._path.sketch.keep_above(0)
        self._path = path
        if path is not None:
            self._layout.addWidget(path)
            path.sketch.keep_above(self.switch.sizeHint().height())
        self._show()

    def _show(self) -> None:
        as_path = self._path is not None and self.switch.current == 1
        if self._path is not None:
            self._path.setVisible(as_path)
        self._locator.setVisible(not as_path)
        self.switch.setVisible(self._path is not None)
        self.switch.raise_()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the switch in the corner."""
        super().resizeEvent(event)
        size = self.switch.sizeHint()
        self.switch.setGeometry(self.width() - size.width(), 0, size.width(), size.height())
        if self._path is not None:
            self._path.sketch.keep_above(size.height())


def _small(name: str, width_px: float, align: Qt.AlignmentFlag) -> ValueField:
    return ValueField(name, width_px=width_px, height_px=20, size_px=12, align=align, flat=True)


def _texts(place: Place) -> dict[str, str]:
    return {
        "place.name": place.name,
        "place.latitude_deg": angle_text("place.latitude_deg", place.latitude_deg),
        "place.longitude_deg": angle_text("place.longitude_deg", place.longitude_deg),
        "place.elevation_m": length_text(place.elevation_m),
    }
