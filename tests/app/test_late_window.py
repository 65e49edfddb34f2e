"""Late, early, one more battery: asked, listed, done, through the real window."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.store import Store
from app.theme import set_text_scale
from app.windows.late import LateWindow
from core.words import clock_text
from tests.app.panes import click, store_of, type_into


@pytest.fixture
def store() -> Store:
    return store_of("corvane_harbour")


@pytest.fixture
def window(qtbot: QtBot, store: Store) -> LateWindow:
    made = LateWindow(store)
    qtbot.addWidget(made)
    made.show()
    return made


def at(window: LateWindow, text: str) -> None:
    type_into(window.now, text)


def looked(qtbot: QtBot, window: LateWindow) -> None:
    click(window.look_button)
    qtbot.waitUntil(lambda: not window.searching, timeout=30_000)


def test_in_time_the_plan_as_it_is_comes_first(
    qtbot: QtBot, window: LateWindow, store: Store
) -> None:
    at(window, "19:20")
    looked(qtbot, window)
    assert window.options[0].kind == "as_planned"
    assert window.options[0].plan == store.plan


def test_late_what_is_done_is_the_plan_in_one_undo(
    qtbot: QtBot, window: LateWindow, store: Store
) -> None:
    at(window, "19:50")
    looked(qtbot, window)
    assert window.options
    before, option = store.plan, window.options[0]
    window.take(option.plan, "what can still be done")
    store.settle_now()
    assert store.plan == option.plan
    seen = store.outlook("A")
    assert seen is not None
    assert seen.press_s == pytest.approx(option.start_s, abs=0.1)
    assert seen.flight.fits
    store.undo_stack.undo()
    assert store.plan == before


def test_in_the_air_other_things_can_be_done(qtbot: QtBot, window: LateWindow) -> None:
    at(window, "19:48")
    window.airborne.setChecked(True)
    looked(qtbot, window)
    assert window.options
    for option in window.options:
        assert option.margin_min >= 0.0


def test_a_list_of_another_plan_is_not_left_standing(
    qtbot: QtBot, window: LateWindow, store: Store
) -> None:
    at(window, "19:20")
    looked(qtbot, window)
    store.edit("iso", {"shoots.A.iso": 200.0})
    store.settle_now()
    qtbot.waitUntil(lambda: window.options == ())
    assert "look again" in window.told.text()


@pytest.mark.parametrize("text", ["banana", "25:99", "2026-01-02T17:00"])
def test_a_time_that_is_none_of_this_night_is_refused(window: LateWindow, text: str) -> None:
    at(window, text)
    click(window.look_button)
    assert window.now.refusal.endswith(".")
    assert "--now" not in window.now.refusal
    assert not window.searching


def takes_planned(qtbot: QtBot, window: LateWindow) -> None:
    click(window.series_button)
    qtbot.waitUntil(lambda: not window.searching, timeout=30_000)
    assert len(window.takes) == 2


def test_several_takes_never_overlap_and_leave_time_to_change(
    qtbot: QtBot, window: LateWindow
) -> None:
    takes_planned(qtbot, window)
    for one, other in zip(window.takes, window.takes[1:], strict=False):
        assert other.take_off_s >= one.landing_s + 180.0 - 1.0


def test_one_take_after_the_other_becomes_the_shoot_from_one_list(
    qtbot: QtBot, qapp: QApplication, window: LateWindow, store: Store
) -> None:
    before = store.plan
    takes_planned(qtbot, window)
    listed = window.takes
    for at_, other in ((0, 1), (1, 0)):
        click(window.take_buttons[at_])
        store.settle_now()
        qtbot.waitUntil(lambda: not window.take_buttons[at_].isEnabled())  # noqa: B023
        assert store.plan == listed[at_].plan
        assert window.takes == listed
        assert window.take_buttons[other].isEnabled()
    # It is the list still at another size of text, and after undoing both.
    set_text_scale(qapp, 1.5)
    qtbot.waitUntil(lambda: window.takes == listed and not window.take_buttons[1].isEnabled())
    set_text_scale(qapp, 1.0)
    store.undo_stack.undo()
    store.undo_stack.undo()
    store.settle_now()
    assert store.plan == before
    qtbot.waitUntil(lambda: all(button.isEnabled() for button in window.take_buttons))
    # Another edit makes it a list of another plan.
    store.edit("iso", {"shoots.A.iso": 800.0})
    store.settle_now()
    qtbot.waitUntil(lambda: window.takes == ())


def test_several_takes_begin_from_now_on(
    qtbot: QtBot, window: LateWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = store.outlook("A")
    assert seen is not None
    assert seen.take_off_s is not None
    takes_planned(qtbot, window)
    assert window.series_told.text().startswith("For the whole dusk")
    first_s = window.takes[0].take_off_s
    # By the clock, and as typed.
    monkeypatch.setattr("app.windows.late.now_s", lambda: first_s + 150.0)
    click(window.series_button)
    qtbot.waitUntil(lambda: not window.searching, timeout=30_000)
    by_clock = [take.take_off_s for take in window.takes]
    assert by_clock
    assert min(by_clock) >= first_s + 150.0
    at(window, clock_text(seen.night.clock(first_s + 240.0), seconds=True))
    click(window.series_button)
    qtbot.waitUntil(lambda: not window.searching, timeout=30_000)
    assert window.series_told.text().startswith(f"From {window.now.field.text()} on.")
    assert all(take.take_off_s >= first_s + 239.0 for take in window.takes)


def test_a_take_whose_take_off_is_past_is_not_flown_and_the_others_stay(
    qtbot: QtBot, window: LateWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen, plan = store.outlook("A"), store.plan
    assert seen is not None
    clock = {"now": seen.night.event.time_s - 3600.0}
    monkeypatch.setattr("app.windows.late.now_s", lambda: clock["now"])
    takes_planned(qtbot, window)
    clock["now"] = window.takes[0].take_off_s + 120.0
    click(window.take_buttons[0])
    assert store.plan is plan
    assert "take number 1 was to take off at" in window.series_told.text().lower()
    click(window.take_buttons[1])
    assert store.plan == window.takes[1].plan


def test_the_window_without_a_plan_shows_itself(qtbot: QtBot) -> None:
    empty = LateWindow(Store())
    qtbot.addWidget(empty)
    empty.show()
    assert empty.isVisible()


def test_what_was_asked_for_one_shoot_is_not_done_to_another(
    qtbot: QtBot, window: LateWindow, store: Store
) -> None:
    at(window, "19:20")
    looked(qtbot, window)
    option, before = window.options[0], store.plan
    store.set_active("B")
    window.take(option.plan, "what can still be done")
    assert store.plan == before


def test_an_edit_since_is_not_thrown_away(qtbot: QtBot, window: LateWindow, store: Store) -> None:
    at(window, "19:20")
    looked(qtbot, window)
    option = window.options[0]
    store.edit("iso", {"shoots.A.iso": 400.0})
    window.take(option.plan, "what can still be done")
    assert store.plan is not None
    assert store.plan.shoots.A.iso == 400.0
    assert "look again" in window.told.text()


def test_the_list_stays_while_the_plan_does(
    qtbot: QtBot, qapp: QApplication, window: LateWindow, store: Store
) -> None:
    at(window, "19:20")
    looked(qtbot, window)
    listed = window.options
    store.settled.emit()
    qtbot.wait(30)
    assert window.options == listed
    set_text_scale(qapp, 1.5)
    qtbot.wait(30)
    assert window.options == listed
    set_text_scale(qapp, 1.0)


def test_the_clock_is_followed_until_the_pilot_types_a_time(
    qtbot: QtBot, window: LateWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = store.outlook("A")
    assert seen is not None
    clock = {"now": seen.press_s - 1200.0}
    monkeypatch.setattr("app.windows.late.now_s", lambda: clock["now"])
    for late_s in (0.0, 600.0):
        clock["now"] = seen.press_s - 1200.0 + late_s
        looked(qtbot, window)
        assert window.now.field.text() == clock_text(seen.night.clock(clock["now"]), seconds=True)
        assert window.now.noted == "by the clock"
    at(window, "19:20")
    looked(qtbot, window)
    looked(qtbot, window)
    assert window.now.field.text() == "19:20:00"
    assert window.now.noted == "as typed; empty it for the clock"


def test_an_emptied_field_or_a_double_click_is_the_clock_again(
    qtbot: QtBot, window: LateWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = store.outlook("A")
    assert seen is not None
    monkeypatch.setattr("app.windows.late.now_s", lambda: seen.press_s - 1200.0)
    by_the_clock = clock_text(seen.night.clock(seen.press_s - 1200.0), seconds=True)

    def emptied() -> None:
        window.now.field.selectAll()
        QTest.keyClick(window.now.field, Qt.Key.Key_Delete)
        QTest.keyClick(window.now.field, Qt.Key.Key_Return)

    def double_clicked() -> None:
        QTest.mouseDClick(window.now.field, Qt.MouseButton.LeftButton)

    for give_back in (emptied, double_clicked):
        at(window, "19:20")
        looked(qtbot, window)
        assert window.now.field.text() == "19:20:00"
        give_back()
        assert window.now.field.text() == by_the_clock
        assert window.now.noted == "by the clock"
        assert window.now.refusal == ""


def test_enter_alone_types_no_time(
    window: LateWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = store.outlook("A")
    assert seen is not None
    monkeypatch.setattr("app.windows.late.now_s", lambda: seen.press_s - 1200.0)
    QTest.keyClick(window.now.field, Qt.Key.Key_Return)
    assert window.now.noted == "by the clock"


def test_the_clock_runs_on_in_its_field_but_not_under_what_is_typed(
    qtbot: QtBot, window: LateWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = store.outlook("A")
    assert seen is not None
    later = clock_text(seen.night.clock(seen.press_s - 900.0), seconds=True)
    monkeypatch.setattr("app.windows.late.now_s", lambda: seen.press_s - 900.0)
    qtbot.waitUntil(lambda: window.now.field.text() == later, timeout=3000)
    at(window, "banana")
    window.now.settle()
    refused = window.now.refusal
    with qtbot.waitSignal(window.clock_ticks.timeout, timeout=3000):
        pass
    assert window.now.refusal == refused != ""
    assert window.now.field.text() == "banana"


def test_in_another_night_a_late_take_is_supposed_and_said_to_be(
    window: LateWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = store.outlook("A")
    assert seen is not None
    monkeypatch.setattr("app.windows.late.now_s", lambda: seen.press_s + 86400.0 * 9)
    window.hide()
    window.show()
    assert window.now.field.text() == clock_text(seen.night.clock(seen.press_s + 600), seconds=True)
    assert "planned press + 10 min" in window.now.noted


def test_what_could_be_done_then_is_not_done_half_an_hour_later(
    qtbot: QtBot, window: LateWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen, plan = store.outlook("A"), store.plan
    assert seen is not None
    clock = {"now": seen.press_s - 100.0}
    monkeypatch.setattr("app.windows.late.now_s", lambda: clock["now"])
    looked(qtbot, window)
    option = next(one for one in window.options if one.kind != "another_night")
    clock["now"] += 1800.0
    window.do(option)
    assert store.plan is plan
    assert "look again" in window.told.text()


def test_a_list_may_be_read_before_it_is_done(
    qtbot: QtBot, window: LateWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = store.outlook("A")
    assert seen is not None
    clock = {"now": seen.press_s - 100.0}
    monkeypatch.setattr("app.windows.late.now_s", lambda: clock["now"])
    looked(qtbot, window)
    option = next(one for one in window.options if one.kind != "another_night")
    clock["now"] += 30.0
    window.do(option)
    assert store.plan == option.plan


def test_closed_while_it_looks_it_looks_no_more(qtbot: QtBot, window: LateWindow) -> None:
    at(window, "19:20")
    click(window.look_button)
    assert window.searching
    window.close()
    window.show()
    qtbot.wait(30)
    assert window.told.text() == ""
    looked(qtbot, window)
    assert window.options
