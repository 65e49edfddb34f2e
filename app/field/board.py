"""How the two halves of the field window stand: beside each other, or close where room is short."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from app.field.halves import NextHalf, StopHalf
from app.theme import px, text_scale

#: A window smaller than this, at the pixels of 100 % text, has its halves close.
_ROOMY: Final = QSize(900, 600)
_LEFT, _RIGHT = 55, 45


def is_tight(size: QSize) -> bool:
    """Whether a window of a size is small for its text, as 1280 × 800 is at 200 %."""
    roomy = _ROOMY * text_scale()
    return size.width() < roomy.width() or size.height() < roomy.height()


def board_of(left: NextHalf, right: StopHalf, *, tight: bool) -> QWidget:
    """Lay out the parts of both halves anew.

    Close, what to do now and next runs across below countdown and stop, and both lists and the
    settings come after it: nothing that has to be seen at once is scrolled to.
    """
    return _close(left, right) if tight else _beside(left, right)


def _beside(left: NextHalf, right: StopHalf) -> QWidget:
    board = QWidget()
    halves = QHBoxLayout(board)
    halves.setContentsMargins(0, 0, 0, 0)
    halves.setSpacing(px(44))
    for stretch, pieces in (
        (_LEFT, (left.upper(tight=False), left.todo(tight=False), left.pages)),
        (_RIGHT, (right.upper(tight=False), right.lower())),
    ):
        column = QVBoxLayout()
        column.setSpacing(px(4))
        for piece in pieces:
            column.addWidget(piece, 1 if piece is pieces[-1] else 0)
        halves.addLayout(column, stretch)
    return board


def _close(left: NextHalf, right: StopHalf) -> QWidget:
    board = QWidget()
    grid = QGridLayout(board)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setHorizontalSpacing(px(16))
    grid.setVerticalSpacing(px(4))
    grid.setColumnStretch(0, _LEFT)
    grid.setColumnStretch(1, _RIGHT)
    grid.setRowStretch(2, 1)
    grid.addWidget(left.upper(tight=True), 0, 0)
    grid.addWidget(right.upper(tight=True), 0, 1)
    grid.addWidget(left.todo(tight=True), 1, 0, 1, 2)
    grid.addWidget(left.pages, 2, 0)
    grid.addWidget(right.lower(), 2, 1)
    return board
