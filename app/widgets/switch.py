"""Switches of two or three choices side by side, and the tabs of the two shoots."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from PySide6.QtCore import QPoint, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QRadioButton, QSizePolicy, QWidget

from app.style import draw_focus_ring, draw_outline
from app.theme import font, px, scale_changes, text_scale, theme_of
from app.widgets.flags import draw_shape, shoot_outline
from app.widgets.stamp import RIGHT, write
from core.language import say
from core.plan import ShootName
from core.words import time_text

_CENTRE = Qt.AlignmentFlag.AlignCenter


class _Segment(QRadioButton):
    """One choice; a radio button to the keyboard and to a screen reader."""

    def __init__(self, text: str, parent: QWidget, height_px: float, size_px: float) -> None:
        super().__init__(text, parent)
        self._height_px, self._size_px = height_px, size_px
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMouseTracking(False)

    def hitButton(self, pos: QPoint) -> bool:
        """Everything inside can be pressed."""
        return self.rect().contains(pos)

    def sizeHint(self) -> QSize:
        """Room for the text and a margin."""
        width = QFontMetrics(font(self._size_px, 600)).horizontalAdvance(self.text())
        return QSize(width + px(12), px(self._height_px))

    def minimumSizeHint(self) -> QSize:
        """No less than the text needs."""
        return self.sizeHint()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the chosen one filled; in dim, outlined."""
        theme, rect = theme_of(self), QRectF(self.rect())
        with QPainter(self) as painter:
            chosen = self.isChecked()
            # What cannot be pressed is outlined: its quiet text has no contrast on a fill.
            filled = chosen and theme.large_fills and self.isEnabled()
            painter.fillRect(rect, theme.ink if filled else theme.field)
            if not filled:
                line = px(2) if chosen else max(1.0, px(1))
                outline = theme.ink if chosen else theme.edge
                draw_outline(painter, rect, QPen(outline if self.isEnabled() else theme.rule, line))
            painter.setFont(font(self._size_px, 600 if chosen else 400))
            ink = theme.window if filled else theme.ink if chosen else theme.ink2
            painter.setPen(ink if self.isEnabled() else theme.ink3)
            painter.drawText(rect, _CENTRE, self.text())
            if self.hasFocus():
                inner = rect.adjusted(px(3), px(3), -px(3), -px(3)) if chosen else rect
                if filled:
                    draw_outline(painter, inner, QPen(theme.window, px(2)))
                else:
                    draw_focus_ring(painter, inner, theme)


class Switch(QWidget):
    """Choices side by side, of which one holds.

    Signals
    -------
    chosen
        The pilot chose another one; its place from 0.
    """

    chosen = Signal(int)

    def __init__(
        self,
        name: str,
        choices: Sequence[str],
        parent: QWidget | None = None,
        *,
        height_px: float = 26,
        size_px: float = 13,
    ) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self._group = QButtonGroup(self)
        self._segments: list[_Segment] = []
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        for place, text in enumerate(choices):
            segment = _Segment(text, self, height_px, size_px)
            segment.setAccessibleName(f"{name}: {text}")
            self._group.addButton(segment, place)
            row.addWidget(segment)
            self._segments.append(segment)
        self._group.idClicked.connect(self.chosen)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def current(self) -> int:
        """Place of the choice that holds; -1 before one was shown."""
        return self._group.checkedId()

    def button(self, place: int) -> QRadioButton:
        """The button of a choice."""
        return self._segments[place]

    def show_choice(self, place: int) -> None:
        """Show which choice holds, without telling anyone."""
        self.button(place).setChecked(True)


class _Tab(QRadioButton):
    """The tab of one shoot: its letter at the left, the clock of its start at the right."""

    def __init__(self, name: ShootName, parent: QWidget) -> None:
        super().__init__(name, parent)
        self._name: ShootName = name
        self._clock = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_clock(self, clock: str) -> None:
        """Show when the shoot starts."""
        if clock != self._clock:
            self._clock = clock
            self.setAccessibleName(say("Shoot {name}", name=self._name))
            self.setAccessibleDescription(say("starts at {clock}", clock=clock) if clock else "")
            self.update()

    def hitButton(self, pos: QPoint) -> bool:
        """Everything inside can be pressed."""
        return self.rect().contains(pos)

    def sizeHint(self) -> QSize:
        """Room for letter and clock."""
        width = QFontMetrics(font(15, 700)).horizontalAdvance(
            f"A {time_text(dt.time(0), seconds=True)}"
        )
        return QSize(width + px(22), px(30))

    def minimumSizeHint(self) -> QSize:
        """No less than the text needs."""
        return self.sizeHint()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the active tab filled, the other outlined; in dim both outlined."""
        theme, rect = theme_of(self), QRectF(self.rect())
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            colour, active = theme.shoot(self._name), self.isChecked()
            filled = active and theme.large_fills
            ink = theme.on_shoot(self._name) if filled else colour
            if filled:
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(colour)
                draw_shape(painter, rect, self._name)
            else:
                width = (2.0 if active else 1.3) * text_scale()
                pen = QPen(colour, width) if active else shoot_outline(theme, self._name, width)
                pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
                painter.setPen(pen)
                painter.setBrush(Qt.BrushStyle.NoBrush)
                half = width / 2.0
                draw_shape(painter, rect.adjusted(half, half, -half, -half), self._name)
            face, inner = (15, 700 if active else 600), rect.adjusted(px(11), 0, -px(11), 0)
            write(painter, inner, self._name, face, ink)
            write(painter, inner, self._clock, face, ink, RIGHT)
            if self.hasFocus():
                gap = px(3)
                pen = QPen(ink if filled else theme.ink, px(2))
                pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
                painter.setPen(pen)
                painter.setBrush(Qt.BrushStyle.NoBrush)
                draw_shape(painter, rect.adjusted(gap + 1, gap + 1, -gap - 1, -gap - 1), self._name)


class ShootTabs(QWidget):
    """Which shoot the settings, the night and the conditions belong to.

    Signals
    -------
    chosen
        'A' or 'B'.
    """

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(say("Active shoot"))
        self._tabs: dict[ShootName, _Tab] = {"A": _Tab("A", self), "B": _Tab("B", self)}
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._rescale()
        scale_changes().changed.connect(self._rescale)
        for name, tab in self._tabs.items():
            self._row.addWidget(tab)
            tab.clicked.connect(lambda _checked, name=name: self.chosen.emit(name))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def _rescale(self) -> None:
        self._row.setSpacing(px(8))

    def tab(self, name: ShootName) -> QRadioButton:
        """The tab of a shoot."""
        return self._tabs[name]

    def show_shoots(self, active: ShootName, clocks: dict[ShootName, str]) -> None:
        """Show the active shoot and when each starts."""
        self._tabs[active].setChecked(True)
        for name, tab in self._tabs.items():
            tab.show_clock(clocks.get(name, ""))
