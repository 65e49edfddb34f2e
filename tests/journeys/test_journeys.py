"""Whole tasks of a pilot, each through the real window from the first press to the last."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit
from pytestqt.qtbot import QtBot

from app.resources import demo_sites
from app.widgets.buttons import Button
from app.window import MainWindow
from app.windows.new_place import NewPlaceDialog
from core.outlook import Outlook
from core.plan import Plan, ShootName
from core.planfile import load
from tests.app.windows import empty_window, settle, window

__all__ = ["empty_window", "window"]

LEFT = Qt.MouseButton.LeftButton


def plan_of(window: MainWindow) -> Plan:
    """The plan as it stands."""
    assert window.store.plan is not None
    return window.store.plan


def seen(window: MainWindow, name: ShootName = "A") -> Outlook:
    """A shoot's outlook."""
    found = window.store.outlook(name)
    assert found is not None
    return found


def margin_min(window: MainWindow) -> float:
    """Minutes of battery to spare."""
    margin = seen(window).flight.margin_min
    assert margin is not None
    return margin


def verdict(window: MainWindow) -> str:
    """The first words of the window."""
    settle(window)
    shown = window.verdict.shown
    assert shown is not None
    return shown.first


def best_after_event_s(window: MainWindow) -> float:
    """The best start, in seconds after the event of the night."""
    settle(window)
    starts = window.store.starts("A")
    assert starts is not None
    assert starts.best_s is not None
    return starts.best_s - seen(window).night.event.time_s


def press(window: MainWindow, text: str) -> None:
    """Press a button of the window by its words."""
    (button,) = (
        one for one in window.findChildren(Button) if one.text() == text and one.isVisible()
    )
    QTest.mouseClick(button, LEFT)


def put(field: QLineEdit, text: str) -> None:
    """Type a value in place of the one that stands there."""
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def in_dialog(act: Callable[[NewPlaceDialog], None]) -> None:
    """Do something in the dialog that is about to open."""

    def found() -> None:
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, NewPlaceDialog)
        act(dialog)

    QTimer.singleShot(0, found)


def open_ready(window: MainWindow, stem: str) -> None:
    """Open a demo site."""
    window.open_path(next(one for one in demo_sites() if one.stem == stem), copy=True)
    settle(window)


