"""How the main window looks and is reached: themes, text size, keyboard, room."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.columns import SIDES
from app.store import Store
from app.theme import px, set_text_scale, text_scale, theme_of
from app.widgets.buttons import Button
from app.widgets.setting_row import SettingRow
from app.widgets.text import Text
from app.window import MainWindow
from app.windows.best import BestWindow
from app.windows.compare import CompareWindow
from app.windows.details import DetailsWindow
from app.windows.last_night import LastNightWindow
from app.windows.late import LateWindow
from app.windows.moving import MovingWindow
from app.windows.nights import NightsWindow
from app.windows.readings import ReadingsWindow
from app.windows.review import ReviewWindow
from tests.app.windows import (
    empty_window,
    is_reached_by_tab,
    name_of,
    picture,
    settle,
    window,
)

__all__ = ["empty_window", "window"]

CONTROL = Qt.KeyboardModifier.ControlModifier


# ---- looks ----


def test_control_d_steps_light_dark_dim(window: MainWindow) -> None:
    seen = [theme_of(window).name]
    pictures = [picture(window)]
    for _ in range(3):
        QTest.keyClick(window, Qt.Key.Key_D, CONTROL)
        settle(window)
        seen.append(theme_of(window).name)
        pictures.append(picture(window))
    assert seen == ["light", "dark", "dim", "light"]
    assert pictures[0] == pictures[3]
    assert pictures[1] != pictures[2]


def test_in_dim_nothing_gives_off_blue_light(window: MainWindow) -> None:
    for _ in range(2):
        QTest.keyClick(window, Qt.Key.Key_D, CONTROL)
    settle(window)
    image = picture(window)
    pixels = (
        image.pixelColor(x, y) for x in range(image.width()) for y in range(0, image.height(), 5)
    )
    colours = {(one.red(), one.green(), one.blue()) for one in pixels}
    assert not [rgb for rgb in colours if not rgb[0] >= rgb[1] >= rgb[2]]


def frames_are_drawn(window: MainWindow) -> bool:
    """Whether both strips show every frame: they are drawn in a thread of their own."""
    pictures = [track.picture for track in window.sheet.frames]
    return all(picture is not None and picture.complete for picture in pictures)


KINDS = (
    BestWindow, CompareWindow, DetailsWindow, LastNightWindow, LateWindow, MovingWindow,
    NightsWindow, ReadingsWindow, ReviewWindow,
)  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_at_200_percent_text_no_window_opens_larger_than_the_screen(
    kind: Callable[[Store], QWidget], window: MainWindow, qapp: QApplication, qtbot: QtBot
) -> None:
    """Else its lower end, and the bar to scroll with, are where nobody sees them."""
    plain = kind(window.store)
    set_text_scale(qapp, 2.0)
    try:
        large = kind(window.store)
        for made in (plain, large):
            qtbot.addWidget(made)
        room = large.screen().availableSize().expandedTo(plain.size())
        assert large.size() == large.size().boundedTo(room)
    finally:
        set_text_scale(qapp, 1.0)


def test_text_grows_and_comes_back(window: MainWindow, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: frames_are_drawn(window), timeout=10_000)
    before = picture(window)
    QTest.keyClick(window, Qt.Key.Key_Plus, CONTROL)
    settle(window)
    assert text_scale() == pytest.approx(1.1)
    assert window.verdict.height() == px(82)
    assert picture(window) != before
    QTest.keyClick(window, Qt.Key.Key_Minus, CONTROL)
    QTest.keyClick(window, Qt.Key.Key_Minus, CONTROL)
    assert text_scale() == pytest.approx(0.9)
    QTest.keyClick(window, Qt.Key.Key_0, CONTROL)
    settle(window)
    assert text_scale() == 1.0
    qtbot.waitUntil(lambda: picture(window) == before, timeout=10_000)


# ---- keyboard ----


def walk() -> list[QWidget]:
    """Every widget that Tab stops at, from the first one round to it again."""
    stops: list[QWidget] = []
    for _ in range(200):
        focus = QApplication.focusWidget()
        assert isinstance(focus, QWidget)
        if stops and focus is stops[0]:
            return stops
        stops.append(focus)
        QTest.keyClick(focus, Qt.Key.Key_Tab)
    pytest.fail("Tab does not come round.")


@pytest.mark.parametrize("plan", ["with a plan", "without"])
def test_tab_reaches_every_control_and_each_has_a_name(
    request: pytest.FixtureRequest, plan: str
) -> None:
    shown: MainWindow = request.getfixturevalue(
        "window" if plan == "with a plan" else "empty_window"
    )
    stops = walk()
    there = [one for one in shown.findChildren(QWidget) if is_reached_by_tab(one)]
    missed = [name_of(one) for one in there if one not in stops]
    assert not missed
    assert len(stops) > 20 if plan == "with a plan" else len(stops) >= 3
    unnamed = [name_of(one) for one in stops if not (one.accessibleName() or _text(one))]
    assert not unnamed


def _text(widget: QWidget) -> str:
    return widget.text() if isinstance(widget, Button) else ""


def test_tab_follows_the_order_of_reading(window: MainWindow) -> None:
    """Left column, sheet, right column, findings; in a column from top to bottom.

    In a row of settings the slider comes before its value.
    """
    window.sheet.setFocus(Qt.FocusReason.TabFocusReason)
    stops = walk()
    parts = (window.night, window.sheet, window.shoot, window.findings)

    def part(widget: QWidget) -> int:
        return next(k for k, one in enumerate(parts) if one is widget or one.isAncestorOf(widget))

    first = next(k for k, one in enumerate(stops) if part(one) == 0)
    stops = stops[first:] + stops[:first]
    assert [part(one) for one in stops] == sorted(part(one) for one in stops)
    for column in (window.night, window.shoot):
        tops = [_top(one, column) for one in stops if column.isAncestorOf(one)]
        backward = [(a, b) for a, b in pairwise(tops) if b < a - 12]
        assert not backward


def _top(widget: QWidget, column: QWidget) -> int:
    """Where the row of a widget begins in its column."""
    row = widget
    while not isinstance(row, SettingRow):
        parent = row.parentWidget()
        if parent is None or parent is column:
            row = widget
            break
        row = parent
    return row.mapTo(column, QPoint(0, 0)).y()


# ---- room ----


def cut(window: MainWindow) -> list[str]:
    """Every visible widget that its parent cuts off, but for what scrolls."""
    body = window.columns.parentWidget()
    assert body is not None
    found = []
    for widget in body.findChildren(QWidget):
        parent = widget.parentWidget()
        if parent is None or not widget.isVisible() or _scrolled(widget, window):
            continue
        if not parent.rect().contains(widget.geometry()):
            found.append(f"{name_of(widget)} {widget.geometry()} in {parent.rect()}")
    return found


def _scrolled(widget: QWidget, window: MainWindow) -> bool:
    """Whether a widget is what a scroll area, or the sheet with too little height, moves."""
    parent = widget.parentWidget()
    above = parent.parentWidget() if parent else None
    area = above is not None and getattr(above, "viewport", None) is not None
    return area or parent is window.sheet.charge.parentWidget()


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("size", [(1280, 800), (1680, 1050)])
def test_nothing_is_cut(
    window: MainWindow, qapp: QApplication, size: tuple[int, int], scale: float
) -> None:
    set_text_scale(qapp, scale)
    window.resize(*size)
    settle(window)
    assert (window.width(), window.height()) == size
    assert not cut(window)
    for side, panel in zip(SIDES, (window.night, window.shoot), strict=True):
        if window.columns.width_of(side):
            assert panel.minimumSizeHint().width() <= window.columns.width_of(side)
    low = [
        one.text() for one in window.findChildren(Text) if one.isVisible() and not tall_enough(one)
    ]
    assert not low


def tall_enough(text: Text) -> bool:
    """Whether every line of a text that wraps has room."""
    return not text.hasHeightForWidth() or text.height() >= text.heightForWidth(text.width())


def test_large_text_makes_drawers_of_the_columns(window: MainWindow, qapp: QApplication) -> None:
    set_text_scale(qapp, 2.0)
    settle(window)
    columns = window.columns
    assert (columns.width_of("left"), columns.width_of("right")) == (0, 0)
    panels = (window.night, window.shoot)
    for key, side, panel in zip("12", SIDES, panels, strict=True):
        QTest.keyClicks(window, key, CONTROL)
        settle(window)
        focus = QApplication.focusWidget()
        assert focus is not None
        assert panel.isAncestorOf(focus)
        shown = [one for one in SIDES if columns.width_of(one)]
        assert shown == [side]
        assert not cut(window)
    QTest.keyClicks(window, "2", CONTROL)
    assert columns.width_of("right") == 0
    assert QApplication.focusWidget() is window.sheet
    set_text_scale(qapp, 1.0)
    settle(window)
    assert columns.width_of("left") == 232
    assert columns.width_of("right") == 288
    assert not columns.openers["left"].isVisible()


def test_drawers_open_by_their_buttons_too(window: MainWindow, qapp: QApplication) -> None:
    set_text_scale(qapp, 2.0)
    settle(window)
    opener = window.columns.openers["right"]
    assert opener.isVisible()
    assert opener.text() == "Settings of the shoot"
    QTest.mouseClick(opener, Qt.MouseButton.LeftButton)
    assert window.columns.width_of("right") == px(288)
    assert opener.text() == "Back to the sheet"
    QTest.mouseClick(window.columns.openers["left"], Qt.MouseButton.LeftButton)
    settle(window)
    for one in window.columns.openers.values():
        # Each beside the other and within the window, as wide as its text needs.
        assert one.width() >= one.sizeHint().width()
        assert one.mapTo(window, one.rect().topRight()).x() < window.width()


def test_the_clock_stands_still_under_a_moving_slider(window: MainWindow) -> None:
    slider = window.shoot.start.slider
    before = window.sheet.tone.clock
    slider.setSliderDown(True)
    for minutes in (90.0, 95.0):
        window.store.edit("start", {"shoots.A.start_after_event_min": minutes})
        settle(window)
        clock = window.sheet.tone.clock
        assert clock is not None
        assert before is not None
        assert clock.axis.first_s == before.axis.first_s
    slider.setSliderDown(False)
    settle(window)
    after = window.sheet.tone.clock
    assert after is not None
    assert before is not None
    assert (after.axis.first_s, after.axis.last_s) != (before.axis.first_s, before.axis.last_s)
