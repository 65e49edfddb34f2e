"""A new place, typed: it becomes a plan, or one sentence says what cannot stand."""

from __future__ import annotations

import datetime as dt

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog
from pytestqt.qtbot import QtBot

from app.window import MainWindow
from app.windows.new_place import NewPlaceDialog
from core.manner import Manner, adopt
from tests.app.windows import empty_window, settle

__all__ = ["empty_window"]

TODAY = dt.date(2026, 10, 17)


@pytest.fixture
def dialog(qtbot: QtBot) -> NewPlaceDialog:
    made = NewPlaceDialog(None, TODAY)
    qtbot.addWidget(made)
    made.show()
    return made


def fill(dialog: NewPlaceDialog, **texts: str) -> None:
    """Type into the fields, by the last name of their key."""
    typed = {"name": "Harbour wall", "latitude_deg": "38.25", "longitude_deg": "7,5 W"} | texts
    for key, field in dialog.fields.items():
        text = typed.get(key.rpartition(".")[2])
        if text is not None:
            field.setFocus()
            field.selectAll()
            QTest.keyClick(field, Qt.Key.Key_Delete)
            QTest.keyClicks(field, text)


def test_what_is_typed_becomes_a_plan(dialog: NewPlaceDialog) -> None:
    fill(dialog, elevation_m="12 m", date="5 Dec 2026")
    dialog.take()
    plan = dialog.plan
    assert plan is not None
    assert dialog.result() == QDialog.DialogCode.Accepted
    place = plan.place
    assert (place.name, place.latitude_deg, place.longitude_deg) == ("Harbour wall", 38.25, -7.5)
    assert place.elevation_m == 12.0
    assert place.time_zone == "Europe/Lisbon"
    assert {plan.shoots.A.date, plan.shoots.B.date} == {dt.date(2026, 12, 5)}


def test_the_elevation_begins_in_the_unit_that_a_plain_number_is_read_in(qtbot: QtBot) -> None:
    adopt(Manner(units="imperial"))
    try:
        dialog = NewPlaceDialog(None, TODAY)
        qtbot.addWidget(dialog)
        assert dialog.fields["place.elevation_m"].text() == "0 ft"
        fill(dialog, elevation_m="100")
        dialog.take()
    finally:
        adopt(Manner())
    assert dialog.plan is not None
    assert dialog.plan.place.elevation_m == pytest.approx(30.48)


def test_the_first_night_is_today_unless_another_is_typed(dialog: NewPlaceDialog) -> None:
    fill(dialog)
    dialog.take()
    assert dialog.plan is not None
    assert dialog.plan.shoots.A.date == TODAY


REFUSED = [
    ({"latitude_deg": "95"}, "Latitude is 95"),
    ({"longitude_deg": "181 E"}, "Longitude is 181"),
    ({"latitude_deg": "north"}, '"north"'),
    ({"latitude_deg": ""}, "a number of degrees from −90 to 90 was expected"),
    ({"name": ""}, "Name"),
    ({"elevation_m": "high"}, '"high"'),
    ({"date": "31 Feb 2027"}, '"31 Feb 2027"'),
    ({"date": "1 Jan 1826"}, "First night"),
]


@pytest.mark.parametrize(("texts", "said"), REFUSED)
def test_what_cannot_stand_is_said_and_the_texts_stay(
    dialog: NewPlaceDialog, texts: dict[str, str], said: str
) -> None:
    fill(dialog, **texts)
    dialog.take()
    assert dialog.plan is None
    assert dialog.isVisible()
    sentence = dialog.refusal.sentence
    assert said in sentence
    assert sentence.endswith(".")
    assert "place." not in sentence
    assert dialog.refusal.isVisible()
    ((key, text),) = texts.items()
    assert next(f for k, f in dialog.fields.items() if k.endswith(key)).text() == text
    fill(dialog, elevation_m="0", date="5 Dec 2026")
    dialog.take()
    assert dialog.plan is not None


def test_a_long_refusal_has_room_for_every_line(dialog: NewPlaceDialog, qtbot: QtBot) -> None:
    fill(dialog, latitude_deg="some way up the coast from the last harbour wall")
    dialog.take()
    refusal = dialog.refusal
    qtbot.waitUntil(lambda: refusal.height() >= refusal.heightForWidth(refusal.width()))
    assert dialog.rect().contains(refusal.geometry())


def test_every_field_has_its_name_and_tab_goes_down_the_rows(
    dialog: NewPlaceDialog, qtbot: QtBot
) -> None:
    names = [field.accessibleName() for field in dialog.fields.values()]
    assert names == ["Name", "Latitude", "Longitude", "Elevation", "First night"]
    dialog.activateWindow()  # where no window manager does
    qtbot.waitUntil(dialog.isActiveWindow)
    assert QApplication.focusWidget() is dialog.fields["place.name"]
    for field in list(dialog.fields.values())[1:]:
        focus = QApplication.focusWidget()
        assert focus is not None
        QTest.keyClick(focus, Qt.Key.Key_Tab)
        assert QApplication.focusWidget() is field


def test_a_new_place_from_the_window_is_open_and_unsaved(empty_window: MainWindow) -> None:
    def type_and_take() -> None:
        asked = QApplication.activeModalWidget()
        assert isinstance(asked, NewPlaceDialog)
        fill(asked)
        QTest.keyClick(asked.fields["place.longitude_deg"], Qt.Key.Key_Return)

    QTimer.singleShot(0, type_and_take)
    empty_window.new_place()
    settle(empty_window)
    plan = empty_window.store.plan
    assert plan is not None
    assert plan.place.name == "Harbour wall"
    assert empty_window.isWindowModified()


def test_giving_up_leaves_everything_as_it_was(empty_window: MainWindow) -> None:
    def give_up() -> None:
        asked = QApplication.activeModalWidget()
        assert asked is not None
        QTest.keyClick(asked, Qt.Key.Key_Escape)

    QTimer.singleShot(0, give_up)
    empty_window.new_place()
    assert empty_window.store.plan is None
