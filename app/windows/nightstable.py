"""The table of many nights: a line each, sorted by any column, one chosen."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPalette
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.shown.nights import COLUMNS, ColumnKey, NightRow, heads
from app.theme import faint, font, px, scale_changes, theme_of
from app.widgets.flags import draw_flag, flag_width
from app.widgets.marks import draw_mark
from app.widgets.stamp import LEFT, RIGHT, fitted, text_width, write
from core.language import say
from core.nights import NightSeen
from core.plan import SHOOT_NAMES, ShootName

_AT_LEFT: frozenset[ColumnKey] = frozenset({"night", "moon", "remarks"})
_ROW, _HEAD, _MARGIN = 25, 26, 10
_FIGURE = Qt.ItemDataRole.UserRole
#: What the flags and the mark before the remarks take of their width.
_SIGNS = 62

#: Keys that take the chosen night, in the table and in the picture.
ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)

_Index = QModelIndex | QPersistentModelIndex


class NightsModel(QAbstractTableModel):
    """The nights as cells of texts, with the figure that each is sorted by."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: tuple[NightRow, ...] = ()
        self.loaded: dict[int, tuple[ShootName, ...]] = {}
        self._noted: Callable[[NightSeen], str] | None = None
        self._notes: dict[int, str] = {}

    def show_rows(self, rows: Sequence[NightRow]) -> None:
        """Show other nights."""
        self.beginResetModel()
        self.rows, self.loaded, self._notes = tuple(rows), {}, {}
        self.endResetModel()

    def show_loaded(self, loaded: dict[int, tuple[ShootName, ...]]) -> None:
        """Show which nights shoots are on, by their places."""
        if loaded != self.loaded and self.rows:
            self.loaded = loaded
            self._tell_all()

    def note(self, noted: Callable[[NightSeen], str] | None) -> None:
        """Put a note, or none any more, before the remarks of every night."""
        self._noted = noted
        self._notes = {}
        self._tell_all()

    def _tell_all(self) -> None:
        if self.rows:
            last = self.index(len(self.rows) - 1, len(COLUMNS) - 1)
            self.dataChanged.emit(self.index(0, 0), last)

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Nights, none below a night."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        """Columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Text, figure to sort by, or what a screen reader says."""
        row, key = self.rows[index.row()], COLUMNS[index.column()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return self._text(index.row(), key)
        if role == _FIGURE:
            return row.figures[key]
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{heads(self.rows)[key]}: {self._text(index.row(), key)}"
        return None

    def _text(self, place: int, key: ColumnKey) -> str:
        text = self.rows[place].texts[key]
        if key != "remarks":
            return text
        here = _loaded_words(self.loaded.get(place, ()))
        # Last: the flags in front of the cell say it too, should it be cut.
        return ", ".join(filter(None, (self._note_of(place), text, here)))

    def _note_of(self, place: int) -> str:
        """The note of a night, worked out when its line first comes into sight."""
        if self._noted is None:
            return ""
        if place not in self._notes:
            self._notes[place] = self._noted(self.rows[place].seen)
        return self._notes[place]

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """The head of a column."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return heads(self.rows)[COLUMNS[section]]
        return None


class _Painter(QStyledItemDelegate):
    """Paints a cell: the chosen night bold on a shaded line, flags and mark before remarks."""

    def __init__(self, table: NightsTable) -> None:
        super().__init__(table)
        self._table = table

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        """Paint ground, text and the rule beneath."""
        theme, rect = theme_of(self._table), QRect(option.rect)
        picked = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        painter.fillRect(rect, theme.sheet)
        if picked:
            painter.fillRect(rect, faint(theme.ink, 0.08))
            if index.column() == 0:
                painter.fillRect(QRect(rect.left(), rect.top(), px(4), rect.height()), theme.ink)
        painter.fillRect(QRect(rect.left(), rect.bottom(), rect.width(), 1), theme.rule)
        key, room = COLUMNS[index.column()], rect.adjusted(px(_MARGIN), 0, -px(_MARGIN), 0)
        if key == "remarks":
            self._paint_signs(painter, room, index)
            room.setLeft(room.left() + px(_SIGNS))
        face = (13.0, 700 if picked else 400)
        text = fitted(str(index.data()), face, room.width())
        write(painter, room, text, face, theme.ink, LEFT if key in _AT_LEFT else RIGHT)
        painter.restore()

    def _paint_signs(self, painter: QPainter, room: QRect, index: _Index) -> None:
        theme, place = theme_of(self._table), self._table.place_of(index)
        x, side = float(room.left()), float(px(16))
        top = room.center().y() - side / 2.0
        for name in self._table.model_of_nights.loaded.get(place, ()):
            width = flag_width(name, side)
            draw_flag(painter, QRectF(x, top, width, side), name, theme, size_px=11)
            x += width + px(4)
        if self._table.model_of_nights.rows[place].caution and x + side <= room.left() + px(_SIGNS):
            draw_mark(painter, QRectF(x, top, side, side), "warn", theme)

    def sizeHint(self, _option: QStyleOptionViewItem, index: _Index) -> QSize:
        """Room for the text in its heavier type."""
        extra = px(_SIGNS) if COLUMNS[index.column()] == "remarks" else 0
        width = text_width(str(index.data()), (13, 700)) + 2 * px(_MARGIN) + extra
        return QSize(width, px(_ROW))