def test_a_first_visit_from_nothing_to_a_saved_plan(
    empty_window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = empty_window

    def place(dialog: NewPlaceDialog) -> None:
        for key, text in (
            ("place.name", "Tidal steps"), ("place.latitude_deg", "44.05 N"),
            ("place.longitude_deg", "1.33 W"), ("shoots.A.date", "17 Oct 2026"),
        ):  # fmt: skip
            dialog.fields[key].setText(text)
        dialog.take()

    in_dialog(place)
    press(window, "Type a place")
    assert plan_of(window).place.time_zone == "Europe/Paris"
    settle(window)
    put(window.night.conditions["Haze"].field, "hazy")
    put(window.night.conditions["Wind at 10 m"].field, "3 m/s, 300°")
    assert plan_of(window).shoots.A.conditions.haze_aod == 0.3
    # The path is drawn by hand: its first station nearer to where the craft takes off.
    window.night.place.picture.switch.button(1).click()
    settle(window)
    sketch = window.night.path.sketch
    assert sketch.view is not None
    first = plan_of(window).path.stations[0]
    begin = QPointF(*sketch.view.xy((first.east_m, first.north_m))).toPoint()
    QTest.mousePress(sketch, LEFT, pos=begin)
    QTest.mouseMove(sketch, begin + QPoint(12, 12))
    QTest.mouseRelease(sketch, LEFT, pos=begin + QPoint(12, 12))
    moved = plan_of(window).path.stations[0]
    assert (moved.east_m, moved.north_m) != (first.east_m, first.north_m)
    settle(window)
    starts = window.store.starts("A")
    assert starts is not None
    if starts.best_s is not None:
        QTest.mouseClick(window.shoot.best_start, LEFT)
        assert abs(seen(window).press_s - starts.best_s) <= 1.0
    assert verdict(window).startswith(("Holds", "Does not hold"))
    assert any("local rules" in row.finding.text for row in window.findings.rows)
    path = tmp_path / "steps.duskplan"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    assert window.isWindowModified()
    assert window.save()
    assert load(path) == plan_of(window)
    assert not window.isWindowModified()


def test_tonight_starts_earlier_after_last_night_went_dark(window: MainWindow) -> None:
    told = window.beside.last_night()
    before, first_s = plan_of(window), best_after_event_s(window)
    row = told.remarks["land"]
    row.showed.button(3).click()
    row.frame.setText("40")
    row.by.setText("0.5 stop")
    QTest.mouseClick(told.learn_button, LEFT)
    learned = {item.name: item.value for item in plan_of(window).learned}
    # The place shows darker than was reckoned, and goes on doing so.
    assert learned["level_stops"] < -0.1
    QTest.mouseClick(told.plan_button, LEFT)
    after = plan_of(window)
    assert after.shoots.A.date == before.shoots.A.date + dt.timedelta(days=1)
    then_s = seen(window).press_s - seen(window).night.event.time_s
    assert then_s < first_s - 30.0
    assert "The take began at" in told.told.text()
    stack = window.store.undo_stack
    while stack.canUndo():
        stack.undo()
    assert plan_of(window) == before


def test_interval_is_traded_against_length_until_the_battery_fits(window: MainWindow) -> None:
    open_ready(window, "corvane_harbour")
    put(window.shoot.rows["clip_length_s"].field, "14 s")
    assert margin_min(window) < 0.0
    assert verdict(window) == "Does not hold."
    interval, length = (window.shoot.rows[key].slider for key in ("interval_s", "clip_length_s"))
    interval.setFocus()
    QTest.keyClick(interval, Qt.Key.Key_Left)
    assert plan_of(window).shoots.A.interval_s == 2.0
    length.setFocus()
    presses = 0
    while margin_min(window) < 0.0:
        QTest.keyClick(length, Qt.Key.Key_Left)
        presses += 1
        assert presses < 40
    shoot = plan_of(window).shoots.A
    assert shoot.interval_s == 2.0
    # Two thirds of the interval buys half as much length again of the same battery.
    assert 8.0 < shoot.clip_length_s < 14.0
    assert margin_min(window) >= 0.0


def test_two_starts_are_compared_on_one_plot_and_swapped(window: MainWindow, qtbot: QtBot) -> None:
    put(window.shoot.start.field, "17:05:00")
    window.store.set_active("B")
    put(window.shoot.start.field, "17:15:00")
    settle(window)
    a, b = (seen(window, name) for name in ("A", "B"))
    assert b.press_s - a.press_s == pytest.approx(600.0, abs=1.0)
    picture = window.sheet.tone.picture
    assert picture is not None
    assert {take.name for take in picture.tones.takes} == {"A", "B"}
    beside = window.beside.compare()
    rows = {row[0].text: [cell.text for cell in row[1:]] for row in beside.table.rows}
    assert rows["press"] == ["17:05:00", "≠", "17:15:00"]
    swap = next(one for one in beside.findChildren(Button) if "wap" in one.text())
    QTest.mouseClick(swap, LEFT)
    qtbot.waitUntil(lambda: seen(window).press_s == b.press_s)
    window.store.undo_stack.undo()
    assert (seen(window).press_s, seen(window, "B").press_s) == (a.press_s, b.press_s)


def test_a_dawn_in_the_far_north(window: MainWindow) -> None:
    open_ready(window, "skreigrunn")
    put(window.night.date, "2027-03-08")
    window.night.twilight.button(1).click()
    settle(window)
    out = seen(window)
    assert out.night.twilight == "dawn"
    starts = window.store.starts("A")
    assert starts is not None
    assert starts.best_s is not None
    QTest.mouseClick(window.shoot.best_start, LEFT)
    settle(window)
    out = seen(window)
    # Everything lies before the sunrise, in the order of the flight.
    assert out.take_off_s is not None
    assert out.take_off_s < out.press_s < out.last_frame_s < out.night.event.time_s
    assert verdict(window).startswith("Holds")
    # In June the sun stays up: told, and no start is offered.
    put(window.night.date, "2027-06-20")
    settle(window)
    assert seen(window).night.reason is not None
    assert not window.shoot.best_start.isEnabled()
    assert verdict(window) == "Does not hold."
