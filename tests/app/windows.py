"""A real main window for tests, with a ready site in it, and what tests ask of its widgets."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QAction, QDragEnterEvent, QDropEvent, QImage
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QMenu, QScrollArea, QWidget
from pytestqt.qtbot import QtBot

from app.looks import choose_theme, prepare
from app.resources import demo_sites
from app.theme import set_text_scale
from app.window import MainWindow

#: A site whose A and B are two different takes of one evening.
TWO_TAKES = next(site for site in demo_sites() if site.stem == "montevaro_hill")


def without_question(window: MainWindow) -> None:
    """Let a test's window close without asking about its changes."""
    window.store.open(None)


def made_window(qtbot: QtBot, qapp: QApplication, site: Path | None) -> MainWindow:
    """Make a main window as the program does, 1280 by 800, shown and settled."""
    prepare(qapp)
    choose_theme(qapp, "light")
    window = MainWindow()
    qtbot.addWidget(window, before_close_func=without_question)
    window.resize(1280, 800)
    with qtbot.waitExposed(window):
        window.show()
    window.activateWindow()  # where no window manager does
    qtbot.waitUntil(window.isActiveWindow)
    if site is not None:
        window.open_path(site, copy=True)
    settle(window)
    return window


@pytest.fixture
def window(qtbot: QtBot, qapp: QApplication) -> Iterator[MainWindow]:
    """Give a window with two takes of one evening; text and theme are as before afterwards."""
    yield made_window(qtbot, qapp, TWO_TAKES)
    close_main_windows()
    set_text_scale(qapp, 1.0)


@pytest.fixture
def empty_window(qtbot: QtBot, qapp: QApplication) -> Iterator[MainWindow]:
    """Give a window without a plan."""
    yield made_window(qtbot, qapp, None)
    close_main_windows()


def main_windows() -> list[MainWindow]:
    """The main windows that are seen."""
    shown = [one for one in QApplication.topLevelWidgets() if one.isVisible()]
    return [one for one in shown if isinstance(one, MainWindow)]


def close_main_windows() -> None:
    """Close, without a question, the windows that a test opened beside its own."""
    for one in main_windows():
        without_question(one)
        one.close()
        one.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def settle(window: MainWindow) -> None:
    """Let a window catch up with its plan and paint."""
    for _ in range(3):
        window.store.settle_now()
        QApplication.processEvents()


def action(window: MainWindow, text: str) -> QAction:
    """The action of the menus that reads so."""
    bar = window.menuBar()
    menus = [menu for menu in bar.findChildren(QMenu) if menu.parent() is bar]
    actions = [one for menu in menus for one in menu.actions()]
    found = [one for one in actions if one.text().replace("&", "") == text]
    assert len(found) == 1, text
    return found[0]


def drop(window: MainWindow, *paths: Path) -> None:
    """Drop files or folders on a window."""
    dropped = QMimeData()
    dropped.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    at, move = QPointF(600.0, 400.0), Qt.DropAction.CopyAction
    buttons, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    entered = QDragEnterEvent(at.toPoint(), move, dropped, buttons, keys)
    QApplication.sendEvent(window, entered)
    assert entered.isAccepted()
    QApplication.sendEvent(window, QDropEvent(at, move, dropped, buttons, keys))


def picture(widget: QWidget) -> QImage:
    """What a widget shows now."""
    return widget.grab().toImage()


def is_reached_by_tab(widget: QWidget) -> bool:
    """Whether the Tab key should stop at a widget."""
    by_tab = bool(widget.focusPolicy().value & Qt.FocusPolicy.TabFocus.value)
    return by_tab and widget.isVisible() and widget.isEnabled() and not widget.focusProxy()


def name_of(widget: QWidget) -> str:
    """A widget in words, for a failing test."""
    return f"{type(widget).__name__} {widget.accessibleName() or widget.objectName()!r}"


def scrolls(widget: QWidget) -> bool:
    """Whether a widget shows a part of its children on purpose."""
    parent = widget.parentWidget()
    return isinstance(widget, QAbstractScrollArea) or (
        isinstance(parent, QScrollArea) and parent.viewport() is widget
    )
