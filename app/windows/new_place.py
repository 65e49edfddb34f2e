"""Typing a place: name, coordinates, and the first night."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QDialog, QHBoxLayout, QVBoxLayout, QWidget

from app.theme import px
from app.widgets.buttons import Button
from app.widgets.text import Refusal, Text
from app.widgets.value_field import ValueField
from core.dates import date_text, spelt_date
from core.datetyped import typed_date
from core.edit import PlanError
from core.language import say
from core.measures import length_text
from core.newplan import first_plan
from core.parse import parse_value
from core.plan import Plan
from core.sentences import by_names

_ROWS = (
    ("place.name", say("Name"), say("Harbour wall")),
    ("place.latitude_deg", say("Latitude"), say("38.25 or 38.25° N")),
    ("place.longitude_deg", say("Longitude"), say("\N{MINUS SIGN}9.5 or 9.5° W")),
    ("place.elevation_m", say("Elevation"), say("above the sea")),
    ("shoots.A.date", say("First night"), ""),
)


class NewPlaceDialog(QDialog):
    """Asks until what was typed makes a plan; one sentence says what is missing."""

    def __init__(self, parent: QWidget | None, today: dt.date) -> None:
        super().__init__(parent)
        self.setWindowTitle(say("New place"))
        self.plan: Plan | None = None
        self.fields: dict[str, ValueField] = {}
        self._names: list[Text] = []
        self.refusal = Refusal()
        whole = QVBoxLayout(self)
        whole.setContentsMargins(px(20), px(16), px(20), px(16))
        whole.setSpacing(px(6))
        whole.addWidget(Text(say("Where do you shoot?"), size_px=17, weight=700))
        self._today = today
        about = say("The time zone follows from the coordinates; it can be changed later.")
        whole.addWidget(Text(about, size_px=11, ink="ink3"))
        for key, label, example in _ROWS:
            whole.addLayout(self._row(key, label, example))
        # As wide as the longest asks for, whatever its language.
        width = max(px(100), *(name.sizeHint().width() for name in self._names))
        for name in self._names:
            name.setFixedWidth(width)
        night = self.fields["shoots.A.date"]
        night.setText(date_text(today))
        night.setPlaceholderText(
            say("{date} or {plain}", date=spelt_date(today), plain=today.isoformat())
        )
        self.fields["place.elevation_m"].setText(length_text(0.0))
        whole.addWidget(self.refusal)
        whole.addLayout(self._buttons())
        self.setMinimumWidth(px(420))
        self.fields["place.name"].setFocus()

    @staticmethod
    def ask(parent: QWidget) -> Plan | None:
        """The plan that was typed, or None when it was given up."""
        dialog = NewPlaceDialog(parent, dt.datetime.now().astimezone().date())
        dialog.exec()
        return dialog.plan

    def _row(self, key: str, label: str, example: str) -> QHBoxLayout:
        line = QHBoxLayout()
        name = Text(label, ink="ink2")
        self._names.append(name)
        left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        field = ValueField(label, width_px=None, size_px=13, align=left)
        field.setPlaceholderText(example)
        field.installEventFilter(self)
        self.fields[key] = field
        line.addWidget(name)
        line.addWidget(field)
        return line

    def _buttons(self) -> QHBoxLayout:
        line = QHBoxLayout()
        line.setContentsMargins(0, px(8), 0, 0)
        take = Button(say("Start the plan"), strong=True)
        take.setDefault(True)
        take.clicked.connect(self.take)
        leave = Button(say("Cancel"))
        leave.clicked.connect(self.reject)
        line.addStretch(1)
        line.addWidget(leave)
        line.addWidget(take)
        return line

    def eventFilter(self, _field: QObject, event: QEvent) -> bool:  # noqa: N802 (Qt's name)
        """Start the plan with Enter, which a field would keep to itself."""
        if not isinstance(event, QKeyEvent) or event.type() != QEvent.Type.KeyPress:
            return False
        if event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            return False
        self.take()
        return True

    def take(self) -> None:
        """Make a plan of what stands in the fields, or say what cannot stand."""
        try:
            self.plan = self._typed()
        except PlanError as refusal:
            self.refusal.tell(by_names(str(refusal), _LABELS))
            self.adjustSize()
        else:
            self.accept()

    def _typed(self) -> Plan:
        names = ("latitude_deg", "longitude_deg", "elevation_m")
        latitude, longitude, elevation = (self._number(f"place.{name}") for name in names)
        return first_plan(
            self.fields["place.name"].text().strip(),
            latitude,
            longitude,
            typed_date(self.fields["shoots.A.date"].text(), self._today.year),
            elevation_m=elevation,
        )

    def _number(self, key: str) -> float:
        text = self.fields[key].text()
        value = parse_value(key, text)
        if not isinstance(value, (int, float)):
            raise PlanError(say("{label} is empty; a number was expected.", label=_LABELS[key]))
        return float(value)


_LABELS = {key: label for key, label, _ in _ROWS}
