"""Best settings through the real window: asked, listed, taken, traded, kept."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.background import Background
from app.preferred import keep_preferences, preferences
from app.settings import settings
from app.store import Store
from app.widgets.tradecurve import TradeCurve
from app.widgets.typed_row import TypedRow
from app.window import MainWindow
from app.windows.best import BestWindow
from core.preferences import Preferences
from tests.app.panes import click, site_plan, store_of, type_into
from tests.app.windows import window as main_window

__all__ = ["main_window"]


@pytest.fixture
def store() -> Store:
    return store_of("corvane_harbour")


@pytest.fixture
def window(qtbot: QtBot, store: Store) -> BestWindow:
    made = BestWindow(store)
    qtbot.addWidget(made)
    made.show()
    answered(qtbot, made)
    return made


def answered(qtbot: QtBot, window: BestWindow) -> None:
    """Wait until the search has caught up with the plan."""
    qtbot.waitUntil(lambda: not window.searching, timeout=20_000)


def enter(row: TypedRow, text: str) -> None:
    type_into(row, text)
    QTest.keyClick(row.field, Qt.Key.Key_Return)


def test_what_is_taken_shows_the_numbers_that_were_promised(
    window: BestWindow, store: Store
) -> None:
    choice = window.choices[0]
    before = store.plan
    click(window.take_buttons[0])
    store.settle_now()
    seen, starts = store.outlook("A"), store.starts("A")
    assert seen is not None
    assert starts is not None
    assert seen.judgement.slack_stops == pytest.approx(choice.slack_stops, abs=1e-3)
    assert starts.chance_at(seen.press_s) == pytest.approx(choice.p_hold, abs=0.02)
    assert seen.flight.fits
    store.undo_stack.undo()
    assert store.plan == before


@pytest.mark.parametrize("aim", range(4))
def test_every_aim_lists_takes_that_hold(qtbot: QtBot, window: BestWindow, aim: int) -> None:
    window.aim.button(aim).click()
    answered(qtbot, window)
    assert window.choices
    for choice in window.choices:
        assert choice.slack_stops >= 0.0
        assert choice.margin_min >= 0.0


def test_the_start_as_it_is_stays_as_it_is(qtbot: QtBot, window: BestWindow, store: Store) -> None:
    window.start.button(1).click()
    answered(qtbot, window)
    seen = store.outlook("A")
    assert seen is not None
    assert window.choices
    for choice in window.choices:
        assert choice.start_s == pytest.approx(seen.press_s, abs=1e-3)


def test_a_point_of_the_curve_trades_interval_against_length(
    window: BestWindow, store: Store
) -> None:
    curve: TradeCurve = window.curve
    QTest.mouseClick(curve, Qt.MouseButton.LeftButton, pos=curve.point(0).toPoint())
    plan = store.plan
    assert plan is not None
    trade = curve.trades[0]
    assert plan.shoots.A.interval_s == trade.interval_s
    seen = store.outlook("A")
    assert seen is not None
    assert seen.clip.frames == trade.frames
    assert seen.flight.fits


def test_the_curve_is_worked_by_keyboard_too(window: BestWindow, store: Store) -> None:
    curve: TradeCurve = window.curve
    curve.setFocus()
    before = curve.accessibleDescription()
    QTest.keyClick(curve, Qt.Key.Key_Right)
    assert curve.accessibleDescription() != before
    QTest.keyClick(curve, Qt.Key.Key_Return)
    assert store.plan is not None
    assert store.plan.shoots.A.interval_s == 4.0


def test_filters_to_pack_are_named_with_their_starts(qtbot: QtBot, window: BestWindow) -> None:
    window.ask_filters()
    answered(qtbot, window)
    assert window.packed.text()
    assert "Looking" not in window.packed.text()


def test_what_is_liked_best_is_kept_and_changes_the_list(qtbot: QtBot, window: BestWindow) -> None:
    before = window.choices
    enter(window.wanted["iso_accepted"], "100")
    answered(qtbot, window)
    assert preferences().iso_accepted == 100.0
    # A stop of ISO beyond what is accepted costs more: the list asks for less of it.
    assert sum(one.iso for one in window.choices) < sum(one.iso for one in before)


def test_likings_that_contradict_are_refused_in_one_sentence(window: BestWindow) -> None:
    enter(window.wanted["clip_least_s"], "20 s")
    assert window.refusal.endswith("was expected.")
    assert "_s" not in window.refusal
    assert preferences() == Preferences()


@pytest.mark.parametrize("kept", ["{", '{"iso_wanted": "much"}', "[]", '{"unknown": 1}'])
def test_a_broken_settings_file_leaves_the_trades_habits(kept: str) -> None:
    settings().setValue("preferences", kept)
    assert preferences() == Preferences()
    keep_preferences(Preferences(iso_accepted=800.0))
    assert preferences().iso_accepted == 800.0


def test_only_the_latest_question_is_answered(qtbot: QtBot) -> None:
    behind = Background()
    heard: list[tuple[object, object]] = []
    behind.answered.connect(lambda key, answer: heard.append((key, answer)))
    for number in range(5):
        behind.ask(number, lambda number=number: number * 10)  # type: ignore[misc]
    qtbot.waitUntil(lambda: behind.asked is None)
    assert heard == [(4, 40)]


def test_the_window_without_a_plan_shows_itself(qtbot: QtBot) -> None:
    empty = BestWindow(Store())
    qtbot.addWidget(empty)
    empty.show()
    assert empty.isVisible()


def test_a_plan_that_closes_while_it_is_searched_leaves_nothing_to_answer(
    qtbot: QtBot, window: BestWindow, store: Store
) -> None:
    store.edit("iso", {"shoots.A.iso": 200.0})
    window.refresh()
    store.open(None)
    qtbot.waitUntil(lambda: not window.searching, timeout=20_000)
    store.open(site_plan("corvane_harbour"))
    store.settle_now()
    qtbot.waitUntil(lambda: bool(window.choices), timeout=20_000)


def test_list_and_filters_are_both_answered_whatever_is_asked_in_between(
    qtbot: QtBot, window: BestWindow, store: Store
) -> None:
    store.edit("iso", {"shoots.A.iso": 200.0})
    store.settle_now()
    window.refresh()
    window.ask_filters()
    answered(qtbot, window)
    assert window.choices
    packed = window.packed.text()
    assert packed
    assert "Looking" not in packed + window.told.text()
    window.refresh()  # as when the good ranges have caught up
    assert not window.searching
    assert window.packed.text() == packed


def test_work_that_fails_leaves_nobody_waiting(qtbot: QtBot) -> None:
    behind, failed = Background(), []
    behind.failed.connect(lambda: failed.append(True))

    def broken() -> object:
        raise ZeroDivisionError

    with qtbot.captureExceptions() as caught:
        behind.ask("a question", broken)
        qtbot.waitUntil(lambda: bool(failed) and bool(caught))
    assert behind.asked is None
    assert [kind for kind, *_ in caught] == [ZeroDivisionError]


def test_the_same_question_asked_again_before_the_other_is_answered_is_answered(
    qtbot: QtBot, window: BestWindow
) -> None:
    answered(qtbot, window)
    first = window.aim.current
    click(window.aim.button(1))
    assert window.searching
    click(window.aim.button(first))
    answered(qtbot, window)
    assert window.choices
    assert not window.told.text()
    assert all(button.isEnabled() for button in window.take_buttons)


def test_closed_while_it_searches_it_searches_anew_when_it_comes_up(
    qtbot: QtBot, window: BestWindow
) -> None:
    answered(qtbot, window)
    click(window.aim.button(1))
    window.ask_filters()
    window.close()
    assert not window.searching
    window.show()
    answered(qtbot, window)
    assert window.choices
    assert not window.told.text()
    assert window.packed.text() == ""


def test_the_button_of_the_settings_opens_it(main_window: MainWindow) -> None:
    click(main_window.shoot.search)
    assert main_window.beside.get(BestWindow) is not None
