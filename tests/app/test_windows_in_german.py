"""The windows beside the main one, for a pilot who reads and types German."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app.store import Store
from app.widgets.typed_row import TypedRow
from app.windows.best import BestWindow
from app.windows.last_night import LastNightWindow
from app.windows.late import LateWindow
from app.windows.readings import ReadingsWindow
from app.windows.reviewcolumn import ReviewColumn
from core.language import say
from core.plan import Remark
from tests.app.panes import store_of

pytestmark = pytest.mark.usefixtures("german")

WINDOWS: dict[str, Callable[[Store], QWidget]] = {
    "best": BestWindow,
    "last night": LastNightWindow,
    "late": LateWindow,
    "readings": ReadingsWindow,
    "review": lambda _store: ReviewColumn(),
}


@pytest.mark.parametrize("name", WINDOWS)
def test_what_a_field_shows_can_be_typed(name: str, qtbot: QtBot) -> None:
    window = WINDOWS[name](store_of("montevaro_hill"))
    qtbot.addWidget(window)
    window.show()
    rows = [row for row in window.findChildren(TypedRow) if row.field.text()]
    assert rows
    for row in rows:
        shown = row.field.text()
        row.take(shown)
        assert (row.field.text(), row.refusal) == (shown, "")


def test_a_tone_is_typed_with_a_decimal_comma_and_stands_in_stops(qtbot: QtBot) -> None:
    window = ReadingsWindow(store_of("montevaro_hill"))
    qtbot.addWidget(window)
    window.show()
    window.tone.take("-0,6")
    assert window.tone.value == pytest.approx(-0.6)
    window.tone.take(window.tone.field.text())
    assert window.tone.value == pytest.approx(-0.6)


def test_stops_beyond_a_limit_are_typed_as_they_are_shown(qtbot: QtBot) -> None:
    window = LastNightWindow(store_of("montevaro_hill"))
    qtbot.addWidget(window)
    window.show()
    row = window.remarks["land"]
    row.showed.button(3).click()
    for text, stops in ((say("0 stops"), 0.0), ("1,5", 1.5)):
        row.by.setText(text)
        assert row.remark() == Remark("land", "dark", 0, stops)
