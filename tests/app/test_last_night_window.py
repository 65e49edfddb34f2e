"""What last night showed, through the real window: learned, told, planned, forgotten."""

from __future__ import annotations

import datetime as dt

import pytest
from PySide6.QtWidgets import QApplication, QScrollArea
from pytestqt.qtbot import QtBot

from app.store import Store
from app.theme import set_text_scale
from app.windows.last_night import LastNightWindow
from core.plan import Remark
from tests.app.panes import click, site_plan, store_of


@pytest.fixture
def store() -> Store:
    return store_of("montevaro_hill")


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
    before = site_plan("montevaro_hill").shoots.A.date
    assert plan.shoots.A.date == before + dt.timedelta(days=1)
    seen = store.outlook("A")
    assert seen is not None
    if found.best_s is not None:
        assert seen.press_s == pytest.approx(found.best_s, abs=0.1)
    assert "The take began at" in window.told.text()


def _least_width(area: QScrollArea) -> int:
    """What a column needs not to be scrolled sideways."""
    column = area.widget()
    return 0 if column is None else column.minimumSizeHint().width()


def test_a_remark_stands_whole_beside_its_part_at_200_percent_text(
    window: LastNightWindow, qapp: QApplication, qtbot: QtBot
) -> None:
    set_text_scale(qapp, 2.0)
    try:
        window.resize(1280, 800)
        area = window.findChild(QScrollArea)
        assert isinstance(area, QScrollArea)
        qtbot.waitUntil(lambda: _least_width(area) > 900)
        assert _least_width(area) <= 1280 - 20
    finally:
        set_text_scale(qapp, 1.0)


def test_forgetting_a_take_forgets_what_it_taught(window: LastNightWindow, store: Store) -> None:
    before = store.plan
    say(window, "street", 1)
    click(window.learn_button)
    plan = store.plan
    assert plan is not None
    window.forget(plan.takes[0].id)
    assert store.plan == before


def test_what_contradicts_all_that_is_held_is_told_so(window: LastNightWindow) -> None:
    # Land a stop above its limit, where five stops less were reckoned.
    say(window, "land", 2)
    click(window.learn_button)
    assert window.learned.text().startswith("Nothing is known better by what was said")


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


def test_a_refusal_goes_when_the_next_night_is_planned(
    window: LastNightWindow, store: Store
) -> None:
    window.learn()
    assert window.refusal
    click(window.plan_button)
    store.settle_now()
    assert window.refusal == ""


def test_a_night_beyond_the_formulas_is_refused_at_its_field(window: LastNightWindow) -> None:
    window.tonight.take("1 Jan 1800")
    assert "1901 to 2099" in window.tonight.refusal


def test_what_is_told_of_tonight_stands_as_long_as_it_is_so(
    qtbot: QtBot, window: LastNightWindow, store: Store
) -> None:
    say(window, "land", 3, "40")
    window.learn()
    window.plan_tonight()
    store.settle_now()
    qtbot.wait(30)
    assert "The best start is" in window.told.text()
    store.edit("haze", {"shoots.A.conditions.haze_aod": 0.4})
    store.settle_now()
    qtbot.waitUntil(lambda: not window.told.text())


def test_another_skyline_leaves_the_remarks_as_they_were_typed(
    qtbot: QtBot, window: LastNightWindow, store: Store
) -> None:
    say(window, "land", 3, "77")
    store.edit("elevation", {"place.elevation_m": 40.0})
    store.settle_now()
    qtbot.wait(30)
    assert window.remarks["land"].remark() is not None
    assert window.remarks["land"].frame.text() == "77"


def test_what_was_typed_outlives_another_text_scale_and_the_other_shoot(
    qtbot: QtBot, qapp: QApplication, window: LastNightWindow, store: Store
) -> None:
    say(window, "land", 3, "77")
    window.start.take("17:20:00")
    old = window.start
    set_text_scale(qapp, 1.3)
    qtbot.waitUntil(lambda: window.start is not old)
    assert window.start.field.text() == "17:20:00"
    assert window.remarks["land"].remark() == Remark("land", "dark", 76.0)
    store.set_active("B")
    store.settle_now()
    qtbot.waitUntil(lambda: window.start.field.text() != "17:20:00")
    assert window.remarks["land"].remark() == Remark("land", "dark", 76.0)


def test_a_lesson_and_tonight_stay_told_at_another_text_scale(
    qtbot: QtBot, qapp: QApplication, window: LastNightWindow, store: Store
) -> None:
    say(window, "land", 3, "40")
    click(window.learn_button)
    click(window.plan_button)
    store.settle_now()
    told = (window.learned.text(), window.told.text())
    assert all(told)
    old = window.learned
    set_text_scale(qapp, 1.3)
    qtbot.waitUntil(lambda: window.learned is not old)
    assert (window.learned.text(), window.told.text()) == told


def test_another_place_begins_with_nothing_said(
    qtbot: QtBot, window: LastNightWindow, store: Store
) -> None:
    say(window, "land", 3, "77")
    store.open(None)
    store.settle_now()
    store.open(site_plan("marrow_bend"))
    store.settle_now()
    qtbot.waitUntil(lambda: window.remarks["land"].remark() is None)
    assert window.remarks["land"].frame.text() == "1"


def test_tonight_is_told_beside_a_take_of_an_earlier_session(
    qtbot: QtBot, window: LastNightWindow, store: Store
) -> None:
    say(window, "land", 3, "40")
    window.learn()
    again = LastNightWindow(store)
    qtbot.addWidget(again)
    again.show()
    again.plan_tonight()
    store.settle_now()
    again.refresh()
    assert "The take began at" in again.told.text()
