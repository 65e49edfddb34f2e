"""What last night showed, through the real window: learned, told, planned, forgotten."""

from __future__ import annotations

import datetime as dt

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.resources import demo_sites
from app.store import Store
from app.windows.last_night import LastNightWindow
from core.planfile import load

TWO_TAKES = next(site for site in demo_sites() if site.stem == "montevaro_hill")


@pytest.fixture
def store() -> Store:
    made = Store()
    made.open(load(TWO_TAKES))
    made.settle_now()
    return made


@pytest.fixture
def window(qtbot: QtBot, store: Store) -> LastNightWindow:
    made = LastNightWindow(store)
    qtbot.addWidget(made)
    made.show()
    return made


def say(window: LastNightWindow, part: str, choice: int, frame: str = "1") -> None:
    row = next(row for name, row in window.remarks.items() if name == part)
    row.showed.button(choice).click()
    row.frame.setText(frame)


def click(button: object) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)  # type: ignore[call-overload]


def test_a_dark_end_teaches_the_place_in_one_undo(window: LastNightWindow, store: Store) -> None:
    before = store.plan
    say(window, "land", 3, "40")
    click(window.learn_button)
    store.settle_now()
    plan = store.plan
    assert plan is not None
    assert [take.shoot for take in plan.takes] == ["A"]
    assert {item.name for item in plan.learned} >= {"level_stops"}
    assert "that stays" in window.learned.text()
    assert "that went with the night" in window.learned.text()
    store.undo_stack.undo()
    assert store.plan == before


def test_tonight_is_planned_at_its_best_start(window: LastNightWindow, store: Store) -> None:
    say(window, "land", 3, "40")
    click(window.learn_button)
    click(window.plan_button)
    store.settle_now()
    plan, found = store.plan, store.starts("A")
    assert plan is not None
    assert found is not None
    before = load(TWO_TAKES).shoots.A.date
    assert plan.shoots.A.date == before + dt.timedelta(days=1)
    seen = store.outlook("A")
    assert seen is not None
    if found.best_s is not None:
        assert seen.press_s == pytest.approx(found.best_s, abs=0.1)
    assert "The take began at" in window.told.text()


def test_forgetting_a_take_forgets_what_it_taught(window: LastNightWindow, store: Store) -> None:
    before = store.plan
    say(window, "street", 1)
    click(window.learn_button)
    plan = store.plan
    assert plan is not None
    window.forget(plan.takes[0].id)
    assert store.plan == before


@pytest.mark.parametrize(
    ("choice", "frame", "words"),
    [
        (0, "1", "Nothing is said"),
        (3, "banana", "was not understood"),
        (3, "0", "was not understood"),
        (3, "99999", "is not among them"),
    ],
)
def test_what_cannot_be_learned_from_is_said_in_one_sentence(
    window: LastNightWindow, store: Store, choice: int, frame: str, words: str
) -> None:
    before = store.plan
    say(window, "land", choice, frame)
    click(window.learn_button)
    assert store.plan == before
    assert words in window.refusal


def test_the_window_without_a_plan_shows_itself(qtbot: QtBot) -> None:
    empty = LastNightWindow(Store())
    qtbot.addWidget(empty)
    empty.show()
    assert empty.isVisible()


def test_what_was_said_of_an_undone_take_is_taken_back(
    window: LastNightWindow, store: Store
) -> None:
    say(window, "land", 3, "40")
    click(window.learn_button)
    store.settle_now()
    window.refresh()
    assert window.learned.text()
    store.undo_stack.undo()
    store.settle_now()
    window.refresh()
    assert window.learned.text() == ""
