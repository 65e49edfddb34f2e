"""A labelled field for a value that is no part of the plan yet."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.theme import px, scale_changes
from app.widgets.text import Refusal, Text
from app.widgets.value_field import ValueField
from core.edit import PlanError

_LABEL_PX, _FIELD_PX = 150, 150


class TypedRow(QWidget):
    """Shows a value, takes what is typed for it, and says beneath what was not understood.

    Signals
    -------
    taken
        Another value was typed and understood.

    Parameters
    ----------
    parse
        From a typed text to a value; raises PlanError with one sentence.
    show
        From a value to its text.
    label_px, field_px
        Widths of label and field at 100 % text.
    """

    taken = Signal()

    def __init__(
        self,
        label: str,
        value: object,
        parse: Callable[[str], Any],
        show: Callable[[Any], str],
        *,
        label_px: float = _LABEL_PX,
        field_px: float = _FIELD_PX,
    ) -> None:
        super().__init__()
        self._value: Any = value
        self._parse, self._show = parse, show
        self._refusal = Refusal()
        self._note = Text("", size_px=12, ink="ink2")
        self._name, self._label_px = Text(label, ink="ink2"), label_px
        self._rescale()
        scale_changes().changed.connect(self._rescale)
        left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        self.field = ValueField(label, width_px=field_px, align=left, size_px=13)
        self.field.entered.connect(self.take)
        self.field.restored.connect(lambda: self._refusal.tell(""))
        line = QHBoxLayout()
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(px(8))
        line.addWidget(self._name)
        line.addWidget(self.field)
        line.addWidget(self._note, 1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, px(2), 0, px(2))
        whole.setSpacing(0)
        whole.addLayout(line)
        whole.addWidget(self._refusal)
        self.field.show_value(show(value))

    def _rescale(self) -> None:
        self._name.setFixedWidth(px(self._label_px))

    @property
    def value(self) -> Any:
        """The last value that was understood."""
        return self._value

    @property
    def refusal(self) -> str:
        """What is wrong with the text that stands in the field, if anything."""
        return self._refusal.sentence

    @property
    def noted(self) -> str:
        """What is said beside the field."""
        return self._note.text()

    def put(self, value: object) -> None:
        """Show another value; a text that is being typed or was refused stays."""
        self._value = value
        self.field.show_value(self._show(value))

    def clear(self) -> None:
        """Hold no value, and no text that was typed or refused."""
        self._value = None
        self.field.show_value(self._show(None))
        self.field.accept()
        self._refusal.tell("")

    def note(self, text: str) -> None:
        """Say something beside the field."""
        self._note.show_text(text)

    def take(self, text: str) -> None:
        """Take a typed text, or keep it standing with the reason beneath."""
        try:
            value = self._parse(text)
        except PlanError as refusal:
            self.field.refuse()
            self._refusal.tell(str(refusal))
            self.field.setAccessibleDescription(str(refusal))
            return
        self._value = value
        self._refusal.tell("")
        self.field.setAccessibleDescription("")
        self.field.show_value(self._show(value))
        self.field.accept()
        self.taken.emit()

    def settle(self) -> bool:
        """Take a text that is still being typed; whether the field's text is understood."""
        if self.field.isModified() or self.field.refused:
            self.take(self.field.text())
        return not self.field.refused
