"""How the take is flown: which visit it is, which way along the path, with what charge."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QCheckBox, QGridLayout, QVBoxLayout, QWidget

from app.store import Store
from app.theme import px, scale_changes
from app.widgets.switch import Switch
from app.widgets.text import Refusal, Text
from app.widgets.value_field import ValueField
from core.edit import PlanError
from core.fields import field_of
from core.language import say
from core.parse import parse_value
from core.phrases import VISIT_NAMES
from core.sentences import by_names
from core.words import number_text

_VISITS: Final = tuple(VISIT_NAMES)


class FlownBox(QWidget):
    """Visit, direction of the path and charge at take-off of the active shoot, in one row."""

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._shown = store.active
        self.visit = Switch(say("Visit"), tuple(VISIT_NAMES.values()), height_px=22, size_px=12)
        self.visit.setToolTip(say("A first visit needs more time to set up than a repeat one."))
        self.reversed = QCheckBox(say("reversed"))
        self.reversed.setAccessibleName(say("Path reversed"))
        self.charge = ValueField(say("Charge at take-off"), width_px=70, height_px=22, size_px=13)
        self._refusal = Refusal()
        self._compose()
        self.visit.chosen.connect(self._choose_visit)
        self.reversed.clicked.connect(self._reverse)
        self.charge.opened.connect(store.begin_gesture)
        self.charge.entered.connect(self._type_charge)
        self.charge.stepped.connect(self._step_charge)
        self.charge.reset.connect(self._reset_charge)
        self.charge.restored.connect(lambda: self._refusal.tell(""))
        store.changed.connect(self._refresh)
        scale_changes().changed.connect(self._rescale)
        self._refresh()

    def _compose(self) -> None:
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 0, 0, 0)
        labels = (say("visit"), say("path"), say("start charge"))
        for column, (label, editor) in enumerate(
            zip(labels, (self.visit, self.reversed, self.charge), strict=True)
        ):
            self._grid.addWidget(Text(label, size_px=11, ink="ink2"), 0, column)
            self._grid.addWidget(editor, 1, column)
        self._grid.setColumnStretch(0, 1)
        self._whole = QVBoxLayout(self)
        self._whole.addLayout(self._grid)
        self._whole.addWidget(self._refusal)
        self._rescale()

    def _rescale(self) -> None:
        self._grid.setHorizontalSpacing(px(8))
        self._grid.setVerticalSpacing(px(1))
        self._whole.setContentsMargins(0, px(2), 0, px(2))
        self._whole.setSpacing(0)

    @property
    def refusal(self) -> str:
        """The sentence beneath the charge; empty while nothing is wrong."""
        return self._refusal.sentence

    def _refresh(self) -> None:
        plan = self._store.plan
        if plan is None:
            return
        shoot = plan.shoot(self._store.active)
        if self._store.active != self._shown:
            self._shown = self._store.active
            self._refusal.tell("")
            self.charge.accept()
        self.visit.show_choice(_VISITS.index(shoot.visit))
        self.reversed.setChecked(shoot.path_reversed)
        self.charge.show_value(f"{number_text(shoot.battery_start_percent)} %")

    def _key(self, name: str) -> str:
        return f"shoots.{self._store.active}.{name}"

    def _choose_visit(self, place: int) -> None:
        self._store.begin_gesture()
        self._store.edit(say("visit"), {self._key("visit"): _VISITS[place]})

    def _reverse(self, reverse: bool) -> None:
        self._store.begin_gesture()
        self._store.edit(say("path reversed"), {self._key("path_reversed"): reverse})

    def _type_charge(self, text: str) -> None:
        key = self._key("battery_start_percent")
        try:
            self._store.edit(say("charge at take-off"), {key: parse_value(key, text)})
        except PlanError as refusal:
            self.charge.refuse()
            self._refusal.tell(by_names(str(refusal), {key: say("Charge at take-off")}))
        else:
            self._refusal.tell("")
            self.charge.accept()

    def _step_charge(self, steps: int, _fine: bool) -> None:
        plan = self._store.plan
        if plan is not None:
            percent = plan.shoot(self._store.active).battery_start_percent + steps
            self._set_charge(min(max(percent, 1.0), 100.0))

    def _reset_charge(self) -> None:
        field = field_of("shoots.A.battery_start_percent")
        if field is not None and isinstance(field.default, (int, float)):
            self._set_charge(field.default)

    def _set_charge(self, percent: float) -> None:
        self._store.edit(say("charge at take-off"), {self._key("battery_start_percent"): percent})
        self._refusal.tell("")
        self.charge.accept()
