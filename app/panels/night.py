"""The left column: the place, and the night and conditions of the active shoot."""

from __future__ import annotations

import contextlib
import datetime as dt
from collections.abc import Mapping
from functools import partial
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QVBoxLayout, QWidget

from app.remember import Last
from app.shown.conditions import CONDITIONS, Entry
from app.shown.moments import moment_rows
from app.shown.moon import moon_words
from app.shown.readings import NO_PLACE
from app.store import Store
from app.theme import px, scale_changes, theme_of
from app.widgets.buttons import Button
from app.widgets.flags import Flag
from app.widgets.path_box import PathBox
from app.widgets.place_box import PlaceBox
from app.widgets.readout import Cell, Column, Table
from app.widgets.roomy import is_roomy
from app.widgets.rule import Rule
from app.widgets.switch import Switch
from app.widgets.text import Refusal, Text
from app.widgets.value_field import ValueField
from core.dates import date_text, short_date
from core.datetyped import typed_date
from core.edit import PlanError
from core.language import say
from core.manner import Manner, manner
from core.names import twilight_text
from core.outlook import Outlook
from core.phrases import within
from core.plan import SHOOT_NAMES, Conditions, Shoot, ShootName, Twilight

_TWILIGHTS: Final[tuple[Twilight, Twilight]] = ("dusk", "dawn")
#: Single angle quotation marks, to the left and to the right.
_DAY_SIGNS = ("\u2039", "\u203a")
_MARGINS_PX = (16, 10, 14, 8)
_TOGETHER = say(
    "Date, dusk or dawn and conditions change for A and B together; untick to part them."
)
_APART = say(
    "Date, dusk or dawn and conditions change for {name} alone; tick to give {other} the same "
    "night."
)


