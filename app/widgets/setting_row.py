"""One setting: its name and a note, a field for the exact value, a slider along its scale."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRect, QSize, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import px, scale_changes
from app.widgets.lock import Lock
from app.widgets.marks import Mark
from app.widgets.scale_slider import ScaleSlider, SliderState
from app.widgets.text import Refusal, Text
from app.widgets.value_field import ValueField
from core.language import say

_TOP_PX = 24.0
_ROW_PX = 45.0


@dataclass(frozen=True)
class RowState:
    """What a row shows.

    `fails` names the limit that the value breaks; it stands in place of the note. `spoken` and
    `good` are the value and the good range in words, for a screen reader.
    """

    value: str
    slider: SliderState
    note: str = ""
    fails: str = ""
    spoken: str = ""
    good: str = ""
    tip: str = ""
    locked: bool = False


class SettingRow(QWidget):
    """A row of 45 px; the slider comes before the value in the order of the keyboard.

    Signals
    -------
    grasped
        A new movement of the hand begins, and a new step of undo.
    picked, stepped, good_end, reset
        As from the slider; up and down in the value step as well.
    typed
        A text for the value. The owner answers with `accept` or `refuse`.
    locked
        The lock was closed or opened.
    """

    grasped = Signal()
    picked = Signal(int)
    stepped = Signal(int, bool)
    good_end = Signal(int)
    reset = Signal()
    typed = Signal(str)
    locked = Signal(bool)

    def __init__(self, name: str, parent: QWidget | None = None, *, lockable: bool = True) -> None:
        super().__init__(parent)
        self._name = name
        self._state: RowState | None = None
        self._label = Text(name, self)
        self.lock = Lock(name, self)
        self.lock.setVisible(lockable)
        self._mark = Mark("stop", self, size_px=13)
        self._note = Text("", self, size_px=11, ink="ink2")
        self._mark.hide()
        self.slider = ScaleSlider(name, self)
        self.field = ValueField(say("{name}, value", name=name), self, width_px=96)
        self._refusal = Refusal(self)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._connect()

    def _connect(self) -> None:
        slider, field = self.slider, self.field
        slider.grasped.connect(self.grasped)
        slider.picked.connect(self.picked)
        slider.stepped.connect(self.stepped)
        slider.good_end.connect(self.good_end)
        slider.reset.connect(self.reset)
        slider.opened.connect(field.open_with)
        field.opened.connect(self.grasped)
        field.entered.connect(self.typed)
        field.stepped.connect(self._step_from_field)
        field.reset.connect(self._reset_from_field)
        field.restored.connect(self._say_nothing)
        slider.locking.connect(self.lock.click)
        self.lock.clicked.connect(self.locked)
        scale_changes().changed.connect(self._lay_out)

    @property
    def state(self) -> RowState | None:
        """What it shows; None before the first."""
        return self._state

    @property
    def refusal(self) -> str:
        """The sentence beneath the field; empty while nothing is wrong."""
        return self._refusal.sentence

    def show_state(self, state: RowState) -> None:
        """Show another state; only what changed is repainted."""
        if state == self._state:
            return
        self._state = state
        self.slider.show_state(state.slider)
        self.field.show_value(state.value)
        self.lock.setChecked(state.locked)
        alarmed = bool(state.fails)
        self._mark.setVisible(alarmed)
        if alarmed:
            self._note.show_text(state.fails, size_px=12, weight=600, ink="alarm")
        else:
            self._note.show_text(state.note, size_px=11, weight=400, ink="ink2")
        self._describe(state)
        self._lay_out()

    def accept(self) -> None:
        """The typed text was taken."""
        self._say_nothing()
        self.field.accept()

    def refuse(self, sentence: str) -> None:
        """The typed text was not understood: it stays, with one sentence beneath."""
        self.field.refuse()
        self._refusal.tell(sentence)
        self.field.setAccessibleDescription(self.refusal)
        self.updateGeometry()
        self._lay_out()

    def _say_nothing(self) -> None:
        if self._refusal.sentence:
            self._refusal.tell("")
            self.field.setAccessibleDescription(self._state.good if self._state else "")
            self.updateGeometry()

    def _describe(self, state: RowState) -> None:
        lock = say("locked") if state.locked else ""
        parts = [part for part in (state.spoken, lock, state.fails, state.good) if part]
        self.slider.setAccessibleDescription("; ".join(parts))
        self.field.setAccessibleDescription(self._refusal.sentence or state.good)
        self.slider.setToolTip(state.tip)

    def _step_from_field(self, steps: int, fine: bool) -> None:
        self.accept()
        self.stepped.emit(steps, fine)

    def _reset_from_field(self) -> None:
        self.reset.emit()
        self.accept()

    def hasHeightForWidth(self) -> bool:
        """A refused text needs a line beneath, as high as its sentence is long."""
        return True

    def heightForWidth(self, width: int) -> int:
        """The row and the sentence beneath it."""
        beneath = self._refusal.heightForWidth(width) if self._refusal.sentence else 0
        return px(_ROW_PX) + beneath

    def sizeHint(self) -> QSize:
        """The row at the width it has."""
        return QSize(px(200), self.heightForWidth(max(self.width(), px(200))))

    def minimumSizeHint(self) -> QSize:
        """The same: nothing of a row is cut."""
        return QSize(px(180), self.heightForWidth(max(self.width(), px(200))))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the parts out anew."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        top, width = px(_TOP_PX), self.width()
        field_width = self.field.sizeHint().width()
        self.field.setGeometry(width - field_width, 0, field_width, top)
        lock = self.lock.sizeHint()
        left = lock.width() + px(4)
        self.lock.setGeometry(0, (top - lock.height()) // 2, lock.width(), lock.height())
        label = min(self._label.sizeHint().width(), width - field_width - left)
        self._label.setGeometry(left, 0, label, top)
        x = left + label + px(6)
        if self._state is not None and self._state.fails:
            side = self._mark.sizeHint().width()
            self._mark.setGeometry(x, (top - side) // 2, side, side)
            x += side + px(4)
        self._note.setGeometry(QRect(x, px(1), max(0, width - field_width - px(4) - x), top))
        self.slider.setGeometry(0, top, width, px(_ROW_PX) - top)
        if self._refusal.sentence:
            height = self._refusal.heightForWidth(width)
            self._refusal.setGeometry(0, px(_ROW_PX), width, height)
