"""The manner of writing, chosen in the menu: units, clock, dates and language."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.background import Background
from app.window import MainWindow
from core.manner import Manner, adopt, manner
from tests.app.windows import TWO_TAKES, close_main_windows, made_window, picture, settle

WINDOWS: dict[str, Callable[[MainWindow], QWidget]] = {
    "main": lambda main: main,
    "best": lambda main: main.beside.best(),
    "compare": lambda main: main.beside.compare(),
    "details": lambda main: main.beside.details(),
    "last night": lambda main: main.beside.last_night(),
    "late": lambda main: main.beside.late(),
    "motion": lambda main: main.beside.moving(),
    "nights": lambda main: main.beside.nights(),
    "readings": lambda main: main.beside.readings(),
    "review": lambda main: main.beside.review(),
}


@pytest.fixture(autouse=True)
def plainly() -> Iterator[None]:
    """Leave the process as it was."""
    yield
    close_main_windows()
    adopt(Manner())


def _looks(qtbot: QtBot, main: MainWindow, shown: QWidget) -> QImage:
    """What a window shows once all that it asked for is there."""
    settle(main)
    behind = shown.findChildren(Background)
    qtbot.waitUntil(lambda: all(one.asked is None for one in behind), timeout=60_000)
    settle(main)
    return picture(shown)


@pytest.mark.parametrize("name", WINDOWS)
def test_a_window_that_is_open_reads_like_one_opened_afterwards(
    name: str, qtbot: QtBot, qapp: QApplication
) -> None:
    main = made_window(qtbot, qapp, TWO_TAKES)
    shown = WINDOWS[name](main)
    assert _looks(qtbot, main, shown) != QImage()
    for kind, value in (("units", "imperial"), ("hours", "12"), ("dates", "region")):
        main.write_in(kind, value)
    assert (manner().units, manner().hours) == ("imperial", "12")
    changed = _looks(qtbot, main, shown)
    another = made_window(qtbot, qapp, TWO_TAKES)
    fresh = WINDOWS[name](another)
    fresh.resize(shown.size())
    like_new = _looks(qtbot, another, fresh)
    assert changed == like_new
