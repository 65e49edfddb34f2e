"""The store: edits, one step of undo for one movement of the hand, current forecasts only."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from PySide6.QtCore import QTimer
from pytestqt.qtbot import QtBot

from app.resources import demo_sites
from app.store import Store
from core.edit import PlanError, get_value, new_plan, with_values
from core.forecast import outlook, starts
from core.holding import holds
from core.memory import Memory
from core.planfile import load
from core.scales import scale_of

START = "shoots.A.start_after_event_min"


@pytest.fixture
def store() -> Store:
    made = Store()
    made.open(new_plan("Quay", 38.0, 0.5, dt.date(2026, 12, 5)))
    made.settle_now()
    return made


def _value(store: Store, key: str) -> object:
    assert store.plan is not None
    return get_value(store.plan, key)


def test_a_drag_is_one_step_of_undo_and_the_next_drag_another(store: Store) -> None:
    store.begin_gesture()
    for minutes in range(20, 30):
        store.edit("start", {START: float(minutes)})
    store.begin_gesture()
    store.edit("start", {START: 40.0})
    assert store.undo_stack.count() == 2
    store.undo_stack.undo()
    assert _value(store, START) == 29.0
    store.undo_stack.undo()
    assert _value(store, START) == 27.0
    store.undo_stack.redo()
    assert _value(store, START) == 29.0


def test_a_drag_that_comes_back_leaves_nothing_to_undo(store: Store) -> None:
    store.begin_gesture()
    for minutes in (28.0, 29.0, 27.0):
        store.edit("start", {START: minutes})
    assert not store.undo_stack.canUndo()


def test_two_fields_in_one_gesture_are_two_steps(store: Store) -> None:
    store.begin_gesture()
    store.edit("ISO", {"shoots.A.iso": 200.0})
    store.edit("shutter", {"shoots.A.shutter_s": 0.5})
    assert store.undo_stack.count() == 2


def test_a_refused_edit_changes_nothing(store: Store) -> None:
    before = store.plan
    with pytest.raises(PlanError, match="interval_s"):
        store.edit("interval", {"shoots.A.interval_s": -1.0, "shoots.A.iso": 400.0})
    assert store.plan == before
    assert not store.undo_stack.canUndo()


def test_an_equal_edit_is_no_step(store: Store) -> None:
    store.edit("ISO", {"shoots.A.iso": 100.0})
    assert not store.undo_stack.canUndo()


def test_outlooks_belong_to_the_plan_at_once(store: Store, qtbot: QtBot) -> None:
    with qtbot.waitSignal(store.changed, timeout=500):
        store.edit("start", {START: 33.0})
    assert store.plan is not None
    seen = store.outlook("A")
    assert seen is not None
    fresh = outlook(store.plan, "A", Memory())
    assert seen.press_s == fresh.press_s
    assert seen.judgement.slack_stops == pytest.approx(fresh.judgement.slack_stops)


def test_what_is_behind_is_never_shown_as_current(store: Store, qtbot: QtBot) -> None:
    assert store.starts("A") is not None
    with qtbot.waitSignal(store.settled, timeout=2000):
        store.edit("ISO", {"shoots.A.iso": 400.0})
        assert store.starts("A") is None
        assert store.findings is None
        assert store.starts("B") is not None  # B was not touched: what is known stays
    assert store.starts("A") is not None
    assert store.findings is not None


def test_moving_a_start_keeps_the_starts(store: Store) -> None:
    before = store.starts("A")
    store.edit("start", {START: 31.0})
    assert store.starts("A") is before


def test_good_ranges_follow_when_the_hand_rests(store: Store) -> None:
    store.open(load(next(site for site in demo_sites() if site.stem == "montevaro_hill")))
    store.settle_now()
    good = store.good("A")
    assert set(good) == {
        "shutter_s", "iso", "f_number", "nd_stops", "interval_s", "clip_length_s", "frame_rate_fps",
    }  # fmt: skip
    assert any(good["interval_s"])


def test_opening_another_plan_forgets_the_history(store: Store) -> None:
    store.edit("ISO", {"shoots.A.iso": 400.0})
    store.set_active("B")
    store.open(new_plan("Ridge", 60.0, 10.0, dt.date(2026, 3, 1)))
    assert not store.undo_stack.canUndo()
    assert store.active == "A"


@pytest.mark.usefixtures("qapp")
def test_without_a_plan_nothing_is_forecast() -> None:
    store = Store()
    store.edit("ISO", {"shoots.A.iso": 400.0})
    assert store.plan is None
    assert store.outlook("A") is None
    assert store.starts("A") is None


def test_an_edit_of_one_shoot_leaves_the_other_ones_outlook(store: Store) -> None:
    before = store.outlook("B")
    store.edit("ISO", {"shoots.A.iso": 400.0})
    assert store.outlook("B") is before
    store.edit("haze", {"shoots.B.conditions.haze_aod": 0.3})
    assert store.outlook("B") is not before
    beside = store.outlook("A")
    store.edit("write time", {"camera.write_time_s": 2.5})
    assert store.outlook("A") is not beside
    assert store.plan is not None
    seen = store.outlook("A")
    assert seen is not None
    assert seen.clip == outlook(store.plan, "A", Memory()).clip


def test_the_window_has_turns_of_its_own_while_the_slow_half_comes(
    store: Store, qtbot: QtBot
) -> None:
    """Not one long turn: what the hand does in between is seen."""
    turns: list[tuple[bool, bool]] = []
    ticker = QTimer(interval=0)
    ticker.timeout.connect(lambda: turns.append((store.starts("A") is None, not store.findings)))
    with qtbot.waitSignal(store.settled, timeout=5000):
        store.edit("interval", {"shoots.A.interval_s": 4.0, "shoots.B.interval_s": 5.0})
        ticker.start()
    ticker.stop()
    # Diagonals, chance and starts of either shoot.
    assert len(turns) >= 4
    assert all(starts_none and findings_none for starts_none, findings_none in turns)
    assert store.starts("A") is not None


def test_another_edit_drops_what_is_under_way(store: Store, qtbot: QtBot) -> None:
    settled: list[object] = []
    store.settled.connect(lambda: settled.append(store.plan))
    for interval_s in (4.0, 5.0, 6.0):
        store.edit("interval", {"shoots.A.interval_s": interval_s})
        store._go_on()  # one turn of the event loop, not enough for any of them
        assert store.findings is None
        assert store.starts("A") is None
    qtbot.waitUntil(lambda: store.findings is not None, timeout=5000)
    assert settled == [store.plan]
    assert store.plan is not None
    found, fresh = store.starts("A"), starts(store.plan, "A", Memory())
    assert found is not None
    assert np.array_equal(found.slack_stops, fresh.slack_stops)


def test_good_ranges_of_an_older_plan_are_dropped(store: Store, qtbot: QtBot) -> None:
    store.edit("interval", {"shoots.A.interval_s": 4.0})
    store._finish()
    store._begin_takes()
    store._go_on()
    store.edit("interval", {"shoots.A.interval_s": 5.0})
    assert "interval_s" not in store.good("A")
    qtbot.waitUntil(lambda: "interval_s" in store.good("A"), timeout=5000)
    assert store.plan is not None
    plan, told = store.plan, store.good("A")["interval_s"]
    for interval_s, good in zip(scale_of(plan.camera, "interval_s"), told, strict=True):
        changed = with_values(plan, {"shoots.A.interval_s": interval_s})
        assert good == holds(outlook(changed, "A", Memory()))
