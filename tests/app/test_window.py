"""The main window, by hand and by keyboard: what the pilot does reaches plan and pictures."""

from __future__ import annotations

import json
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtCore import QLocale, QPoint, Qt, QTimer
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QMenu, QMessageBox, QWidget
from pytestqt.qtbot import QtBot

from app.columns import SIDES
from app.resources import demo_sites
from app.theme import THEMES, px, set_text_scale, text_scale, theme_of
from app.widgets.buttons import Button
from app.widgets.setting_row import SettingRow
from app.widgets.text import Text
from app.window import MainWindow
from core.edit import get_value
from core.planfile import load
from tests.app.windows import (
    TWO_TAKES,
    empty_window,
    is_reached_by_tab,
    name_of,
    picture,
    settle,
    window,
)

__all__ = ["empty_window", "window"]

FLIGHT_KEYS = ("start", "interval_s", "clip_length_s", "frame_rate_fps")
EXPOSURE_KEYS = ("shutter_s", "iso", "nd_stops", "f_number")
PLAN_KEYS = {"start": "start_after_event_min"}
CONTROL = Qt.KeyboardModifier.ControlModifier


def row_of(window: MainWindow, key: str) -> SettingRow:
    """The row of a setting; the lens gets a second aperture so that there is one for it."""
    if key == "f_number":
        window.store.edit("lens", {"camera.f_numbers": [1.8, 2.8, 4.0]})
        settle(window)
    return window.shoot.start if key == "start" else window.shoot.rows[key]  # type: ignore[index]


def value(window: MainWindow, key: str) -> object:
    assert window.store.plan is not None
    return get_value(window.store.plan, f"shoots.A.{PLAN_KEYS.get(key, key)}")


def shown_in(window: MainWindow) -> dict[str, object]:
    """What the pilot sees and hears of shoot A's light and battery."""
    seen = window.store.outlook("A")
    assert seen is not None
    sheet = window.sheet
    return {
        "tone": picture(sheet.tone),
        "charge": picture(sheet.charge),
        "flight": picture(sheet.flights[0]),
        "tone said": sheet.tone.accessibleDescription(),
        "charge said": sheet.charge.accessibleDescription(),
        "verdict": window.verdict.accessibleDescription(),
        "slack": seen.judgement.slack_stops,
        "stops": seen.tones.street.stops.mean(),
        "margin": seen.flight.margin_min,
    }


def changed_by(window: MainWindow, move: Callable[[], None]) -> set[str]:
    before = shown_in(window)
    move()
    settle(window)
    after = shown_in(window)
    return {name for name in before if before[name] != after[name]}


@pytest.mark.parametrize("hand", ["keyboard", "mouse"])
@pytest.mark.parametrize("key", [*FLIGHT_KEYS, *EXPOSURE_KEYS])
def test_every_slider_moves_the_plan_the_plot_and_what_it_touches_of_the_flight(
    window: MainWindow, key: str, hand: str
) -> None:
    row = row_of(window, key)
    before, steps = value(window, key), window.store.undo_stack.count()

    def move() -> None:
        if hand == "keyboard":
            row.slider.setFocus(Qt.FocusReason.TabFocusReason)
            QTest.keyClick(row.slider, Qt.Key.Key_Right)
        else:
            drag(row)

    changed = changed_by(window, move)
    assert value(window, key) != before
    assert window.store.undo_stack.count() == steps + 1
    assert "tone" in changed
    assert "verdict" in changed
    if key in FLIGHT_KEYS:
        # A later press moves the flight along the clock; a longer take shortens what is left.
        assert {"charge", "flight", "charge said"} <= changed
        assert ("margin" in changed) == (key != "start")
    else:
        # Exposure is light alone: the battery does not know about it.
        assert "stops" in changed
        assert not {"charge", "flight", "charge said", "margin"} & changed


