"""A value that is typed: taken with Enter, restored with Esc, stepped with the arrows."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from app.widgets.text import Refusal
from app.widgets.value_field import ValueField
from tests.evening import dress, show


@pytest.fixture
def field(qtbot: QtBot) -> ValueField:
    dress()
    whole = QWidget()
    layout = QVBoxLayout(whole)
    made = ValueField("Shutter")
    layout.addWidget(QLineEdit())
    layout.addWidget(made)
    show(qtbot, whole, 200, 100)
    made.show_value("1 s")
    made.window_kept = whole  # type: ignore[attr-defined]
    return made


def test_enter_hands_over_what_was_typed(qtbot: QtBot, field: ValueField) -> None:
    field.setFocus()
    field.selectAll()
    with qtbot.waitSignal(field.entered) as entered:
        QTest.keyClicks(field, "1/4")
        QTest.keyClick(field, Qt.Key.Key_Return)
    assert entered.args == ["1/4"]


def test_leaving_the_field_hands_over_what_was_typed(qtbot: QtBot, field: ValueField) -> None:
    field.setFocus()
    QTest.keyClicks(field, "8")
    with qtbot.waitSignal(field.entered):
        QTest.keyClick(field, Qt.Key.Key_Tab, Qt.KeyboardModifier.ShiftModifier)


def test_leaving_an_untouched_field_hands_over_nothing(qtbot: QtBot, field: ValueField) -> None:
    field.setFocus()
    with qtbot.assertNotEmitted(field.entered):
        QTest.keyClick(field, Qt.Key.Key_Tab, Qt.KeyboardModifier.ShiftModifier)


def test_enter_on_what_is_shown_hands_over_nothing(qtbot: QtBot, field: ValueField) -> None:
    # 60 m stands as 196.9 ft: taken back, it would be 60.015 m, and a step of undo.
    field.setFocus()
    with qtbot.assertNotEmitted(field.entered):
        QTest.keyClick(field, Qt.Key.Key_Return)
        QTest.keyClicks(field, "1 s")
        QTest.keyClick(field, Qt.Key.Key_Return)


def test_what_is_shown_may_be_typed_over_what_was_refused(qtbot: QtBot, field: ValueField) -> None:
    field.setFocus()
    QTest.keyClicks(field, "quick")
    field.refuse()
    field.selectAll()
    with qtbot.waitSignal(field.restored):
        QTest.keyClicks(field, "1 s")
        QTest.keyClick(field, Qt.Key.Key_Return)
    assert not field.refused


def test_escape_restores_the_value(field: ValueField) -> None:
    field.setFocus()
    QTest.keyClicks(field, "quick")
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert field.text() == "1 s"
    assert not field.isModified()


def test_what_was_refused_stays_until_it_is_restored(field: ValueField) -> None:
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "quick")
    field.refuse()
    field.show_value("1 s")
    assert (field.text(), field.refused) == ("quick", True)
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert (field.text(), field.refused) == ("1 s", False)


def test_what_was_refused_goes_when_the_value_moves_another_way(
    qtbot: QtBot, field: ValueField
) -> None:
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "quick")
    field.refuse()
    with qtbot.waitSignal(field.restored):
        field.show_value("0.5 s")
    assert (field.text(), field.refused) == ("0.5 s", False)
    with qtbot.assertNotEmitted(field.entered):
        QTest.keyClick(field, Qt.Key.Key_Tab)


def test_a_new_value_does_not_overwrite_what_is_being_typed(field: ValueField) -> None:
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, "1/")
    field.show_value("0.5 s")
    assert field.text() == "1/"
    field.accept()
    assert field.text() == "0.5 s"


@pytest.mark.parametrize(
    ("key", "modifier", "steps"),
    [
        (Qt.Key.Key_Up, Qt.KeyboardModifier.NoModifier, [1, False]),
        (Qt.Key.Key_Down, Qt.KeyboardModifier.NoModifier, [-1, False]),
        (Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier, [1, True]),
    ],
)
def test_up_and_down_step(
    qtbot: QtBot,
    field: ValueField,
    key: Qt.Key,
    modifier: Qt.KeyboardModifier,
    steps: list[object],
) -> None:
    field.setFocus()
    with qtbot.waitSignal(field.stepped) as stepped:
        QTest.keyClick(field, key, modifier)
    assert stepped.args == steps


def test_a_double_click_resets(qtbot: QtBot, field: ValueField) -> None:
    with qtbot.waitSignal(field.reset):
        QTest.mouseDClick(field, Qt.MouseButton.LeftButton)


def test_a_digit_opens_the_field_and_the_focus_selects_the_value(
    qtbot: QtBot, field: ValueField
) -> None:
    field.open_with("2")
    assert (field.text(), field.hasFocus(), field.isModified()) == ("2", True, True)
    field.accept()
    field.clearFocus()
    field.open_with()
    qtbot.waitUntil(lambda: field.selectedText() == "1 s")


def test_what_is_entered_is_a_step_of_undo_of_its_own(qtbot: QtBot, field: ValueField) -> None:
    field.setFocus()
    QTest.keyClicks(field, "8")
    with qtbot.waitSignals([field.opened, field.entered], order="strict"):
        QTest.keyClick(field, Qt.Key.Key_Return)


def test_the_line_beneath_says_what_was_not_understood(qtbot: QtBot) -> None:
    dress()
    line = Refusal()
    qtbot.addWidget(line)
    line.tell("shutter was not understood.")
    assert not line.isHidden()
    assert line.sentence == "Shutter was not understood."
    assert line.accessibleName() == line.sentence
    line.tell("")
    assert line.isHidden()


def test_a_long_sentence_takes_the_lines_it_needs(qtbot: QtBot) -> None:
    dress()
    line = Refusal()
    qtbot.addWidget(line)
    line.tell("a number of seconds from 0.0001 to 120 was expected, such as 1 s. " * 2)
    assert line.heightForWidth(200) > 3 * line.heightForWidth(5000)


def test_it_grows_with_the_text(field: ValueField) -> None:
    before = field.sizeHint()
    dress(scale=2.0)
    after = field.sizeHint()
    letters = field.font().pixelSize()
    dress()
    assert after == before * 2
    assert letters == 30
