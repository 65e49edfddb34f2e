"""Before take-off: ticks that belong to a night and to the figures they were made for."""

from __future__ import annotations

import datetime as dt

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.store import Store
from app.windows.checks import ChecksWindow
from tests.app.panes import click, store_of


@pytest.fixture
def store() -> Store:
    return store_of("corvane_harbour")


@pytest.fixture
def window(qtbot: QtBot, store: Store) -> ChecksWindow:
    made = ChecksWindow(store)
    qtbot.addWidget(made)
    made.show()
    return made


def ticked(window: ChecksWindow) -> set[str]:
    return {code for code, row in window.rows.items() if row.box.isChecked()}


def test_a_row_is_ticked_anywhere_and_by_the_space_bar(window: ChecksWindow) -> None:
    many = len(window.rows)
    assert window.left == f"{many} of {many} left"
    click(window.rows["focus"])
    window.rows["raw"].box.setFocus()
    QTest.keyClick(window.rows["raw"].box, Qt.Key.Key_Space)
    assert ticked(window) == {"focus", "raw"}
    assert window.left == f"{many - 2} of {many} left"
    click(window.rows["focus"])
    assert ticked(window) == {"raw"}


def test_every_tick_made_is_told_without_approval(window: ChecksWindow) -> None:
    for row in window.rows.values():
        row.box.click()
    assert window.left == f"{len(window.rows)} ticked"


def test_a_tick_goes_when_its_figure_changes_and_comes_back_with_it(
    qtbot: QtBot, window: ChecksWindow, store: Store
) -> None:
    for code in ("card", "focus"):
        window.rows[code].box.click()
    store.edit("longer", {"shoots.A.clip_length_s": 12.0})
    store.settle_now()
    qtbot.waitUntil(lambda: ticked(window) == {"focus"})
    store.undo_stack.undo()
    store.settle_now()
    qtbot.waitUntil(lambda: ticked(window) == {"card", "focus"})


def test_each_night_has_its_own_ticks_for_as_long_as_the_program_runs(
    qtbot: QtBot, window: ChecksWindow, store: Store
) -> None:
    window.rows["focus"].box.click()
    plan = store.plan
    assert plan is not None
    tonight = plan.shoot("A").date
    store.edit("date", {"shoots.A.date": tonight + dt.timedelta(days=1)})
    store.settle_now()
    qtbot.waitUntil(lambda: not ticked(window))
    store.undo_stack.undo()
    store.settle_now()
    qtbot.waitUntil(lambda: ticked(window) == {"focus"})
    window.close()
    window.show()
    assert ticked(window) == {"focus"}


def test_damp_air_adds_a_row(qtbot: QtBot, window: ChecksWindow, store: Store) -> None:
    assert "lens_dew" not in window.rows
    store.edit("damp", {"shoots.A.conditions.humidity_percent": 95.0})
    store.settle_now()
    qtbot.waitUntil(lambda: "lens_dew" in window.rows)


def test_without_a_plan_nothing_stands_there(qtbot: QtBot, store: Store) -> None:
    made = ChecksWindow(store)
    qtbot.addWidget(made)
    store.open(None)
    made.show()
    assert not made.rows
