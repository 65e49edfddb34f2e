"""A lock keeps a value while others are searched, and can still be moved by hand."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.panels.shoot import ShootPanel
from app.store import Store
from app.windows.best import BestWindow
from core.edit import with_values
from core.memory import Memory
from core.plan import Plan
from core.scales import SettingKey
from core.settings import Wish, settings_of
from tests.app.commands import answered, refused
from tests.app.panes import click, site_plan, store_of

SITE = "corvane_harbour"
HELD: tuple[SettingKey, ...] = ("shutter_s", "iso", "nd_stops", "interval_s", "clip_length_s")


@pytest.fixture
def store() -> Store:
    return store_of(SITE)


@pytest.fixture
def panel(qtbot: QtBot, store: Store) -> ShootPanel:
    panel = ShootPanel(store)
    qtbot.addWidget(panel)
    panel.resize(288, 700)
    with qtbot.waitExposed(panel):
        panel.show()
    return panel


def plan_of(store: Store) -> Plan:
    assert store.plan is not None
    return store.plan


@pytest.mark.parametrize("key", HELD)
def test_a_search_leaves_alone_what_is_held(key: SettingKey) -> None:
    plan = site_plan(SITE)
    memory = Memory()
    free = settings_of(plan, "A", memory, Wish()).choices
    held = settings_of(plan, "A", memory, Wish(held=frozenset({key}))).choices
    assert free
    assert held
    for choice in held:
        assert getattr(choice, key) == pytest.approx(getattr(plan.shoots.A, key))
    others = [one for one in HELD if one != key]
    assert any(
        getattr(choice, one) != pytest.approx(getattr(plan.shoots.A, one))
        for choice in held
        for one in others
    )


def test_a_held_length_of_no_whole_frames_stays_as_typed() -> None:
    plan = with_values(site_plan(SITE), {"shoots.A.clip_length_s": 7.77})
    wish = Wish(held=frozenset({"clip_length_s"}))
    found = settings_of(plan, "A", Memory(), wish).choices
    assert found
    assert {choice.clip_length_s for choice in found} == {7.77}


def test_with_everything_held_the_start_alone_is_searched() -> None:
    plan = site_plan(SITE)
    found = settings_of(plan, "A", Memory(), Wish(held=frozenset(HELD)))
    (choice,) = found.choices
    assert [getattr(choice, key) for key in HELD] == [getattr(plan.shoots.A, key) for key in HELD]


def test_what_is_held_and_fits_no_battery_is_told() -> None:
    store = store_of(SITE)
    store.edit("length", {"shoots.A.clip_length_s": 60.0})
    found = settings_of(plan_of(store), "A", Memory(), Wish(held=frozenset({"clip_length_s"})))
    assert not found.choices
    assert found.reason == "With what is locked no take fits into this battery: unlock a setting."


def test_the_lock_is_turned_by_key_and_pointer_and_told(panel: ShootPanel, store: Store) -> None:
    row = panel.rows["iso"]
    QTest.keyClick(row.slider, Qt.Key.Key_L)
    assert store.locked("A") == {"iso"}
    assert row.lock.isChecked()
    assert "locked" in row.slider.accessibleDescription()
    # The hand still moves it.
    QTest.keyClick(row.slider, Qt.Key.Key_Right)
    assert plan_of(store).shoots.A.iso == 200.0
    QTest.mouseClick(row.lock, Qt.MouseButton.LeftButton)
    assert store.locked("A") == set()
    # Each shoot has locks of its own, and another plan has none.
    store.lock("A", "iso", on=True)
    store.set_active("B")
    assert not row.lock.isChecked()
    store.open(site_plan(SITE))
    assert store.locked("A") == set()


def test_a_locked_start_is_not_moved_by_best_start(panel: ShootPanel, store: Store) -> None:
    store.settle_now()
    assert panel.best_start.isEnabled()
    QTest.keyClick(panel.start.slider, Qt.Key.Key_L)
    assert not panel.best_start.isEnabled()
    assert "locked" in panel.best_start.toolTip()


def test_after_a_search_a_row_says_what_it_was(
    qtbot: QtBot, panel: ShootPanel, store: Store
) -> None:
    # B has other settings than A had.
    store.edit("B", {"shoots.B.iso": 400.0, "shoots.B.interval_s": 5.0})
    before = plan_of(store).shoots.A
    store.lock("A", "iso", on=True)
    window = BestWindow(store)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitUntil(lambda: not window.searching and bool(window.choices), timeout=20_000)
    assert {choice.iso for choice in window.choices} == {before.iso}
    click(window.take_buttons[0])
    store.settle_now()
    after = plan_of(store).shoots.A
    assert after != before
    notes = {key: row.state.note for key, row in panel.rows.items() if row.state is not None}
    for key, note in notes.items():
        moved = getattr(before, key) != getattr(after, key)
        assert note.startswith("was ") is moved, key
    # The other shoot was not searched.
    store.set_active("B")
    other = [row.state.note for row in panel.rows.values() if row.state is not None]
    assert not any(note.startswith("was ") for note in other)
    store.set_active("A")
    store.edit("start", {"shoots.A.start_after_event_min": 20.0})
    assert not any(
        row.state.note.startswith("was ") for row in panel.rows.values() if row.state is not None
    )


def test_the_command_keeps_what_it_is_told_to() -> None:
    site = f"demo_sites/{SITE}.duskplan"
    told = answered("settings", site, "--keep", "shutter_s", "--format", "csv")
    rows = [line.split(",") for line in told.splitlines()]
    at = rows[0].index("shutter_s")
    assert {float(row[at]) for row in rows[1:]} == {site_plan(SITE).shoots.A.shutter_s}
    assert "--keep has 'colour'" in refused("settings", site, "--keep", "colour").replace('"', "'")
