"""Windows beside the main one: a column of headed parts that scrolls."""

from __future__ import annotations

import contextlib
from collections.abc import Hashable
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLayout,
    QScrollArea,
    QScrollBar,
    QVBoxLayout,
    QWidget,
)

from app.background import Background
from app.store import Store
from app.theme import px, scale_changes
from app.widgets.roomy import open_at
from app.widgets.text import Text
from core.language import say
from core.manner import manner
from core.outlook import Outlook
from core.plan import Plan
from core.starttime import parse_start, start_minutes
from core.words import clock_text

#: Stands while an answer is worked out, and where there is none by a fault of the program.
LOOKING = say("Looking …")
NO_ANSWER = say("There is no answer: this could not be worked out.")


class Pane(QWidget):
    """A window of one subject; what it shows is renewed when the store's forecasts settle."""

    def __init__(self, store: Store, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowFlag(self.windowType().Window, on=True)
        self.setWindowTitle(say("{title} \N{EN DASH} Duskwright", title=title))
        self._store = store
        self._filled_for: Hashable = None
        self._area = QScrollArea()
        self._area.setWidgetResizable(True)
        self._area.setFrameShape(QFrame.Shape.NoFrame)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self._area)
        open_at(self, 560, 660)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._renew_if_shown)
        self._soon.setInterval(0)
        # Straight to the timer: what outlives this window must not call into it.
        store.settled.connect(self._soon.start)
        # Once the type has reached every widget: a layout keeps what it measured before.
        scale_changes().changed.connect(self._build_anew, Qt.ConnectionType.QueuedConnection)

    def refresh(self) -> None:
        """Show the plan as it stands; for the window of a subject to write."""
        raise NotImplementedError

    def fill(self, column: QVBoxLayout) -> None:
        """Lay the parts out in a column; for the window of a subject to write."""
        raise NotImplementedError

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask for nothing any more."""
        waited = [one for one in self.findChildren(Background) if one.asked is not None]
        for behind in waited:
            behind.forget()
        if waited and self._store.plan is not None:
            self.forgotten()
        super().closeEvent(event)

    def forgotten(self) -> None:
        """Show no longer that an answer is looked for; for a window that asks to write."""

    def subject(self) -> Hashable:
        """What the fields were first filled for: another one fills them anew."""
        shoot = self._seen.shoot
        return (self._plan.place, self._store.active, shoot.date, shoot.twilight)

    def showEvent(self, event: object) -> None:
        """Be up to date when it comes up."""
        super().showEvent(event)  # type: ignore[arg-type]
        self._renew()

    @property
    def _plan(self) -> Plan:
        """The store's plan; asked for only while there is one."""
        plan = self._store.plan
        if plan is None:
            raise LookupError("no plan")
        return plan

    @property
    def _seen(self) -> Outlook:
        """The outlook of the active shoot; asked for only while there is a plan."""
        seen = self._store.outlook(self._store.active)
        if seen is None:
            raise LookupError("no plan")
        return seen

    def _typed_minutes(self, text: str) -> float:
        """Minutes after the event of the active shoot's night, as typed."""
        night = self._seen.night
        return start_minutes(parse_start(text), night.event.name, night.clock(night.event.time_s))

    def _minutes_text(self, minutes: float) -> str:
        """The clock so many minutes after the event."""
        night = self._seen.night
        return clock_text(night.clock(night.event.time_s + 60.0 * minutes), seconds=True)

    def _renew_if_shown(self) -> None:
        if self.isVisible():
            self._renew()

    def _renew(self) -> None:
        """Show what the store holds; nothing while there is no plan."""
        if self._store.plan is None:
            self._filled_for = None
            self._put(QWidget())
            return
        if self._filling() != self._filled_for:
            self._build()
        self.refresh()

    def _build_anew(self) -> None:
        """Lay everything out at another text scale."""
        self._filled_for = None
        self._renew_if_shown()

    def _build(self) -> None:
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(px(20), px(14), px(20), px(20))
        column.setSpacing(0)
        self.fill(column)
        column.addStretch(1)
        self._filled_for = self._filling()
        self._put(body)

    def _filling(self) -> Hashable:
        """The subject, in the manner that its fields are written in."""
        return manner(), self.subject()

    def scroll_bar(self) -> QScrollBar:
        """What the column is scrolled with."""
        return self._area.verticalScrollBar()

    def _put(self, body: QWidget) -> None:
        """Show another column, scrolled as far as the one before."""
        height = self.scroll_bar().value()
        # The old one may be telling of a click just now, so it goes later.
        old = self._area.takeWidget()
        self._area.setWidget(body)
        self.scroll_bar().setValue(height)
        if old is not None:
            old.deleteLater()


def heading(title: str, about: str) -> QVBoxLayout:
    """The head of a part: its title and a line about it."""
    box = QVBoxLayout()
    box.setContentsMargins(0, px(12), 0, px(4))
    box.setSpacing(0)
    box.addWidget(Text(title, size_px=15, weight=600))
    box.addWidget(Text(about, size_px=11, ink="ink3", wraps=True))
    return box


def beside(*parts: QWidget, above_px: float = 6) -> QHBoxLayout:
    """Widgets in a row, from the left."""
    line = QHBoxLayout()
    line.setContentsMargins(0, px(above_px), 0, px(6))
    line.setSpacing(px(8))
    for part in parts:
        line.addWidget(part)
    line.addStretch(1)
    return line


def labelled(label: str, part: QWidget, label_px: float = 150) -> QHBoxLayout:
    """A widget with its label at the left, as wide as the fields of a typed row."""
    line = QHBoxLayout()
    line.setContentsMargins(0, px(2), 0, px(2))
    line.setSpacing(px(8))
    name = Text(label, ink="ink2")
    name.setFixedWidth(px(label_px))
    line.addWidget(name)
    line.addWidget(part)
    line.addStretch(1)
    return line


def emptied(layout: QLayout) -> None:
    """Take everything out of a layout."""
    while (item := layout.takeAt(0)) is not None:
        inner, widget = item.layout(), item.widget()
        if inner is not None:
            emptied(inner)
        if widget is not None:
            widget.hide()
            widget.deleteLater()


def dropped_folder(event: QDragEnterEvent | QDropEvent) -> Path | None:
    """The folder that is dropped; None where something else is."""
    with contextlib.suppress(OSError):
        for url in event.mimeData().urls():
            path = Path(url.toLocalFile())
            if url.isLocalFile() and path.is_dir():
                return path
    return None