class _Head(QHeaderView):
    """The heads of the columns, with a stroke where the table is sorted."""

    def __init__(self, table: QTableView) -> None:
        super().__init__(Qt.Orientation.Horizontal, table)
        self.setSectionsClickable(True)
        self.setHighlightSections(False)
        self.setStretchLastSection(True)

    def sizeHint(self) -> QSize:
        """One line."""
        return QSize(super().sizeHint().width(), px(_HEAD))

    def paintSection(self, painter: QPainter, rect: QRect, section: int) -> None:
        """Paint a head; an arrow says which way it is sorted by."""
        theme = theme_of(self)
        painter.save()
        painter.fillRect(rect, theme.sheet)
        painter.fillRect(QRect(rect.left(), rect.bottom(), rect.width(), 1), theme.edge)
        text = str(self.model().headerData(section, Qt.Orientation.Horizontal))
        if section == self.sortIndicatorSection():
            up = self.sortIndicatorOrder() == Qt.SortOrder.AscendingOrder
            text += " \N{UPWARDS ARROW}" if up else " \N{DOWNWARDS ARROW}"
        room = rect.adjusted(px(_MARGIN), 0, -px(_MARGIN), 0)
        side = LEFT if COLUMNS[section] in _AT_LEFT else RIGHT
        if COLUMNS[section] == "remarks":
            room.setLeft(room.left() + px(_SIGNS))
        write(painter, room, text, (12.0, 700), theme.ink, side)
        painter.restore()

    def head_width(self, section: int) -> int:
        """Room for a head with its arrow."""
        text = str(self.model().headerData(section, Qt.Orientation.Horizontal))
        return text_width(f"{text} \N{UPWARDS ARROW}", (12, 700)) + 2 * px(_MARGIN)


class NightsTable(QTableView):
    """Nights to look through and choose from.

    Signals
    -------
    chosen
        The pilot chose a night: its place among those shown, in the order of dates.
    wanted
        The pilot wants the chosen night, by Enter or a double-click.
    """

    chosen = Signal(int)
    wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.model_of_nights = NightsModel()
        self._sorted = QSortFilterProxyModel(self)
        self._sorted.setSourceModel(self.model_of_nights)
        self._sorted.setSortRole(_FIGURE)
        self.setModel(self._sorted)
        self.setItemDelegate(_Painter(self))
        self._head = _Head(self)
        self.setHorizontalHeader(self._head)
        self.setSortingEnabled(True)
        self.sortByColumn(0, Qt.SortOrder.AscendingOrder)
        self.verticalHeader().hide()
        self.setShowGrid(False)
        self.viewport().setBackgroundRole(QPalette.ColorRole.AlternateBase)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        # Tab leads on to the buttons; arrows go through the nights.
        self.setTabKeyNavigation(False)
        self.setAccessibleName(say("Nights"))
        self.selectionModel().currentRowChanged.connect(self._tell)
        scale_changes().changed.connect(self._fit)
        self._fit()

    def show_rows(self, rows: Sequence[NightRow]) -> None:
        """Show other nights; how they are sorted stays."""
        self.model_of_nights.show_rows(rows)
        self._fit()

    def show_loaded(self, loaded: dict[int, tuple[ShootName, ...]]) -> None:
        """Show which nights shoots are on, by their places."""
        self.model_of_nights.show_loaded(
            {place: tuple(n for n in SHOOT_NAMES if n in names) for place, names in loaded.items()}
        )

    def place_of(self, index: _Index) -> int:
        """The place of a shown line among the nights in the order of dates."""
        return self._sorted.mapToSource(index).row()

    def choose(self, place: int) -> None:
        """Choose a night and bring it into sight, without telling anyone."""
        index = self._sorted.mapFromSource(self.model_of_nights.index(place, 0))
        was = self.selectionModel().blockSignals(True)
        self.setCurrentIndex(index)
        self.selectRow(index.row())
        self.selectionModel().blockSignals(was)
        # A view that was reset just now knows its lines only after this.
        self.executeDelayedItemsLayout()
        # A line in sight stays where the hand is.
        if not self.viewport().rect().contains(self.visualRect(index).center()):
            self.scrollTo(index, QAbstractItemView.ScrollHint.PositionAtCenter)
        self.viewport().update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter wants the chosen night."""
        if event.key() in ENTER:
            self.wanted.emit()
        else:
            super().keyPressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """A double-click on a night, which its first click chose, wants it."""
        if self.indexAt(event.position().toPoint()).isValid():
            self.wanted.emit()

    def _tell(self, current: QModelIndex) -> None:
        if current.isValid():
            self.chosen.emit(self.place_of(current))

    def _fit(self) -> None:
        """Set rows and columns to the text scale."""
        self.verticalHeader().setDefaultSectionSize(px(_ROW))
        self.verticalHeader().setMinimumSectionSize(px(_ROW))
        self._head.setFont(font(12, 700))
        option = QStyleOptionViewItem()
        # The remarks take what is left; what is cut of them is their tip.
        for column in range(len(COLUMNS) - 1):
            needs = [self._head.head_width(column)]
            needs += [
                self.itemDelegate().sizeHint(option, self._sorted.index(row, column)).width()
                for row in range(self._sorted.rowCount())
            ]
            self._head.resizeSection(column, max(needs))


def _loaded_words(names: tuple[ShootName, ...]) -> str:
    """Which shoots are on a night, in words; empty for none."""
    match names:
        case ():
            return ""
        case (name,):
            return say("{name} is loaded here", name=name)
    return say("{first} and {second} are loaded here", first=names[0], second=names[-1])