class NightPanel(QWidget):
    """Place, date, dusk or dawn, moments, moon and conditions."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._together = True
        self._held = False
        self._told: Last[tuple[tuple[tuple[Cell, ...], ...], str]] = Last()
        self._airs_shown: tuple[Conditions, Conditions, Manner] | None = None
        self.place = PlaceBox(store)
        self.path = PathBox(store)
        self._path_head = Text(say("Path"), weight=600)
        self._path_rule = Rule()
        self._flag = Flag("A")
        self.same = QCheckBox()
        self._other_flag = Flag("B", hollow=True, at_right=True)
        self.before, self.after = (Button(sign, height_px=26) for sign in _DAY_SIGNS)
        middle = Qt.AlignmentFlag.AlignCenter
        self.date = ValueField(say("Date"), width_px=None, height_px=26, size_px=13, align=middle)
        self._date_refusal = Refusal()
        self.twilight = Switch(say("Twilight"), (say("Dusk"), say("Dawn")))
        self._reason = Text("", size_px=12, ink="ink2", wraps=True)
        self.moments = Table(say("Moments"), (Column(1, "left"), Column(), Column()))
        self._moon = Text("", ink="ink2", wraps=True)
        self.conditions = {entry.name: _ConditionRow(entry) for entry in CONDITIONS}
        self._compose()
        self._connect()
        self._refresh()

    def _compose(self) -> None:
        self._layout = QVBoxLayout(self)
        self._layout.setSpacing(0)
        self._layout.addWidget(self.place)
        self._head = _row(
            self._flag, Text(say("Night"), weight=600), None, self.same, self._other_flag
        )
        self._dates = _row(self.before, self.date, self.after)
        self._layout.addLayout(self._head)
        self._layout.addLayout(self._dates)
        for part in (
            self._date_refusal, self.twilight, self._reason, self.moments, self._moon, Rule(),
        ):  # fmt: skip
            self._layout.addWidget(part)
        self._airs = QVBoxLayout()
        for row in self.conditions.values():
            self._airs.addWidget(row)
        self._layout.addLayout(self._airs)
        self._layout.addWidget(self._path_rule)
        self._layout.addWidget(self._path_head)
        self._layout.addStretch(0)
        self._place_path()
        self.before.setAccessibleName(say("A day earlier"))
        self.after.setAccessibleName(say("A day later"))
        for button in (self.before, self.after):
            button.setAutoRepeat(True)
        self._rescale()

    def _rescale(self) -> None:
        left, top, right, bottom = (px(margin) for margin in _MARGINS_PX)
        self._layout.setContentsMargins(left, top, right, bottom)
        self._layout.setSpacing(px(5))
        self._airs.setSpacing(px(3))
        self._head.setSpacing(px(7))
        self._dates.setSpacing(px(4))

    def _connect(self) -> None:
        store = self._store
        self.same.clicked.connect(self._tie)
        for button, days in ((self.before, -1), (self.after, 1)):
            button.pressed.connect(self._begin_unless_held)
            button.clicked.connect(partial(self._step_by_button, button, days))
        self.date.opened.connect(store.begin_gesture)
        self.date.entered.connect(self._type_date)
        self.date.stepped.connect(lambda steps, _fine: self._step_date(steps))
        self.date.restored.connect(lambda: self._date_refusal.tell(""))
        self.twilight.chosen.connect(self._choose_twilight)
        for row in self.conditions.values():
            row.field.opened.connect(store.begin_gesture)
            row.field.entered.connect(partial(self._type_condition, row))
            row.field.stepped.connect(partial(self._step_condition, row))
            row.field.reset.connect(partial(self._reset_condition, row))
        store.changed.connect(self._refresh)
        scale_changes().changed.connect(self._rescale)

    # ---- what it shows ----

    @property
    def moon(self) -> str:
        """The line about the moon."""
        return self._moon.text()

    @property
    def date_refusal(self) -> str:
        """The sentence beneath the date; empty while nothing is wrong."""
        return self._date_refusal.sentence

    def _shoots(self) -> tuple[ShootName, Shoot, ShootName, Shoot] | None:
        """Name and values of the active shoot and of the other one."""
        plan, active = self._store.plan, self._store.active
        if plan is None:
            return None
        other: ShootName = "B" if active == "A" else "A"
        return active, plan.shoot(active), other, plan.shoot(other)

    def _refresh(self) -> None:
        shoots = self._shoots()
        seen = self._store.outlook(self._store.active)
        self.setEnabled(shoots is not None)
        self.setToolTip("" if shoots else NO_PLACE)
        if shoots is None or seen is None:
            return
        active, shoot, other, beside = shoots
        if active != self._flag.name:
            self._drop_refusals()
        self._refresh_head(active, shoot, other, beside)
        weight = 700 if shoot.date != beside.date else 600
        self.date.show_value(date_text(shoot.date), weight)
        self.twilight.show_choice(_TWILIGHTS.index(shoot.twilight))
        self._reason.setVisible(seen.night.reason is not None)
        self._reason.show_text(seen.night.reason or "")
        self._refresh_moments(seen)
        airs = shoot.conditions, beside.conditions, manner()
        if airs != self._airs_shown:
            self._airs_shown = airs
            for row in self.conditions.values():
                row.show_air(shoot.conditions, beside.conditions)

    def _drop_refusals(self) -> None:
        """A text that was not understood belonged to the other shoot."""
        self._date_refusal.tell("")
        self.date.accept()
        for row in self.conditions.values():
            row.accept()

    def _refresh_head(
        self, active: ShootName, shoot: Shoot, other: ShootName, beside: Shoot
    ) -> None:
        self._flag.show_shoot(active)
        self._other_flag.show_shoot(other)
        same = _same_night(shoot, beside) and shoot.conditions == beside.conditions
        tied = same and self._together
        self.same.setText(_beside_words(shoot, beside))
        self.same.setChecked(tied)
        self.same.setAccessibleName(say("{other} has {text}", other=other, text=self.same.text()))
        tip = _TOGETHER if tied else _APART.format(name=active, other=other)
        self.same.setToolTip(tip)
        self.same.setAccessibleDescription(tip)

    def _refresh_moments(self, seen: Outlook) -> None:
        rows, moon = self._told.of(
            (seen.night, seen.light),
            (seen.name, seen.press_s),
            lambda: (moment_rows(seen), moon_words(seen.night, seen.press_s)),
        )
        self.moments.show_rows(rows)
        self._moon.show_text(moon)

    def _place_path(self) -> None:
        """Give the path its own place in a roomy window, else the map's at the turn of a switch."""
        roomy, picture = is_roomy(self), self.place.picture
        at = self._layout.indexOf(self._path_head) + 1
        if roomy and self._layout.indexOf(self.path) < 0:
            picture.hold(None)
            self._layout.insertWidget(at, self.path, 1)
            self.path.show()
        elif not roomy and picture.path is None:
            picture.hold(self.path)
        for part in (self._path_rule, self._path_head):
            part.setVisible(roomy)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Place the path by the room there is."""
        super().resizeEvent(event)
        self._place_path()

    def heightForWidth(self, width: int) -> int:
        """The least height: the map gives up some of its own before the rows must scroll."""
        return self._layout.minimumHeightForWidth(width)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the line that parts the column from the sheet."""
        line = max(1, px(1))
        QPainter(self).fillRect(self.width() - line, 0, line, self.height(), theme_of(self).rule)

    # ---- what it sends ----

    def _affected(self) -> tuple[ShootName, ...]:
        """The shoots that an edit of the night moves: both while they are tied."""
        return SHOOT_NAMES if self.same.isChecked() else (self._store.active,)

    def _send(self, label: str, values: Mapping[str, object]) -> None:
        self._store.edit(
            label,
            {
                f"shoots.{name}.{key}": value
                for name in self._affected()
                for key, value in values.items()
            },
        )

    def _send_quietly(self, label: str, values: Mapping[str, object]) -> None:
        # Beyond the last day that is computed, or the end of a range, nothing moves.
        with contextlib.suppress(PlanError):
            self._send(label, values)

    def _tie(self, tied: bool) -> None:
        """Tie the nights of both shoots together, or part them."""
        shoots = self._shoots()
        self._together = tied
        if shoots is None or not tied:
            self._refresh()
            return
        _, shoot, other, _ = shoots
        self._store.begin_gesture()
        self._store.edit(
            say("same night for {other}", other=other),
            {
                f"shoots.{other}.date": shoot.date,
                f"shoots.{other}.twilight": shoot.twilight,
                f"shoots.{other}.conditions": shoot.conditions,
            },
        )
        self._refresh()

    def _begin_unless_held(self) -> None:
        """A button that is held down steps on and on as one movement."""
        if not self._held:
            self._store.begin_gesture()

    def _step_by_button(self, button: Button, days: int) -> None:
        self._held = button.isDown()
        self._step_date(days)

    def _step_date(self, days: int) -> None:
        shoots = self._shoots()
        if shoots is not None:
            with contextlib.suppress(OverflowError):
                self._send_quietly(say("date"), {"date": shoots[1].date + dt.timedelta(days=days)})
            self._date_refusal.tell("")
            self.date.accept()

    def _type_date(self, text: str) -> None:
        shoots = self._shoots()
        if shoots is None:
            return
        try:
            self._send(say("date"), {"date": typed_date(text, shoots[1].date.year)})
        except PlanError as refusal:
            self.date.refuse()
            self._date_refusal.tell(_with_name(refusal, "date", say("Date")))
        else:
            self._date_refusal.tell("")
            self.date.accept()

    def _choose_twilight(self, place: int) -> None:
        """Turn to dusk or dawn; a start goes to the same minutes on the other side of its event."""
        plan = self._store.plan
        twilight = _TWILIGHTS[place]
        if plan is None or plan.shoot(self._store.active).twilight == twilight:
            return
        values: dict[str, object] = {}
        for name in self._affected():
            minutes = plan.shoot(name).start_after_event_min
            values[f"shoots.{name}.twilight"] = twilight
            values[f"shoots.{name}.start_after_event_min"] = -minutes
        self._store.begin_gesture()
        self._store.edit(twilight_text(twilight), values)

    def _type_condition(self, row: _ConditionRow, text: str) -> None:
        try:
            values = row.entry.read(text)
            self._send(within(row.entry.name), _in_conditions(values))
        except PlanError as refusal:
            sentence = str(refusal)
            for key in row.entry.keys:
                sentence = _with_name(PlanError(sentence), f"conditions.{key}", row.entry.name)
            row.refuse(sentence)
        else:
            row.accept()

    def _step_condition(self, row: _ConditionRow, steps: int, _fine: bool) -> None:
        shoots = self._shoots()
        if shoots is not None:
            values = row.entry.step(shoots[1].conditions, steps)
            self._send_quietly(within(row.entry.name), _in_conditions(values))
            row.accept()

    def _reset_condition(self, row: _ConditionRow) -> None:
        self._send_quietly(within(row.entry.name), _in_conditions(row.entry.default()))
        row.accept()


