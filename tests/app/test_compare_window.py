"""A against B in full: what differs is marked, and what copies and swaps does."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.document import PlanDocument
from app.store import Store
from app.windows.compare import CompareWindow
from tests.app.panes import store_of


@pytest.fixture
def store() -> Store:
    return store_of("montevaro_hill")


@pytest.fixture
def window(qtbot: QtBot, store: Store) -> CompareWindow:
    made = CompareWindow(store)
    made.moves = PlanDocument(store, made).move_shoots
    qtbot.addWidget(made)
    made.show()
    return made


def rows(window: CompareWindow) -> dict[str, tuple[str, str, str]]:
    """Label to A, mark, B of every row."""
    return {
        row[0].text: (row[1].text, row[2].text, row[3].text)
        for row in window.table.rows
        if row[1].text
    }


def settled(store: Store, window: CompareWindow) -> dict[str, tuple[str, str, str]]:
    store.settle_now()
    window.refresh()
    return rows(window)


def test_every_figure_of_the_comparison_is_there(window: CompareWindow) -> None:
    shown = rows(window)
    for label in (
        "night", "twilight", "press", "interval", "shutter", "ISO", "filter", "clip", "holds",
        "slack", "street kept", "land kept", "sky kept", "mixed light", "haze", "wind at 10 m",
        "last frame by", "to spare", "shutter angle",
    ):  # fmt: skip
        assert shown[label][0]
        assert shown[label][2]


def test_what_differs_is_marked_and_what_does_not_is_not(window: CompareWindow) -> None:
    for one, mark, other in rows(window).values():
        assert (mark == "≠") == (one != other)


def test_two_nights_two_settings_and_dusk_against_dawn(window: CompareWindow, store: Store) -> None:
    store.edit("b", {"shoots.B.iso": 400.0, "shoots.B.twilight": "dawn"})
    shown = settled(store, window)
    assert shown["ISO"][1] == shown["twilight"][1] == "≠"
    assert shown["twilight"][0] == "dusk"
    assert shown["twilight"][2] == "dawn"


def test_a_copy_leaves_no_difference_in_one_undo(window: CompareWindow, store: Store) -> None:
    before = store.plan
    QTest.mouseClick(window.buttons["copy A to B"], Qt.MouseButton.LeftButton)
    assert all(mark == "" for _, mark, _ in settled(store, window).values())
    store.undo_stack.undo()
    assert store.plan == before


def test_a_swap_exchanges_both_sides(window: CompareWindow, store: Store) -> None:
    before = settled(store, window)
    QTest.mouseClick(window.buttons["swap A and B"], Qt.MouseButton.LeftButton)
    after = settled(store, window)
    assert {k: (a, m, b) for k, (b, m, a) in after.items()} == before
