"""The steps of the evening as a list: what is done, what comes now, the times to be kept."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import Theme, px, theme_of
from app.widgets.stamp import RIGHT, Face, text_width, write
from core.language import say
from core.site import StepRow

_ROW_PX, _CLOSE_PX = 34.0, 25.0
_CLOCK, _NAME, _NOTE = (19.0, 400), (19.0, 400), (15.0, 400)  # type: tuple[Face, Face, Face]
#: Right edge of the clocks and left edge of the names, at 100 % text.
_CLOCK_PX, _NAME_PX = 146.0, 164.0


class StepList(QWidget):
    """Rows that are painted; they are for reading, not for the keyboard."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[StepRow, ...] = ()
        self.setAccessibleName(say("Steps"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    @property
    def rows(self) -> tuple[StepRow, ...]:
        """The rows, from the top."""
        return self._rows

    def show_rows(self, rows: tuple[StepRow, ...]) -> None:
        """Show rows; nothing is repainted where nothing changed."""
        if rows == self._rows:
            return
        if len(rows) != len(self._rows):
            self.updateGeometry()
        self._rows = rows
        self.setAccessibleDescription("; ".join(map(_said, rows)))
        self.update()

    def sizeHint(self) -> QSize:
        """As high as its rows where they stand close; they take what more there is."""
        return QSize(px(420), len(self._rows) * px(_CLOSE_PX))

    def minimumSizeHint(self) -> QSize:
        """No less high, but narrower."""
        return QSize(px(300), self.sizeHint().height())

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the rows one below another."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            height = min(px(_ROW_PX), self.height() / max(len(self._rows), 1))
            for place, row in enumerate(self._rows):
                room = QRectF(0.0, place * height, self.width(), height)
                if row.bound and not self._rows[place - 1].bound:
                    _dashed(painter, room, theme)
                _draw(painter, room, row, theme)


def _said(row: StepRow) -> str:
    told = f"{row.clock} {row.name}, {row.note}"
    if row.done:
        return say("done, {step}", step=told)
    return say("now, {step}", step=told) if row.current else told


def _draw(painter: QPainter, room: QRectF, row: StepRow, theme: Theme) -> None:
    ink = theme.ink3 if row.done else theme.ink if row.current or row.bound else theme.ink2
    weight = 700 if row.current or row.bound else 400
    if row.current:
        painter.fillRect(room, theme.field)
        painter.fillRect(QRectF(0.0, room.y(), px(5), room.height()), theme.ink)
    if row.done:
        _tick(painter, room, theme)
    clock: Face = (_CLOCK[0], weight)
    at = QRectF(0.0, room.y(), px(_CLOCK_PX), room.height())
    write(painter, at, row.clock, clock, ink, RIGHT)
    name: Face = (_NAME[0], weight)
    left = px(_NAME_PX)
    write(painter, QRectF(left, room.y(), room.width() - left, room.height()), row.name, name, ink)
    taken = left + text_width(row.name, name) + px(14)
    face: Face = (_NOTE[0], 600 if row.current else 400)
    # Half a note says nothing: it stands whole or not at all.
    if text_width(row.note, face) <= room.width() - taken - px(4):
        write(painter, room.adjusted(taken, 0, -px(4), 0), row.note, face, ink, RIGHT)


def _tick(painter: QPainter, room: QRectF, theme: Theme) -> None:
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(theme.ink3, max(1.5, px(2)), Qt.PenStyle.SolidLine))
    y, x, side = room.center().y(), px(14), px(14)
    painter.drawLine(QPointF(x, y), QPointF(x + 0.35 * side, y + 0.35 * side))
    painter.drawLine(QPointF(x + 0.35 * side, y + 0.35 * side), QPointF(x + side, y - 0.4 * side))
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, on=False)


def _dashed(painter: QPainter, room: QRectF, theme: Theme) -> None:
    pen = QPen(theme.ink2, max(1.0, px(2)))
    pen.setDashPattern([3.0, 3.0])
    painter.setPen(pen)
    painter.drawLine(room.topLeft(), room.topRight())
