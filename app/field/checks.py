"""The list before take-off: a box for each thing to lock or to look at, the first open one marked.

Nothing is barred and nothing summed up: ticks are ticks. A tick belongs to the words it was made
for: another card space or another interval opens its row again.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QCheckBox, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from app.style import draw_focus_ring, draw_outline
from app.theme import px, theme_of
from app.widgets.stamp import Face, fitted, wrapped, write
from core.checklist import ChecklistItem
from core.language import say

_ROW_PX, _LINE_PX, _BOX_PX, _LEFT_PX, _WORDS_PX = 52.0, 19.0, 24.0, 14.0, 54.0
_FACT: Face = (19, 600)
_DONE: Face = (19, 400)
_HOW: Face = (15, 400)


class CheckLine(QCheckBox):
    """A row that is ticked by Space, or by a tap anywhere on it."""

    def __init__(
        self, check: ChecklistItem, *, ticked: bool, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.check = check
        self._current = False
        self.setAccessibleName(check.fact)
        self.setAccessibleDescription(check.how)
        self.setChecked(ticked)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def show_current(self, *, current: bool) -> None:
        """Mark the row that comes next, or not."""
        if current != self._current:
            self._current = current
            self.update()

    @property
    def current(self) -> bool:
        """Whether it is marked as the next one."""
        return self._current

    def hitButton(self, pos: QPoint) -> bool:
        """Everything on the row can be tapped."""
        return self.rect().contains(pos)

    def sizeHint(self) -> QSize:
        """Two lines."""
        return QSize(px(300), px(_ROW_PX))

    def hasHeightForWidth(self) -> bool:
        """How to see to it may need more lines."""
        return True

    def heightForWidth(self, width: int) -> int:
        """As many lines as the words need."""
        lines = wrapped(self.check.how, _HOW, width - px(_WORDS_PX + 6.0))
        return px(_ROW_PX) + max(0, len(lines) - 1) * px(_LINE_PX)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint box, fact and how."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            room = QRectF(self.rect())
            if self._current:
                painter.fillRect(room, theme.field)
                painter.fillRect(QRectF(0.0, 0.0, px(5), room.height()), theme.ink)
            painter.fillRect(QRectF(0.0, room.bottom() - px(1), room.width(), px(1)), theme.rule)
            side = px(_BOX_PX)
            box = QRectF(px(_LEFT_PX), (room.height() - side) / 2.0, side, side)
            done = self.isChecked()
            ink = theme.ink3 if done else theme.ink
            draw_outline(painter, box, QPen(theme.edge if done else theme.ink, max(1.0, px(2))))
            if done:
                painter.setRenderHint(QPainter.RenderHint.Antialiasing)
                painter.setPen(QPen(ink, max(1.5, px(2.5)), Qt.PenStyle.SolidLine))
                turns = ((0.22, 0.52), (0.43, 0.72), (0.8, 0.28))
                corners = [QPointF(box.x() + x * side, box.y() + y * side) for x, y in turns]
                painter.drawPolyline(corners)
                painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)
            left = px(_WORDS_PX)
            wide = room.width() - left - px(6)
            face = _DONE if done else _FACT
            fact = QRectF(left, px(3), wide, px(26))
            write(painter, fact, fitted(self.check.fact, face, wide), face, ink)
            quiet = theme.ink3 if done else theme.ink2
            for number, line in enumerate(wrapped(self.check.how, _HOW, wide)):
                how = QRectF(left, px(28) + number * px(_LINE_PX), wide, px(20))
                write(painter, how, line, _HOW, quiet)
            if self.hasFocus():
                draw_focus_ring(painter, room.adjusted(px(6), 0, 0, -px(1)), theme)


class Checks(QScrollArea):
    """The rows.

    Signals
    ----------
    ticked
        What stands on all rows that are ticked, whenever one is or no longer is.
    """

    ticked = Signal(tuple)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setFrameShape(self.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName(say("Before take-off"))
        self.lines: tuple[CheckLine, ...] = ()

    def sizeHint(self) -> QSize:
        """A few rows: the others are scrolled to."""
        return QSize(px(300), px(3 * _ROW_PX))

    @property
    def open(self) -> tuple[ChecklistItem, ...]:
        """What is not ticked."""
        return tuple(line.check for line in self.lines if not line.isChecked())

    def show_checks(self, checks: Sequence[ChecklistItem], ticked: Sequence[str]) -> None:
        """Show the rows; laid out anew only where they are other ones."""
        if tuple(checks) != tuple(line.check for line in self.lines):
            self._lay_out(checks, ticked)
        for line in self.lines:
            if line.isChecked() != (line.check.fact in ticked):
                told = line.blockSignals(True)
                line.setChecked(line.check.fact in ticked)
                line.blockSignals(told)
        self._mark()

    def left_words(self) -> str:
        """How many are open: '3 of 7 left'."""
        count, left = len(self.lines), len(self.open)
        if left:
            return say("{left} of {count} left", left=left, count=count)
        return say("{count} ticked", count=count)

    def _lay_out(self, checks: Sequence[ChecklistItem], ticked: Sequence[str]) -> None:
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        lines = []
        for check in checks:
            line = CheckLine(check, ticked=check.fact in ticked, parent=body)
            line.toggled.connect(partial(self._tell, line))
            column.addWidget(line)
            lines.append(line)
        column.addStretch(1)
        self.lines = tuple(lines)
        self.setWidget(body)

    def _tell(self, line: CheckLine, _ticked: bool) -> None:
        self._mark()
        after = self.lines[self.lines.index(line) :]
        following = next((one for one in after if not one.isChecked()), None)
        if following is not None:
            self.ensureWidgetVisible(following)
        self.ticked.emit(tuple(one.check.fact for one in self.lines if one.isChecked()))

    def _mark(self) -> None:
        """The first open row comes next."""
        first = next((line for line in self.lines if not line.isChecked()), None)
        for line in self.lines:
            line.show_current(current=line is first)
