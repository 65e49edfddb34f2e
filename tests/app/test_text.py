"""Text that wraps: what belongs together stays in one line."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QFontMetrics
from pytestqt.qtbot import QtBot

from app.theme import font
from app.widgets.text import Text
from tests.evening import dress


@pytest.mark.parametrize("figure", ["f/1.8", "109 m", "ISO 100", "1/60 s"])
def test_a_figure_is_not_broken_from_its_unit(qtbot: QtBot, figure: str) -> None:
    dress()
    text = Text(figure, wraps=True)
    qtbot.addWidget(text)
    line = QFontMetrics(font(13, 400)).height()
    assert text.heightForWidth(QFontMetrics(font(13, 400)).horizontalAdvance(figure[:-1])) <= line
