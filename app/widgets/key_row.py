"""One value of the plan by its key: label, field, and what was not understood."""

from __future__ import annotations

import contextlib
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QComboBox, QHBoxLayout, QVBoxLayout, QWidget

from app.store import Store
from app.theme import px
from app.widgets.choice_box import ChoiceBox
from app.widgets.text import Refusal, Text
from app.widgets.value_field import ValueField
from core.edit import PlanError, get_value
from core.fields import Field, field_of
from core.language import say
from core.parse import parse_value
from core.phrases import within
from core.sentences import by_names

_LABEL_PX, _FIELD_PX = 200, 240


class KeyRow(QWidget):
    """Shows a value of the store's plan and sends what the pilot makes of it."""

    def __init__(self, store: Store, key: str, label: str, group: str = "") -> None:
        super().__init__()
        field = field_of(key)
        if field is None:
            raise KeyError(key)
        self._store, self._key, self._label, self._field = store, key, label, field
        self._spoken = f"{group}: {label}" if group else label
        self._refusal = Refusal()
        name = Text(label, ink="ink2")
        name.setFixedWidth(px(_LABEL_PX))
        line = QHBoxLayout()
        line.setContentsMargins(0, 0, 0, 0)
        line.addWidget(name)
        line.addWidget(self._editor())
        if field.kind != "list":
            line.addStretch(1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, px(2), 0, px(2))
        whole.setSpacing(0)
        whole.addLayout(line)
        whole.addWidget(self._refusal)
        self.refresh()

    @property
    def refusal(self) -> str:
        """What is wrong with the text that stands in the field, if anything."""
        return self._refusal.sentence

    def _editor(self) -> QWidget:
        if self._field.kind == "choice":
            self.editor: QWidget = self._choice(self._field)
        elif self._field.kind == "switch":
            box = QCheckBox()
            box.clicked.connect(self._send)
            self.editor = box
        else:
            left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
            # A list is long: it takes all the room there is.
            width = None if self._field.kind == "list" else _FIELD_PX
            value = ValueField(self._spoken, width_px=width, align=left, size_px=13)
            value.opened.connect(self._store.begin_gesture)
            value.entered.connect(partial(self._take, value))
            value.restored.connect(self._say_nothing)
            value.reset.connect(partial(self._reset, value))
            self.editor = value
        self.editor.setAccessibleName(self._spoken)
        self.show_unused("")
        return self.editor

    def _choice(self, field: Field) -> QComboBox:
        box = ChoiceBox()
        box.setFixedWidth(px(_FIELD_PX))
        for choice in field.choices:
            box.addItem(field.text(choice), choice)
        box.activated.connect(lambda row: self._send(box.itemData(row)))
        return box

    def _take(self, field: ValueField, text: str) -> None:
        """Take a typed text, or keep it standing with the reason beneath."""
        try:
            self._store.edit(self._step, {self._key: parse_value(self._key, text)})
        except PlanError as refusal:
            field.refuse()
            self._refusal.tell(self._by_its_label(str(refusal)))
            field.setAccessibleDescription(self._refusal.sentence)
        else:
            field.accept()
            self._say_nothing()

    def _by_its_label(self, sentence: str) -> str:
        """A refusal that names the value as the row does."""
        if sentence.startswith(f"{self._field.label} "):
            sentence = self._label + sentence.removeprefix(self._field.label)
        return by_names(sentence, {self._key: self._label})

    def _reset(self, field: ValueField) -> None:
        """Go back to the value of a new plan, where there is one."""
        if not self._field.required:
            self._send(self._field.default)
        field.accept()
        self._say_nothing()

    def _say_nothing(self) -> None:
        self._refusal.tell("")
        self.editor.setAccessibleDescription("")

    def _send(self, value: object) -> None:
        self._store.begin_gesture()
        with contextlib.suppress(PlanError):  # a choice is always one of the plan's own
            self._store.edit(self._step, {self._key: value})

    @property
    def _step(self) -> str:
        """The name of a step of undo: 'lens f-numbers' stays as it is, 'Write time' does not."""
        first, _, rest = self._spoken.partition(" ")
        first = within(first) if first[1:].islower() else first
        return f"{first} {rest}".rstrip()

    def show_unused(self, reason: str) -> None:
        """Let the value be typed, or say why it has no effect now."""
        self.editor.setEnabled(not reason)
        self.editor.setToolTip(
            reason or say("Expected: {expected}.", expected=self._field.expected)
        )

    def refresh(self) -> None:
        """Show the plan's value."""
        plan = self._store.plan
        if plan is None:
            return
        value = get_value(plan, self._key)
        if isinstance(self.editor, QComboBox):
            self.editor.setCurrentIndex(self.editor.findData(value))
        elif isinstance(self.editor, QCheckBox):
            self.editor.setChecked(bool(value))
        elif isinstance(self.editor, ValueField):
            self.editor.show_value(self._field.text(value))
