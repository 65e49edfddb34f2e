"""The findings: what is wrong or wants a second look, each with buttons for the way out."""

from __future__ import annotations

import contextlib
import math
from functools import partial
from itertools import accumulate
from typing import Final

from PySide6.QtCore import QRect, QSize, Qt, QTimer
from PySide6.QtGui import QGuiApplication, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.store import Store
from app.theme import px, scale_changes, theme_of
from app.widgets.buttons import Button
from app.widgets.flags import Flag
from app.widgets.marks import SEVERITY_WORDS, Mark
from app.widgets.stamp import Face, text_width, wrapped, write
from core.edit import PlanError
from core.findings import Finding, Remedy
from core.language import say
from core.plan import ShootName

_ROW_PX, _LINE_PX = 32.0, 16.0
_FACT: Final[Face] = (13, 600)
_REST: Final[Face] = (13, 400)
_SHOWN_ROWS = 3
# Of the window's height: more would take it from the sheet.
_MOST_SHARE = 1.0 / 6.0
_ORDER_MS = 150

_Key = tuple[str, ShootName, str]


class FindingsPanel(QScrollArea):
    """Up to three rows are seen, fewer in a low window; the rest scrolls.

    While the hand moves something, a row keeps its place and new ones come last; they are put
    in order, worst first, when it lets go.
    """

    def __init__(self, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._rows: list[FindingRow] = []
        self._window_height = math.inf
        self._list = _List()
        self._list.setAccessibleName(say("Findings"))
        self._layout = QVBoxLayout(self._list)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(0)
        self._layout.addStretch(1)
        self.setWidget(self._list)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName(say("Findings"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._order_soon = QTimer(self)
        self._order_soon.setSingleShot(True)
        self._order_soon.setInterval(_ORDER_MS)
        self._order_soon.timeout.connect(self._order)
        store.settled.connect(self._refresh)
        scale_changes().changed.connect(self._fit_rows)
        self._refresh()

    @property
    def rows(self) -> tuple[FindingRow, ...]:
        """The rows from top to bottom."""
        return tuple(self._rows)

    def sizeHint(self) -> QSize:
        """Room for up to three rows, fewer in a low window, and always for one."""
        heights = list(accumulate(row.height() for row in self._rows[:_SHOWN_ROWS]))
        most = _MOST_SHARE * self._window_height
        whole = [height for height in heights if height <= most]
        # One row is always seen; of a very high one two lines, and the rest scrolls.
        shown = whole or [min(height, px(_ROW_PX + _LINE_PX)) for height in heights[:1]]
        return QSize(px(400), max(*shown, px(_ROW_PX), 0) + 1)

    def minimumSizeHint(self) -> QSize:
        """The same height."""
        return QSize(px(200), self.sizeHint().height())

    def fit_window(self, height: int) -> None:
        """Take no more than a part of a window of this height."""
        self._window_height = height
        self.updateGeometry()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Rows may need more lines in less room."""
        super().resizeEvent(event)
        self._fit_rows()

    def _refresh(self) -> None:
        findings = self._store.findings
        if findings is None:
            return
        wanted = {_key(finding): finding for finding in findings}
        kept = [row for row in self._rows if row.key in wanted]
        for row in self._rows:
            if row.key not in wanted:
                self._layout.removeWidget(row)
                row.hide()
                row.deleteLater()
        for row in kept:
            row.show_finding(wanted.pop(row.key))
        self._rows = kept
        for finding in wanted.values():
            row = FindingRow(finding, self._store)
            self._layout.insertWidget(len(self._rows), row)
            self._rows.append(row)
        self._order()
        self._fit_rows()

    def _fit_rows(self) -> None:
        """Give each row the lines it needs, and the panel up to three rows."""
        width = self.viewport().width()
        for row in self._rows:
            row.setFixedHeight(row.height_in(width))
        self.updateGeometry()

    def _order(self) -> None:
        if QGuiApplication.mouseButtons() != Qt.MouseButton.NoButton:
            self._order_soon.start()
            return
        rank = {_key(finding): place for place, finding in enumerate(self._store.findings or ())}
        ordered = sorted(self._rows, key=lambda row: rank.get(row.key, len(rank)))
        if ordered != self._rows:
            self._rows = ordered
            for place, row in enumerate(ordered):
                self._layout.insertWidget(place, row)


class _List(QWidget):
    """The rows on one ground, a line above them."""

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the line."""
        QPainter(self).fillRect(0, 0, self.width(), max(1, px(1)), theme_of(self).rule)


def _key(finding: Finding) -> _Key:
    return finding.code, finding.shoot, finding.severity


class FindingRow(QWidget):
    """One finding: its mark, its shoot's flag, the fact, the rest, and the ways out."""

    def __init__(self, finding: Finding, store: Store, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._store = store
        self._finding = finding
        self.buttons: list[Button] = []
        self._mark = Mark(finding.severity)
        self._flag = Flag(finding.shoot, height_px=17, size_px=12)
        self._words = _Words()
        self._layout = QHBoxLayout(self)
        self._layout.addWidget(self._mark)
        self._layout.addWidget(self._flag)
        self._layout.addWidget(self._words, 1)
        self._rescale()
        scale_changes().changed.connect(self._rescale)
        self._show()

    @property
    def key(self) -> _Key:
        """What makes it the same finding as before, whatever its figures are."""
        return _key(self._finding)

    @property
    def finding(self) -> Finding:
        """What it shows."""
        return self._finding

    def show_finding(self, finding: Finding) -> None:
        """Show the same finding with other figures."""
        if finding != self._finding:
            self._finding = finding
            self._show()

    def _rescale(self) -> None:
        self._layout.setContentsMargins(px(12), 0, px(12), 0)
        self._layout.setSpacing(px(8))

    def _show(self) -> None:
        finding = self._finding
        self._words.show_words(finding.fact, finding.rest)
        severity = SEVERITY_WORDS[finding.severity]
        self.setAccessibleName(f"{severity}, {finding.shoot}: {finding.text}")
        labels = [remedy.label for remedy in finding.remedies]
        if len(labels) != len(self.buttons):
            self._make_buttons()
        for button, remedy in zip(self.buttons, finding.remedies, strict=True):
            button.show_text(remedy.label)
            button.setAccessibleName(
                say("{label}, for: {fact}", label=remedy.label, fact=finding.fact)
            )

    def _make_buttons(self) -> None:
        for button in self.buttons:
            self._layout.removeWidget(button)
            button.hide()
            button.deleteLater()
        self.buttons = []
        for place in range(len(self._finding.remedies)):
            button = Button("", height_px=26)
            button.clicked.connect(partial(self._apply, place))
            self._layout.addWidget(button)
            self.buttons.append(button)

    def _apply(self, place: int) -> None:
        remedy: Remedy = self._finding.remedies[place]
        self._store.begin_gesture()
        # A remedy is made of the plan it mends; one that cannot stand changes nothing.
        with contextlib.suppress(PlanError):
            self._store.edit(remedy.label, dict(remedy.values))

    def height_in(self, width: int) -> int:
        """32 px, more where the words need more lines in some room."""
        parts = (self._mark, self._flag, *self.buttons)
        taken = sum(part.sizeHint().width() + px(8) for part in parts) + px(24)
        return px(_ROW_PX) + (self._words.lines(width - taken) - 1) * px(_LINE_PX)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the line beneath the row."""
        QPainter(self).fillRect(
            px(12), self.height() - 1, self.width() - px(24), 1, theme_of(self).rule
        )


class _Words(QWidget):
    """The fact in 600 and the rest in 400, in one line or in as many as they need."""

    def __init__(self) -> None:
        super().__init__()
        self._fact, self._rest = "", ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_words(self, fact: str, rest: str) -> None:
        """Show another finding's words."""
        if (fact, rest) != (self._fact, self._rest):
            self._fact, self._rest = fact, rest
            self.setToolTip(f"{fact} {rest}".strip())
            self.update()

    def lines(self, width: int) -> int:
        """How many lines the words take in some room."""
        return 1 if self._in_one(width) else len(self._wrapped(width))

    def _in_one(self, width: int) -> bool:
        if not self._rest:
            return text_width(self._fact, _FACT) <= width
        return text_width(self._fact, _FACT) + px(8) + text_width(self._rest, _REST) <= width

    def _wrapped(self, width: int) -> tuple[tuple[str, Face, str], ...]:
        """Lines with their type and ink: the fact's, then the rest's."""
        fact = ((line, _FACT, "ink") for line in wrapped(self._fact, _FACT, width))
        return *fact, *((line, _REST, "ink2") for line in wrapped(self._rest, _REST, width))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the rest beside the fact, or below it."""
        theme, width = theme_of(self), self.width()
        with QPainter(self) as painter:
            if self._in_one(width):
                write(painter, self.rect(), self._fact, _FACT, theme.ink)
                left = text_width(self._fact, _FACT) + px(8)
                write(painter, self.rect().adjusted(left, 0, 0, 0), self._rest, _REST, theme.ink2)
                return
            lines = self._wrapped(width)
            top = (self.height() - len(lines) * px(_LINE_PX)) // 2
            for place, (text, face, ink) in enumerate(lines):
                room = QRect(0, top + place * px(_LINE_PX), width, px(_LINE_PX))
                write(painter, room, text, face, theme.token(ink))
