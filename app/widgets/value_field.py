"""A value that can be typed: Enter takes it, Esc restores it, up and down step it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QLineEdit, QSizePolicy, QWidget

from app.style import draw_focus_ring
from app.theme import font, px, scale_changes, theme_of
from app.widgets.presses import Presses

_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class ValueField(QLineEdit):
    """A field that shows a ready text and hands over what is typed.

    Signals
    -------
    entered
        A text was typed and taken with Enter or by leaving the field. The owner answers with
        `accept` or `refuse`.
    stepped
        Up (+1) or down (-1), and whether the finest step is meant (Shift).
    reset
        Double-click: the value as it is without a wish of the pilot's.
    opened
        What follows, entered, stepped or reset, is a step of undo of its own.
    restored
        A refused text has gone, by Esc or because the value has moved.
    """

    entered = Signal(str)
    stepped = Signal(int, bool)
    reset = Signal()
    opened = Signal()
    restored = Signal()

    def __init__(
        self,
        name: str,
        parent: QWidget | None = None,
        *,
        width_px: float | None = 92,
        height_px: float = 24,
        size_px: float = 15,
        align: Qt.AlignmentFlag = _RIGHT,
        flat: bool = False,
    ) -> None:
        super().__init__(parent)
        self._size_px, self._weight = size_px, 600
        self._width_px, self._height_px = width_px, height_px
        self._flat = flat
        self._shown = ""
        self._presses = Presses()
        self._refused = False
        self.setAccessibleName(name)
        self.setFrame(False)
        if flat:
            ground = QPalette()
            ground.setColor(QPalette.ColorRole.Base, Qt.GlobalColor.transparent)
            self.setPalette(ground)
        self.setAlignment(align)
        across = QSizePolicy.Policy.Expanding if width_px is None else QSizePolicy.Policy.Fixed
        self.setSizePolicy(across, QSizePolicy.Policy.Fixed)
        self._rescale()
        scale_changes().changed.connect(self._rescale)

    @property
    def refused(self) -> bool:
        """Whether the text that stands here was not understood."""
        return self._refused

    def show_value(self, text: str, weight: int = 600) -> None:
        """Show the plan's value; a text that is being typed stays, and one that was refused.

        A refused text goes when the value moves another way: it says nothing about it then.
        """
        if weight != self._weight:
            self._weight = weight
            self._rescale()
        if self._refused and text != self._shown:
            self._refused = False
            self.setModified(False)
            self.update()
            self.restored.emit()
        self._shown = text
        if not (self._refused or (self.hasFocus() and self.isModified())):
            self._put(text)

    def accept(self) -> None:
        """The typed text was taken: show the plan's value again."""
        self._refused = False
        self._put(self._shown)
        if self.hasFocus():
            self.selectAll()
        self.update()

    def refuse(self) -> None:
        """The typed text was not understood: it stays until it is mended or restored."""
        self._refused = True
        self.update()

    def open_with(self, text: str = "") -> None:
        """Take the keyboard, with the first letter of what is typed."""
        self.setFocus(Qt.FocusReason.ShortcutFocusReason)
        if text:
            self.setText(text)
            self.setModified(True)
        else:
            self.selectAll()

    def _put(self, text: str) -> None:
        if text != self.text():
            self.setText(text)
            self.setCursorPosition(0)
        self.setModified(False)

    def _rescale(self) -> None:
        self.setFont(font(self._size_px, self._weight))
        margin = px(0 if self._flat else 4)
        self.setTextMargins(margin, 0, margin, px(1))
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        """Its fixed size, or the room it is given."""
        return QSize(px(self._width_px or 60), px(self._height_px))

    def minimumSizeHint(self) -> QSize:
        """The same."""
        return self.sizeHint()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Select the value."""
        super().focusInEvent(event)
        if not self._refused:
            # After the click that brought the focus, which would put the cursor.
            QTimer.singleShot(0, self, self._select_untouched)

    def _select_untouched(self) -> None:
        if self.hasFocus() and not self.isModified():
            self.selectAll()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Hand over what was typed."""
        super().focusOutEvent(event)
        self.deselect()
        if self.isModified() and not self._refused:
            self._hand_over()

    def _hand_over(self) -> None:
        if self.text() == self._shown:
            # What is shown is rounded: taken back, it would move a value that nobody changed.
            self.accept()
            self.restored.emit()
            return
        self.opened.emit()
        self.entered.emit(self.text())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter takes, Esc restores, up and down step."""
        key = event.key()
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._hand_over()
        elif key == Qt.Key.Key_Escape and (self.isModified() or self._refused):
            self.accept()
            self.restored.emit()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            if self._presses.begins(event):
                self.opened.emit()
            fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.stepped.emit(1 if key == Qt.Key.Key_Up else -1, fine)
        else:
            self._refused = False
            super().keyPressEvent(event)

    def mouseDoubleClickEvent(self, _event: QMouseEvent) -> None:
        """Go back to the default."""
        self.setModified(False)
        self._refused = False
        self.restored.emit()
        self.opened.emit()
        self.reset.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the text as Qt does, then the line beneath it or the focus ring."""
        super().paintEvent(event)
        theme = theme_of(self)
        with QPainter(self) as painter:
            if self.hasFocus():
                draw_focus_ring(painter, QRectF(self.rect()), theme)
                return
            colour = (
                theme.alarm if self._refused else theme.edge if self.isEnabled() else theme.rule
            )
            line = max(1, px(2 if self._refused else 1))
            if not self._flat or self._refused:
                painter.fillRect(0, self.height() - line, self.width(), line, colour)
