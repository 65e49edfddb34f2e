"""A row of the settings: its slider by hand and by keys, its groove, what it says aloud."""

from __future__ import annotations

import dataclasses

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QWheelEvent
from PySide6.QtTest import QSignalSpy, QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.theme import THEMES, ThemeName, px
from app.widgets.presses import TOGETHER_MS
from app.widgets.scale_slider import ScaleSlider, SliderState
from app.widgets.setting_row import RowState, SettingRow
from tests.evening import dress, show

STATE = SliderState(count=10, position=3.0, other=1.0, good=((2.0, 5.0),))
NONE, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
CONTROL = Qt.KeyboardModifier.ControlModifier
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def row(qtbot: QtBot) -> SettingRow:
    dress()
    made = SettingRow("Interval")
    show(qtbot, made, 256, 45)
    made.show_state(
        RowState("3 s", STATE, spoken="3 seconds", good="good from 2 s to 5 seconds", note="")
    )
    return made


def heard(spy: QSignalSpy) -> list[list[object]]:
    return [spy.at(place) for place in range(spy.count())]


def at(slider: ScaleSlider, place: float) -> QPoint:
    return QPoint(round(slider.x_of(place)), px(10))


# ---- by hand ----


def test_a_drag_moves_along_the_scale_as_one_gesture(row: SettingRow) -> None:
    slider = row.slider
    grasped, picked = QSignalSpy(row.grasped), QSignalSpy(row.picked)
    QTest.mousePress(slider, LEFT, NONE, at(slider, 3.0))
    for place in (4.0, 5.2, 6.0):
        QTest.mouseMove(slider, at(slider, place))
    QTest.mouseRelease(slider, LEFT, NONE, at(slider, 6.0))
    assert grasped.count() == 1
    assert heard(picked) == [[4], [5], [6]]


def test_a_press_beside_the_handle_brings_it_there(row: SettingRow) -> None:
    picked = QSignalSpy(row.picked)
    QTest.mouseClick(row.slider, LEFT, NONE, at(row.slider, 8.0))
    assert heard(picked) == [[8]]


def test_the_handle_is_grasped_where_it_is_without_a_jump(row: SettingRow) -> None:
    picked = QSignalSpy(row.picked)
    beside = at(row.slider, 3.0) + QPoint(4, 0)
    QTest.mousePress(row.slider, LEFT, NONE, beside)
    QTest.mouseRelease(row.slider, LEFT, NONE, beside)
    assert picked.count() == 0


def test_a_value_between_two_steps_stays_there_until_it_is_moved(row: SettingRow) -> None:
    picked = QSignalSpy(row.picked)
    row.show_state(RowState("3.5 s", dataclasses.replace(STATE, position=3.5)))
    assert picked.count() == 0
    assert row.slider.x_of(3.0) < row.slider.x_of(3.5) < row.slider.x_of(4.0)


def test_a_wide_scale_stops_a_drag_at_its_steps(row: SettingRow) -> None:
    state = SliderState(count=3601, position=600.0, step=10, notches=False)
    row.show_state(RowState("19:06:13", state))
    picked = QSignalSpy(row.picked)
    QTest.mouseClick(row.slider, LEFT, NONE, at(row.slider, 1804.0))
    (place,) = (pick[0] for pick in heard(picked))
    assert isinstance(place, int)
    assert place % 10 == 0


