"""A row of the details: a text that was refused, beside a value that moves."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.store import Store
from app.widgets.key_row import KeyRow
from app.widgets.value_field import ValueField
from core.fields import field_of
from tests.evening import dress, plan_of, show, store_of

KEY = "flight.reserve_percent"


@pytest.fixture
def store(qapp: object) -> Store:  # noqa: ARG001 (a store needs the application)
    return store_of(plan_of())


@pytest.fixture
def row(qtbot: QtBot, store: Store) -> KeyRow:
    dress()
    made = KeyRow(store, KEY, "Reserve")
    store.changed.connect(made.refresh)
    show(qtbot, made, 500, 60)
    return made


def refuse(row: KeyRow) -> ValueField:
    """Type what no value is; the field with that text."""
    assert isinstance(row.editor, ValueField)
    row.editor.setFocus()
    row.editor.selectAll()
    QTest.keyClicks(row.editor, "rather a lot")
    QTest.keyClick(row.editor, Qt.Key.Key_Return)
    assert row.refusal
    return row.editor


def test_a_refused_text_goes_when_its_value_moves_another_way(row: KeyRow, store: Store) -> None:
    field = refuse(row)
    store.edit("elsewhere", {KEY: 31.0})
    assert (field.text(), row.refusal, field.accessibleDescription()) == ("31 %", "", "")
    refuse(row)
    store.undo_stack.undo()
    assert (field.text(), row.refusal) == ("25 %", "")


def test_a_refused_text_stays_while_another_value_moves(row: KeyRow, store: Store) -> None:
    field = refuse(row)
    store.edit("elsewhere", {"shoots.A.interval_s": 5.0})
    assert (field.text(), bool(row.refusal)) == ("rather a lot", True)


def test_the_tip_says_what_is_expected(row: KeyRow) -> None:
    field = field_of(KEY)
    assert field is not None
    assert row.editor.toolTip() == f"Expected: {field.expected}."


@pytest.mark.parametrize(
    ("key", "label", "text", "told"),
    [
        ("camera.isos", "ISO steps", "1.2; 100",
         "ISO steps: entry 1 is 1.2; an ISO number from 10 to 500\u2009000 was expected."),
        ("camera.shutters_s", "Shutter steps", "1/4, 1 s, 500 s",
         "Shutter steps: entry 3 is 500; a number of seconds from 0.0001 to 120 was expected."),
        ("place.skyline", "Skyline", "10 2; 380 5",
         "Skyline: azimuth 2 is 380; a number of degrees from 0 to 360 was expected."),
        ("place.skyline", "Skyline", "10 95",
         "Skyline: altitude 1 is 95; a number of degrees from \u221210 to 90 was expected."),
        ("ground.lamps.lit_share", "Lit share of the ground", "120 %",
         "Lit share of the ground is 120 %; a percentage from 0 to 100 was expected."),
    ],
)  # fmt: skip
def test_a_refused_entry_is_called_by_its_row_and_number(
    qtbot: QtBot, store: Store, key: str, label: str, text: str, told: str
) -> None:
    """A pilot knows rows and their entries; keys of the file are nothing that stands here."""
    dress()
    row = KeyRow(store, key, label)
    show(qtbot, row, 500, 60)
    assert isinstance(row.editor, ValueField)
    row.editor.entered.emit(text)
    assert row.refusal == told


def test_a_refusal_of_another_value_than_the_row_s_has_no_key_in_it(
    qtbot: QtBot, store: Store
) -> None:
    """A station that is moved onto the point it looks at: the point is refused, not its height."""
    dress()
    store.edit("aim", {"path.stations.0.look_at": (60.0, -40.0, 61.0)})
    store.edit("put", {"path.stations.0.east_m": 60.0, "path.stations.0.north_m": -40.0})
    row = KeyRow(store, "path.stations.0.up_m", "Height")
    show(qtbot, row, 500, 60)
    assert isinstance(row.editor, ValueField)
    row.editor.entered.emit("61 m")
    assert row.refusal.startswith("Point looked at is the station itself; ")