def _row(*widgets: QWidget | None) -> QHBoxLayout:
    """Widgets beside each other; None is the room between."""
    layout = QHBoxLayout()
    for widget in widgets:
        if widget is None:
            layout.addStretch(1)
        else:
            layout.addWidget(widget)
    return layout


def _same_night(one: Shoot, other: Shoot) -> bool:
    return (one.date, one.twilight) == (other.date, other.twilight)


def _beside_words(shoot: Shoot, beside: Shoot) -> str:
    """What the other shoot's night is beside this one."""
    if shoot.date != beside.date:
        return short_date(beside.date)
    if shoot.twilight != beside.twilight:
        return say("the dusk") if beside.twilight == "dusk" else say("the dawn")
    return say("the same") if shoot.conditions == beside.conditions else say("other weather")


def _in_conditions(values: Mapping[str, object]) -> dict[str, object]:
    return {f"conditions.{key}": value for key, value in values.items()}


def _with_name(refusal: PlanError, key: str, name: str) -> str:
    """A refusal with the name that stands on the screen in place of the key."""
    sentence = str(refusal)
    for shoot in SHOOT_NAMES:
        sentence = sentence.replace(f"shoots.{shoot}.{key}", name)
    return sentence


class _ConditionRow(QWidget):
    """Name and field of one condition; what was not understood has a line beneath."""

    def __init__(self, entry: Entry) -> None:
        super().__init__()
        self.entry = entry
        self._label = Text(entry.name, ink="ink2")
        self.field = ValueField(entry.name, width_px=102, height_px=23, size_px=13)
        self.field.setToolTip(entry.hint)
        self.field.setAccessibleDescription(entry.hint)
        self._refusal = Refusal()
        line = _row(self._label, None, self.field)
        self._whole = QVBoxLayout(self)
        self._whole.addLayout(line)
        self._whole.addWidget(self._refusal)
        self._whole.setContentsMargins(0, 0, 0, 0)
        self._whole.setSpacing(0)
        self.field.restored.connect(lambda: self._refusal.tell(""))

    @property
    def refusal(self) -> str:
        """The sentence beneath; empty while nothing is wrong."""
        return self._refusal.sentence

    def show_air(self, air: Conditions, beside: Conditions) -> None:
        """Show the night's value, in 700 where the other shoot's differs."""
        self.field.show_value(self.entry.text(air), 600 if self.entry.same(air, beside) else 700)

    def refuse(self, sentence: str) -> None:
        """Keep the typed text with a sentence beneath."""
        self.field.refuse()
        self._refusal.tell(sentence)

    def accept(self) -> None:
        """The typed text was taken."""
        self._refusal.tell("")
        self.field.accept()
