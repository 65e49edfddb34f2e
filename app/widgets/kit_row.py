"""Taking a craft or camera from the library, and keeping the plan's own in it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.library import forget_kit, keep_kit, library, library_or_none
from app.store import Store
from app.theme import px
from app.widgets.buttons import Button
from app.widgets.choice_box import ChoiceBox
from app.widgets.text import Refusal, Text
from app.widgets.value_field import ValueField
from core.edit import PlanError
from core.kits import READY, Kit, KitKind
from core.language import say

_LABEL_PX, _FIELD_PX = 200, 240
_OTHER: Final = say("as typed below")


class _Words(NamedTuple):
    """What the row says of one kind, and the name of its step of undo."""

    listed: str
    name: str
    keep: str
    forget: str
    step: str


_WORDS: Final[dict[KitKind, _Words]] = {
    "craft": _Words(
        say("Craft from the library"),
        say("Name to keep this craft under"),
        say("Keep this craft in the library"),
        say("Forget this craft of the library"),
        say("craft {name}"),
    ),
    "camera": _Words(
        say("Camera from the library"),
        say("Name to keep this camera under"),
        say("Keep this camera in the library"),
        say("Forget this camera of the library"),
        say("camera {name}"),
    ),
}


class KitRow(QWidget):
    """A list to choose from, a name to keep the plan's under, and a button to forget one."""

    def __init__(self, store: Store, kind: KitKind) -> None:
        super().__init__()
        self._store, self._kind, words = store, kind, _WORDS[kind]
        self._shown: Kit | None = None
        self._refusal = Refusal()
        self.box = _LateBox(self._fill)
        self.box.setAccessibleName(words.listed)
        self.box.setFixedWidth(px(_FIELD_PX))
        self.box.activated.connect(self._take)
        left = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        self.name = ValueField(
            words.name,
            width_px=_FIELD_PX,
            align=left,
            size_px=13,
        )
        self.name.entered.connect(lambda _text: self._refusal.tell(""))
        self.keep, self.forget = Button(say("Keep")), Button(say("Forget"))
        self.keep.setAccessibleName(words.keep)
        self.forget.setAccessibleName(words.forget)
        self.keep.clicked.connect(self._keep)
        self.forget.clicked.connect(self._forget)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, px(2), 0, px(2))
        whole.setSpacing(px(4))
        whole.addLayout(_line(say("From the library"), self.box))
        whole.addLayout(_line(say("Keep in the library as"), self.name))
        whole.addLayout(_line("", self.keep, self.forget))
        whole.addWidget(self._refusal)
        self.refresh()

    @property
    def refusal(self) -> str:
        """What is wrong with the name or the library's file; empty while nothing is."""
        return self._refusal.sentence

    @property
    def _kit(self) -> Kit | None:
        plan = self._store.plan
        if plan is None:
            return None
        return plan.craft if self._kind == "craft" else plan.camera

    def refresh(self) -> None:
        """Show under which name the plan's is kept; the library is read only for another one."""
        if self._kit != self._shown:
            self._show()

    def _show(self) -> None:
        kit = self._shown = self._kit
        if kit is None:
            return
        name = library_or_none().name_of(self._kind, kit)
        self._fill()
        self.box.setCurrentIndex(max(self.box.findData(name or None), 0))
        self.forget.setEnabled(bool(name) and name not in READY[self._kind])
        self.name.show_value("" if name in READY[self._kind] else name)

    def _fill(self) -> None:
        """List what is kept now, perhaps from another window."""
        every = list(library_or_none().every(self._kind))
        texts = [_OTHER, *every]
        if [self.box.itemText(row) for row in range(self.box.count())] != texts:
            shown = self.box.currentData()
            self.box.clear()
            self.box.addItem(_OTHER, None)
            for name in every:
                self.box.addItem(name, name)
            self.box.setCurrentIndex(max(self.box.findData(shown), 0))

    def _take(self, row: int) -> None:
        name = self.box.itemData(row)
        kit = library_or_none().every(self._kind).get(name)
        if kit is not None:
            self._store.begin_gesture()
            self._store.edit(_WORDS[self._kind].step.format(name=name), {self._kind: kit})
        self._refusal.tell("")
        self._show()

    def _keep(self) -> None:
        kit = self._kit
        if kit is None:
            return
        try:
            keep_kit(self._kind, self.name.text(), kit)
        except PlanError as refusal:
            self._refusal.tell(str(refusal))
            return
        self.name.accept()
        self._refusal.tell("")
        self._show()

    def _forget(self) -> None:
        kit = self._kit
        if kit is None:
            return
        try:
            forget_kit(self._kind, library().name_of(self._kind, kit))
        except PlanError as refusal:
            self._refusal.tell(str(refusal))
            return
        self._refusal.tell("")
        self._show()


class _LateBox(ChoiceBox):
    """A list that is filled when it opens."""

    def __init__(self, fill: Callable[[], None]) -> None:
        super().__init__()
        self._fill = fill

    def showPopup(self) -> None:
        """Read the library before it is shown."""
        self._fill()
        super().showPopup()


def _line(label: str, *widgets: QWidget) -> QHBoxLayout:
    line = QHBoxLayout()
    line.setContentsMargins(0, 0, 0, 0)
    line.setSpacing(0)
    name = Text(label, ink="ink2")
    name.setFixedWidth(px(_LABEL_PX))
    line.addWidget(name)
    for widget in widgets:
        line.addWidget(widget)
        line.addSpacing(px(6))
    line.addStretch(1)
    return line
