"""The main window, by hand and by keyboard: what the pilot does reaches plan and pictures."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QLocale, QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from app.theme import THEMES, set_text_scale
from app.widgets.setting_row import SettingRow
from app.window import MainWindow
from app.windows.nights import NightsWindow
from core.edit import get_value
from tests.app.windows import (
    action,
    empty_window,
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


def test_many_nights_open_by_their_key_and_close_with_the_window(
    qtbot: QtBot, window: MainWindow
) -> None:
    QTest.keyClick(window, Qt.Key.Key_N, CONTROL | Qt.KeyboardModifier.ShiftModifier)
    many = window.beside.get(NightsWindow)
    assert many is not None
    assert many.isVisible()
    qtbot.waitUntil(lambda: many.told.text() == "Working out 365 nights …")
    window.close()
    assert not many.isVisible()
    assert not many.nights


def test_the_next_night_leaves_the_other_twilight_of_that_date(window: MainWindow) -> None:
    window.store.edit("twilight", {"shoots.B.twilight": "dawn"})
    plan = window.store.plan
    assert plan is not None
    assert plan.shoots.A.date == plan.shoots.B.date
    action(window, "Previous night").trigger()
    moved = window.store.plan
    assert moved is not None
    assert (moved.shoots.A.date - plan.shoots.A.date).days == -1
    assert moved.shoots.B == plan.shoots.B


def test_at_200_percent_the_findings_leave_slack_and_charge_legible(
    window: MainWindow, qapp: QApplication
) -> None:
    set_text_scale(qapp, 2.0)
    settle(window)
    sheet, findings = window.sheet, window.findings
    assert len(findings.rows) >= 2
    assert findings.height() <= window.height() / 6 + 1
    assert findings.height() >= findings.rows[0].height()
    assert all(row.height() >= 64 for row in findings.rows)
    top = sheet.tone.height() + sheet.clock.height()
    assert sheet.tone.height() >= 180
    assert top + sheet.slack.height() <= sheet.height()
    sheet.scroll_to_end()
    charge = sheet.charge.mapTo(sheet, QPoint(0, 0)).y()
    assert charge >= top
    assert charge + sheet.charge.height() == sheet.height()