def drag(row: SettingRow) -> None:
    """Take the handle of a slider and pull it to the right in small moves."""
    assert row.state is not None
    slider = row.slider
    at = QPoint(round(slider.x_of(row.state.slider.position)), slider.height() // 2)
    left = Qt.MouseButton.LeftButton
    QTest.mousePress(slider, left, pos=at)
    for step in range(1, 11):
        QTest.mouseMove(slider, at + QPoint(step * slider.width() // 40, 0))
    QTest.mouseRelease(slider, left, pos=at + QPoint(slider.width() // 4, 0))


def test_a_value_is_typed_with_comma_or_point_whatever_the_locale(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = QLocale()
    QLocale.setDefault(QLocale("de_DE"))
    try:
        for text in ("6,4", "6.4"):
            field = window.shoot.rows["clip_length_s"].field
            field.setFocus()
            field.selectAll()
            QTest.keyClicks(field, text)
            QTest.keyClick(field, Qt.Key.Key_Return)
            assert value(window, "clip_length_s") == 6.4
            assert field.text() == "6.4 s"
        assert "Nov" in window.night.date.text()
        path = tmp_path / "plan.duskplan"
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
        assert window.save()
        assert json.loads(path.read_text("utf-8"))["shoots"]["A"]["clip_length_s"] == 6.4
    finally:
        QLocale.setDefault(before)


def test_both_takes_stand_on_one_plot_each_in_its_own_ink(window: MainWindow) -> None:
    shown = window.sheet.tone._picture
    assert shown is not None
    takes = {take.name: take for take in shown.tones.takes}
    assert set(takes) == {"A", "B"}
    assert takes["A"].first_s != takes["B"].first_s
    image = picture(window.sheet.tone)
    colours = {
        image.pixelColor(x, y).name()
        for x in range(image.width())
        for y in range(0, image.height(), 3)
    }
    assert THEMES["light"].a.name() in colours
    assert THEMES["light"].b.name() in colours


def test_turning_to_b_turns_settings_and_gauge_and_keeps_both_takes(window: MainWindow) -> None:
    filter_a = window.shoot.rows["nd_stops"].field.text()
    QTest.keyClick(window, Qt.Key.Key_B, CONTROL | Qt.KeyboardModifier.ShiftModifier)
    settle(window)
    assert window.store.active == "B"
    assert window.shoot.rows["nd_stops"].field.text() != filter_a
    assert window.verdict.accessibleDescription().startswith("B: ")
    shown = window.sheet.tone._picture
    assert shown is not None
    assert {take.name for take in shown.tones.takes} == {"A", "B"}
    assert not window.store.undo_stack.canUndo()


def action(window: MainWindow, text: str) -> QAction:
    """The action of the menus that reads so."""
    bar = window.menuBar()
    menus = [menu for menu in bar.findChildren(QMenu) if menu.parent() is bar]
    actions = [one for menu in menus for one in menu.actions()]
    found = [one for one in actions if one.text().replace("&", "") == text]
    assert len(found) == 1, text
    return found[0]


def test_undo_and_redo_say_what_they_take_back(window: MainWindow) -> None:
    before = window.store.plan
    slider = window.shoot.rows["iso"].slider
    slider.setFocus()
    QTest.keyClick(slider, Qt.Key.Key_Right)
    after = window.store.plan
    assert action(window, "Undo ISO").isEnabled()
    QTest.keyClick(window, Qt.Key.Key_Z, CONTROL)
    assert window.store.plan == before
    assert action(window, "Redo ISO").isEnabled()
    QTest.keyClick(window, Qt.Key.Key_Y, CONTROL)
    assert window.store.plan == after


def test_copying_and_swapping_shoots_is_one_step_each(window: MainWindow) -> None:
    plan = window.store.plan
    assert plan is not None
    action(window, "Swap A and B").trigger()
    swapped = window.store.plan
    assert swapped is not None
    assert (swapped.shoots.A, swapped.shoots.B) == (plan.shoots.B, plan.shoots.A)
    action(window, "Copy A to B").trigger()
    copied = window.store.plan
    assert copied is not None
    assert copied.shoots.A == copied.shoots.B == plan.shoots.B
    assert window.store.undo_stack.undoText() == "copy A to B"
    window.store.undo_stack.undo()
    assert window.store.plan == swapped


def test_the_next_night_moves_both_takes_of_one_night(window: MainWindow) -> None:
    plan = window.store.plan
    assert plan is not None
    action(window, "Next night").trigger()
    moved = window.store.plan
    assert moved is not None
    assert (moved.shoots.A.date - plan.shoots.A.date).days == 1
    assert moved.shoots.B.date == moved.shoots.A.date


# ---- files ----


def test_save_and_reopen_gives_an_equal_plan(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.store.edit("ISO", {"shoots.B.iso": 400.0, "place.name": "Mole & Quay"})
    plan, path = window.store.plan, tmp_path / "quay"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    assert window.isWindowModified()
    assert window.save()
    assert not window.isWindowModified()
    written = path.with_suffix(".duskplan")
    assert load(written) == plan
    assert written.name in window.windowTitle()
    window.open_path(TWO_TAKES, copy=True)
    assert window.store.plan != plan
    recent = action(window, "Open recent").menu()
    assert isinstance(recent, QMenu)
    recent.aboutToShow.emit()
    (last,) = recent.actions()
    last.trigger()
    assert window.document.path == written
    assert window.store.plan == plan


def answer(text: str) -> None:
    """Press a button of the question that is about to be asked."""

    def press() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        next(one for one in box.buttons() if one.text() == text).click()

    QTimer.singleShot(0, press)


@pytest.mark.parametrize(
    ("text", "closes", "saved"),
    [("Save", True, True), ("Lose the changes", True, False), ("Keep editing", False, False)],
)
def test_closing_with_unsaved_changes_asks(
    window: MainWindow, tmp_path: Path, text: str, closes: bool, saved: bool
) -> None:
    path = tmp_path / "plan.duskplan"
    window.document.save(path)
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    answer(text)
    assert window.close() is closes
    assert window.isVisible() is not closes
    assert (load(path).shoots.A.iso == 800.0) is saved


def test_closing_without_changes_asks_nothing(window: MainWindow) -> None:
    assert window.close()


def test_a_save_that_fails_keeps_the_window_open(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = tmp_path / "no such folder" / "plan.duskplan"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(gone), ""))
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    plan = window.store.plan
    answer("Save")
    assert not window.close()
    assert window.store.plan == plan
    assert window.isWindowModified()
    said = window.notice.text()
    assert window.notice.isVisible()
    assert said.startswith("plan.duskplan was not saved: ")
    assert said.endswith("The plan is still open here, unsaved.")


BAD_FILES = {
    "torn": ("{", "bad.duskplan"),
    "of another kind": ('{"schema": "1.0", "place": 7}', "place"),
    "out of range": (
        '{"schema": "1.0", "place": {"name": "x", "latitude_deg": 95, "longitude_deg": 0}}',
        "place.latitude_deg is 95",
    ),
    "newer": ('{"schema": "2.0"}', "newer version"),
    "missing": (None, "bad.duskplan is not there"),
}


@pytest.mark.parametrize(("text", "expected"), BAD_FILES.values(), ids=BAD_FILES.keys())
def test_a_file_that_cannot_be_opened_is_told_and_the_plan_kept(
    window: MainWindow, tmp_path: Path, text: str | None, expected: str
) -> None:
    path = tmp_path / "bad.duskplan"
    if text is not None:
        path.write_text(text, "utf-8")
    plan = window.store.plan
    window.open_path(path)
    said = window.notice.text()
    assert window.notice.isVisible()
    assert expected in said
    assert said.endswith(". The plan that was open is still open.")
    assert "Traceback" not in said
    assert window.store.plan is plan
    assert window.document.path is None
    if text is not None:
        assert path.read_text("utf-8") == text


def test_a_bad_file_in_an_empty_window_keeps_the_question(
    empty_window: MainWindow, tmp_path: Path
) -> None:
    empty_window.open_path(tmp_path / "gone.duskplan")
    assert empty_window.notice.isVisible()
    assert "still open" not in empty_window.notice.text()
    assert empty_window.store.plan is None


def test_the_notice_goes_when_something_opens(window: MainWindow, tmp_path: Path) -> None:
    window.open_path(tmp_path / "gone.duskplan")
    window.open_path(TWO_TAKES, copy=True)
    assert not window.notice.isVisible()


def test_a_ready_site_opens_in_one_step_from_the_empty_window(empty_window: MainWindow) -> None:
    button = next(
        one for one in empty_window.findChildren(Button) if one.text() == "Open a demo site"
    )
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    settle(empty_window)
    assert empty_window.store.plan == load(demo_sites()[0])
    assert not empty_window.isWindowModified()
    assert not button.isVisible()
    assert empty_window.findings.rows


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
