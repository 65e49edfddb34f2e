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
