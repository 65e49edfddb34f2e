"""Figures that can only be read: a small label above its value, and tables of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QRect, QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import Theme, px, theme_of
from app.widgets.flags import draw_flag, flag_width
from app.widgets.stamp import LEFT, RIGHT, Face, text_width, write
from core.plan import ShootName

_SIDES = {"left": LEFT, "right": RIGHT}


class Readouts(QWidget):
    """Labelled values in columns.

    Parameters
    ----------
    label_px, value_px
        Sizes of their type at 100 % text; a row is as high as both with some air.
    """

    def __init__(
        self,
        name: str,
        columns: int,
        parent: QWidget | None = None,
        *,
        label_px: float = 11,
        value_px: float = 15,
    ) -> None:
        super().__init__(parent)
        self._columns = columns
        self._label_px, self._value_px = label_px, value_px
        self._entries: tuple[tuple[str, str], ...] = ()
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def entries(self) -> tuple[tuple[str, str], ...]:
        """Label and value, row by row."""
        return self._entries

    def show_entries(self, entries: Sequence[tuple[str, str]]) -> None:
        """Show labels and values; nothing is repainted where nothing changed."""
        fresh = tuple(entries)
        if fresh == self._entries:
            return
        if len(fresh) != len(self._entries):
            self.updateGeometry()
        self._entries = fresh
        self.setAccessibleDescription("; ".join(f"{label} {value}" for label, value in fresh))
        self.update()

    def sizeHint(self) -> QSize:
        """As many rows as the entries need."""
        rows = -(-len(self._entries) // self._columns)
        return QSize(px(200), rows * self._row())

    def _row(self) -> int:
        return px(self._label_px + self._value_px + 12)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the entries column by column."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            width = self.width() // self._columns
            for place, (label, value) in enumerate(self._entries):
                row, column = divmod(place, self._columns)
                top, high = row * self._row(), px(self._label_px + 4)
                room = QRect(column * width, top, width, high)
                write(painter, room, label, (self._label_px, 400), theme.ink2)
                room = QRect(column * width, top + high, width, px(self._value_px + 4))
                write(painter, room, value, value_face(value, width, self._value_px), theme.ink)


def value_face(value: str, width: int, largest_px: float = 15) -> Face:
    """The largest type in which a value stands whole in a width, in pixels."""
    faces: tuple[Face, ...] = ((largest_px, 600), (13, 600), (12, 600), (11, 600))
    return next((face for face in faces if text_width(value, face) < width), faces[-1])


@dataclass(frozen=True)
class Cell:
    """A text in a table with its weight and colour, or a shoot's flag in its place."""

    text: str
    weight: int = 400
    ink: str = "ink"
    size_px: float = 13
    flag: ShootName | None = None


@dataclass(frozen=True)
class Column:
    """How a column of a table stands: its share of the spare width, and its side."""

    stretch: int = 0
    side: Literal["left", "right"] = "right"


def _draw_flag(painter: QPainter, room: QRect, name: ShootName, theme: Theme) -> None:
    """A flag at the right of its cell."""
    height = px(16)
    width = flag_width(name, height)
    top = room.top() + (room.height() - height) / 2.0
    draw_flag(
        painter, QRectF(room.right() + 1 - width, top, width, height), name, theme, size_px=11
    )


def _width(cell: Cell) -> int:
    return text_width(cell.text, (cell.size_px, cell.weight))


class Table(QWidget):
    """Rows of figures in columns as wide as their texts; not for the keyboard, only to read."""

    def __init__(
        self,
        name: str,
        columns: Sequence[Column],
        parent: QWidget | None = None,
        *,
        row_px: float = 19,
        ruled: bool = False,
    ) -> None:
        super().__init__(parent)
        self._columns = tuple(columns)
        self._row_px = row_px
        self._ruled = ruled
        self._rows: tuple[tuple[Cell, ...], ...] = ()
        self.setAccessibleName(name)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def rows(self) -> tuple[tuple[Cell, ...], ...]:
        """The cells, row by row."""
        return self._rows

    def show_rows(self, rows: Sequence[Sequence[Cell]]) -> None:
        """Show rows; nothing is repainted where nothing changed."""
        fresh = tuple(tuple(row) for row in rows)
        if fresh == self._rows:
            return
        if len(fresh) != len(self._rows):
            self.updateGeometry()
        self._rows = fresh
        said = "; ".join(" ".join(cell.text for cell in row if cell.text) for row in fresh)
        self.setAccessibleDescription(said)
        self.update()

    def sizeHint(self) -> QSize:
        """As high as the rows."""
        return QSize(px(200), len(self._rows) * px(self._row_px))

    def _lefts(self) -> list[int]:
        """Left edges of the columns and the right edge of the last."""
        gap = px(8)
        needs = [
            max(
                (_width(row[at]) for row in self._rows),
                default=0,
            )
            for at in range(len(self._columns))
        ]
        spare = max(0, self.width() - sum(needs) - gap * (len(needs) - 1))
        shares = sum(column.stretch for column in self._columns) or 1
        edges = [0]
        for need, column in zip(needs, self._columns, strict=True):
            edges.append(edges[-1] + need + spare * column.stretch // shares + gap)
        return edges

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the cells."""
        theme = theme_of(self)
        with QPainter(self) as painter:
            edges, gap, height = self._lefts(), px(8), px(self._row_px)
            for place, row in enumerate(self._rows):
                top = place * height
                for at, (cell, column) in enumerate(zip(row, self._columns, strict=True)):
                    room = QRect(edges[at], top, edges[at + 1] - edges[at] - gap, height)
                    if cell.flag is not None:
                        _draw_flag(painter, room, cell.flag, theme)
                    face, ink = (cell.size_px, cell.weight), theme.token(cell.ink)
                    write(painter, room, cell.text, face, ink, _SIDES[column.side])
                if self._ruled:
                    painter.fillRect(0, top + height - 1, self.width(), 1, theme.rule)