def wheel(slider: ScaleSlider, turn: int) -> bool:
    """Turn the wheel over a slider; whether it took the turn."""
    middle = QPointF(slider.rect().center())
    event = QWheelEvent(
        middle,
        slider.mapToGlobal(middle),
        QPoint(),
        QPoint(0, turn),
        Qt.MouseButton.NoButton,
        NONE,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    event.ignore()
    QApplication.sendEvent(slider, event)
    return event.isAccepted()


def test_the_wheel_scrolls_the_column_unless_the_slider_has_the_keyboard(row: SettingRow) -> None:
    stepped = QSignalSpy(row.stepped)
    row.slider.clearFocus()
    assert not wheel(row.slider, 120)
    row.slider.setFocus()
    assert wheel(row.slider, 120)
    assert heard(stepped) == [[1, False]]


# ---- by keys ----


@pytest.mark.parametrize(
    ("key", "modifier", "steps"),
    [
        (Qt.Key.Key_Right, NONE, [1, False]),
        (Qt.Key.Key_Up, NONE, [1, False]),
        (Qt.Key.Key_Left, NONE, [-1, False]),
        (Qt.Key.Key_Down, NONE, [-1, False]),
        (Qt.Key.Key_Right, SHIFT, [1, True]),
        (Qt.Key.Key_Left, SHIFT, [-1, True]),
        (Qt.Key.Key_PageUp, NONE, [5, False]),
        (Qt.Key.Key_PageDown, NONE, [-5, False]),
    ],
)
def test_keys_step(
    row: SettingRow, key: Qt.Key, modifier: Qt.KeyboardModifier, steps: list[object]
) -> None:
    grasped, stepped = QSignalSpy(row.grasped), QSignalSpy(row.stepped)
    row.slider.setFocus()
    QTest.keyClick(row.slider, key, modifier)
    assert heard(stepped) == [steps]
    assert grasped.count() == 1


@pytest.mark.parametrize(("key", "place"), [(Qt.Key.Key_Home, 0), (Qt.Key.Key_End, 9)])
def test_home_and_end_go_to_the_ends_of_the_scale(row: SettingRow, key: Qt.Key, place: int) -> None:
    picked = QSignalSpy(row.picked)
    QTest.keyClick(row.slider, key)
    assert heard(picked) == [[place]]


@pytest.mark.parametrize(("key", "end"), [(Qt.Key.Key_Home, -1), (Qt.Key.Key_End, 1)])
def test_control_goes_to_the_ends_of_the_good_range(row: SettingRow, key: Qt.Key, end: int) -> None:
    ends = QSignalSpy(row.good_end)
    QTest.keyClick(row.slider, key, CONTROL)
    assert heard(ends) == [[end]]


def test_a_digit_opens_the_value_with_it(row: SettingRow) -> None:
    row.slider.setFocus()
    QTest.keyClick(row.slider, Qt.Key.Key_4)
    assert row.field.hasFocus()
    assert row.field.text() == "4"


def test_f2_opens_the_value_as_it_is(row: SettingRow) -> None:
    row.slider.setFocus()
    QTest.keyClick(row.slider, Qt.Key.Key_F2)
    assert row.field.hasFocus()
    assert row.field.text() == "3 s"


def test_backspace_resets(row: SettingRow) -> None:
    resets = QSignalSpy(row.reset)
    QTest.keyClick(row.slider, Qt.Key.Key_Backspace)
    assert resets.count() == 1


def test_tab_goes_from_slider_to_value(row: SettingRow) -> None:
    row.slider.setFocus()
    QTest.keyClick(row.slider, Qt.Key.Key_Tab)
    assert row.field.hasFocus()


# ---- what it says ----


def test_a_screen_reader_hears_name_value_and_good_range(row: SettingRow) -> None:
    assert row.slider.accessibleName() == "Interval"
    assert row.slider.accessibleDescription() == "3 seconds; good from 2 s to 5 seconds"
    assert row.field.accessibleDescription() == "good from 2 s to 5 seconds"


def test_outside_the_good_range_the_note_names_what_fails(row: SettingRow) -> None:
    state = dataclasses.replace(STATE, position=7.0, outside=True)
    row.show_state(RowState("8 s", state, note="f/1.8 fixed", fails="sky burns"))
    assert row._note.text() == "sky burns"
    assert row._mark.isVisible()
    assert "sky burns" in row.slider.accessibleDescription()


def test_what_was_not_understood_has_one_line_beneath(row: SettingRow) -> None:
    before = row.sizeHint().height()
    row.refuse('shutter "quick" was not understood.')
    assert row.refusal == 'Shutter "quick" was not understood.'
    assert row.sizeHint().height() > before
    row.accept()
    assert row.refusal == ""
    assert row.sizeHint().height() == before == 45


def test_nothing_is_repainted_where_nothing_changed(
    row: SettingRow, monkeypatch: pytest.MonkeyPatch
) -> None:
    painted = []
    monkeypatch.setattr(row.slider, "update", lambda: painted.append(1))
    assert row.state is not None
    row.show_state(dataclasses.replace(row.state))
    assert painted == []
    row.show_state(dataclasses.replace(row.state, slider=dataclasses.replace(STATE, position=4.0)))
    assert painted == [1]


# ---- what it looks like ----


def colour_at(row: SettingRow, x: float, y: float) -> QColor:
    return row.slider.grab().toImage().pixelColor(round(x), round(y))


@pytest.mark.parametrize("name", ["light", "dark", "dim"])
def test_the_groove_is_thick_where_the_plan_holds(row: SettingRow, name: ThemeName) -> None:
    dress(name)
    y = px(10)
    inside = colour_at(row, row.slider.x_of(4.5), y + 1)
    outside = colour_at(row, row.slider.x_of(7.5), y + 2)
    dress()
    assert inside == THEMES[name].ink2
    assert outside == THEMES[name].window


def test_the_handle_is_filled_with_the_shoots_colour_and_hollow_outside(row: SettingRow) -> None:
    x, y = round(row.slider.x_of(3.0)), px(10)
    assert colour_at(row, x - 3, y) == THEMES["light"].a
    state = dataclasses.replace(STATE, outside=True)
    row.show_state(RowState("3 s", state, fails="sky burns"))
    assert colour_at(row, x - 3, y) == THEMES["light"].window
    assert colour_at(row, x - 5, y) == THEMES["light"].alarm


def test_the_other_shoots_value_is_a_hollow_mark(row: SettingRow) -> None:
    x, y = row.slider.x_of(1.0), px(10)
    assert colour_at(row, x, y) == THEMES["light"].window
    row.show_state(RowState("3 s", dataclasses.replace(STATE, other=None)))
    assert colour_at(row, x, y) == THEMES["light"].edge


def count_notches(row: SettingRow) -> int:
    image = row.slider.grab().toImage()
    line = [image.pixelColor(x, px(16)) == THEMES["light"].edge for x in range(image.width())]
    return sum(now and not before for before, now in zip([False, *line], line, strict=False))


def test_every_real_step_has_a_notch_unless_there_are_too_many(row: SettingRow) -> None:
    # The handle covers the notch beneath it.
    assert count_notches(row) == 9
    row.show_state(RowState("3 s", dataclasses.replace(STATE, count=26)))
    assert count_notches(row) == 0


def test_the_picture_grows_with_the_text(row: SettingRow) -> None:
    before = row.sizeHint().height()
    dress(scale=2.0)
    after = row.sizeHint().height()
    dress()
    assert (before, after) == (45, 90)


def test_a_refused_text_goes_when_the_value_moves_another_way(row: SettingRow) -> None:
    row.field.setFocus()
    row.field.selectAll()
    QTest.keyClicks(row.field, "banana")
    row.refuse("Interval was not understood.")
    row.show_state(RowState("4 s", dataclasses.replace(STATE, position=4.0)))
    assert row.field.text() == "4 s"
    assert row.refusal == ""


def test_a_refused_text_stays_while_its_own_value_stands(row: SettingRow) -> None:
    row.field.setFocus()
    row.field.selectAll()
    QTest.keyClicks(row.field, "banana")
    row.refuse("Interval was not understood.")
    row.show_state(RowState("3 s", dataclasses.replace(STATE, good=((1.0, 5.0),))))
    assert row.field.text() == "banana"
    assert row.refusal


def test_quick_presses_are_one_movement_and_a_later_one_is_another(
    qtbot: QtBot, row: SettingRow
) -> None:
    grasped = QSignalSpy(row.grasped)
    for _ in range(5):
        QTest.keyClick(row.slider, Qt.Key.Key_Right)
    assert grasped.count() == 1
    qtbot.wait(TOGETHER_MS + 100)
    QTest.keyClick(row.slider, Qt.Key.Key_Right)
    assert grasped.count() == 2
