"""The details window: every value of the plan without a slider, each one step of undo."""

from __future__ import annotations

import ast
import datetime as dt
from pathlib import Path

import msgspec
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox
from pytestqt.qtbot import QtBot

import core
from app.store import Store
from app.theme import set_text_scale
from app.widgets.key_row import KeyRow
from app.widgets.value_field import ValueField
from app.windows.details import DetailsWindow
from app.windows.sections import Section, sections_of
from core.edit import get_value, new_plan
from core.fields import Field, field_of, keys_of
from core.plan import Plan

PLAN = new_plan("Quay", 38.0, 0.5, dt.date(2026, 12, 5))
SECTIONS = sections_of(PLAN)
ROWS = [(key, label) for section in SECTIONS for key, label in section.rows]

#: Keys with a control in the main window.
ELSEWHERE = {
    f"shoots.{name}.{key}"
    for name in "AB"
    for key in (
        "date", "twilight", "start_after_event_min", "interval_s", "clip_length_s",
        "frame_rate_fps", "shutter_s", "iso", "f_number", "nd_stops", "visit", "path_reversed",
        "battery_start_percent", "conditions.cloud_okta", "conditions.haze_aod",
        "conditions.temperature_c", "conditions.humidity_percent", "conditions.wind_10m_m_s",
        "conditions.gust_10m_m_s", "conditions.wind_from_deg",
    )
}  # fmt: skip
#: Keys that nothing in the window shows yet, each with the reason.
WITHOUT_CONTROL = {
    "schema": "the version of the file",
    "craft.mass_kg": "no figure of the window depends on it",
    "takes": "written by a take, not typed",
    "learned": "written by a take, not typed",
    "readings": "written on site, not typed",
}  # fmt: skip


@pytest.fixture
def store(qapp: QApplication) -> Store:
    assert qapp is not None
    made = Store()
    made.open(PLAN)
    return made


@pytest.fixture
def details(store: Store, qtbot: QtBot) -> DetailsWindow:
    made = DetailsWindow(store)
    qtbot.addWidget(made)
    made.show()
    return made


def the_plan(store: Store) -> Plan:
    assert store.plan is not None
    return store.plan


def the_field(key: str) -> Field:
    field = field_of(key)
    assert field is not None
    return field


def shown(row: KeyRow) -> object:
    """What a row shows: a text, a choice or a truth."""
    if isinstance(row.editor, QComboBox):
        return row.editor.currentData()
    if isinstance(row.editor, QCheckBox):
        return row.editor.isChecked()
    assert isinstance(row.editor, ValueField)
    return row.editor.text()


def expected(plan: Plan, key: str) -> object:
    field, value = the_field(key), get_value(plan, key)
    return value if field.kind in ("choice", "switch") else field.text(value)


def test_scrolling_the_page_changes_no_choice_on_the_way(
    details: DetailsWindow, store: Store
) -> None:
    before = store.plan
    boxes = [box for box in details.findChildren(QComboBox) if box.isEnabled()]
    assert len(boxes) > 3
    for box in boxes:
        middle = QPointF(box.rect().center())
        turned = QWheelEvent(
            middle, QPointF(box.mapToGlobal(middle)), QPoint(), QPoint(0, -120),
            Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(box, turned)
        assert not box.hasFocus()
    assert store.plan == before


def test_every_key_of_the_plan_has_a_control_or_a_reason_for_none() -> None:
    listed = [key for key, _ in ROWS]
    assert len(listed) == len(set(listed))
    leaves = {
        key
        for key in keys_of(PLAN)
        if the_field(key).kind != "part" and not _inside_a_list(key) and key != "path.stations"
    }
    assert leaves - set(listed) - ELSEWHERE == set(WITHOUT_CONTROL)
    assert not ELSEWHERE & set(listed)


@pytest.mark.parametrize("section", SECTIONS, ids=[one.title for one in SECTIONS])
def test_every_row_is_read_by_something(section: Section) -> None:
    root = Path(core.__file__).parent
    declared = {root / "plan.py"}
    read = {
        node.attr
        for path in set(root.rglob("*.py")) - declared
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute)
    }
    assert {key.rpartition(".")[2] for key, _ in section.rows} <= read


def _inside_a_list(key: str) -> bool:
    """Whether a key stands for one number of a list, whose row shows the whole list."""
    parts = key.split(".")
    lists = [".".join(parts[:k]) for k in range(1, len(parts))]
    return any(the_field(one).kind == "list" and one != "path.stations" for one in lists)


@pytest.mark.parametrize("section", SECTIONS, ids=[one.title for one in SECTIONS])
def test_every_row_shows_the_plan_and_takes_a_new_value_as_one_step(
    store: Store, details: DetailsWindow, section: Section
) -> None:
    for key, label in section.rows:
        make_useful(store, key)
        steps = store.undo_stack.index()
        row = details.rows[key]
        assert row.editor.isEnabled()
        assert label in row.editor.accessibleName()
        before = the_plan(store)
        assert shown(row) == expected(before, key)
        other = enter_another(row, key, before)
        assert get_value(the_plan(store), key) == other
        assert shown(row) == expected(the_plan(store), key)
        assert row.refusal == ""
        assert store.undo_stack.index() == steps + 1
        assert label.lower() in store.undo_stack.undoText().lower()
        store.undo_stack.undo()
        assert the_plan(store) == before
        assert shown(row) == expected(before, key)


def make_useful(store: Store, key: str) -> None:
    """Let a value have an effect: which lamp values do depends on what switches the lamps."""
    name = key.rpartition(".")[2]
    kind = {"on_time": "clock", "off_time": "clock", "on_after_event_min": "offset"}.get(name)
    if kind:
        store.edit("switch", {"ground.lamps.switching.kind": kind})


def enter_another(row: KeyRow, key: str, plan: Plan) -> object:
    """Give a row another value by hand; which one."""
    field, now = the_field(key), get_value(plan, key)
    if isinstance(row.editor, QComboBox):
        place = (row.editor.currentIndex() + 1) % row.editor.count()
        row.editor.setFocus()
        QTest.keyClick(row.editor, Qt.Key.Key_Down if place else Qt.Key.Key_Home)
        return row.editor.itemData(place)
    if isinstance(row.editor, QCheckBox):
        QTest.mouseClick(row.editor, Qt.MouseButton.LeftButton)
        return not now
    other = another(field, now)
    type_in(row, field.text(other))
    return other


def another(field: Field, now: object) -> object:
    """A value that the plan does not have, plain enough to be typed."""
    if field.kind == "text":
        return "Europe/Madrid" if field.name == "time_zone" else "Long Quay"
    if field.kind == "clock":
        return "21:30"
    if field.name == "look_at":
        return (10.0, -20.0, 5.0)
    if field.name == "skyline":
        return ((10.0, 2.0), (190.0, 3.5))
    if isinstance(now, tuple):
        return now[:-1] if len(now) > 1 else (2.8, 4.0)
    low, high = field.low or 0.0, field.high or 1.0
    return next(one for one in (0.25, 0.75, 1.25, 12.0, 30.0) if low <= one <= high and one != now)


def type_in(row: KeyRow, text: str) -> None:
    field = row.editor
    assert isinstance(field, ValueField)
    field.setFocus()
    field.selectAll()
    field.insert(text)  # the keys of a test know no degree sign
    QTest.keyClick(field, Qt.Key.Key_Return)


@pytest.mark.parametrize("section", SECTIONS, ids=[one.title for one in SECTIONS])
def test_what_is_not_understood_stays_with_one_sentence(
    store: Store, details: DetailsWindow, section: Section
) -> None:
    for key, label in section.rows:
        if the_field(key).kind not in ("number", "list", "clock"):
            continue
        make_useful(store, key)
        before, steps = the_plan(store), store.undo_stack.index()
        row = details.rows[key]
        assert isinstance(row.editor, ValueField)
        type_in(row, "rather a lot")
        assert the_plan(store) == before
        assert store.undo_stack.index() == steps
        assert row.editor.refused
        assert row.editor.text() == "rather a lot"
        assert row.refusal.lower().startswith(f'{label} "rather a lot" '.lower())
        assert "expected" in row.refusal
        assert row.refusal.endswith(".")
        assert row.editor.accessibleDescription() == row.refusal
        QTest.keyClick(row.editor, Qt.Key.Key_Escape)
        assert row.refusal == ""
        assert row.editor.text() == expected(before, key)


def test_a_value_out_of_range_is_refused_by_the_name_on_the_screen(
    store: Store, details: DetailsWindow
) -> None:
    row = details.rows["flight.reserve_percent"]
    type_in(row, "10 %")
    assert row.refusal.startswith("Reserve is 10")
    assert row.refusal.endswith("; a percentage from 20 to 50 was expected.")
    assert the_plan(store).flight.reserve_percent == 25.0


def test_values_without_effect_say_why(store: Store, details: DetailsWindow) -> None:
    rows = details.rows
    assert rows["ground.lamps.switching.on_lx"].editor.isEnabled()
    on_time = rows["ground.lamps.switching.on_time"].editor
    assert not on_time.isEnabled()
    assert on_time.toolTip() == "Used where lamps are switched by clock."
    store.edit("switch", {"ground.lamps.switching.kind": "clock"})
    assert on_time.isEnabled()
    assert not rows["ground.lamps.switching.on_lx"].editor.isEnabled()
    store.edit("look", {"path.stations.0.look_at": [10.0, 20.0, 0.0]})
    assert not rows["path.stations.0.heading_deg"].editor.isEnabled()
    assert rows["path.stations.1.heading_deg"].editor.isEnabled()


def test_stations_come_and_go_at_the_end_of_the_path(store: Store, details: DetailsWindow) -> None:
    first, last = PLAN.path.stations
    add = details.buttons[0]
    add.setFocus()
    QTest.mouseClick(add, Qt.MouseButton.LeftButton)
    stations = the_plan(store).path.stations
    assert len(stations) == 3
    # As far on as the piece before it.
    assert stations[2].east_m - last.east_m == last.east_m - first.east_m
    assert stations[2].north_m - last.north_m == last.north_m - first.north_m
    assert "path.stations.2.up_m" in details.rows
    names = [
        section.title for section in sections_of(the_plan(store)) if "station" in section.title
    ]
    assert names == ["First station", "Second station", "Last station"]
    add = details.buttons[0]
    assert add.hasFocus() or not details.isActiveWindow()
    for _ in range(2):
        QTest.mouseClick(details.buttons[1], Qt.MouseButton.LeftButton)
    assert the_plan(store).path.stations == (first,)
    assert not details.buttons[1].isEnabled()
    assert "path.stations.1.up_m" not in details.rows
    for _ in range(3):
        store.undo_stack.undo()
    assert the_plan(store) == PLAN
    assert "path.stations.1.up_m" in details.rows
    assert not store.undo_stack.canUndo()


def test_the_path_holds_no_more_stations_than_a_plan(store: Store, details: DetailsWindow) -> None:
    plain = msgspec.to_builtins(PLAN.path.stations[0])
    store.edit("stations", {"path.stations": [plain] * 39})
    assert details.buttons[0].isEnabled()
    details.buttons[0].click()
    assert len(the_plan(store).path.stations) == 40
    assert not details.buttons[0].isEnabled()


def test_the_window_keeps_its_place_when_a_station_comes(
    details: DetailsWindow, qtbot: QtBot
) -> None:
    bar = details.scroll_bar()
    qtbot.waitUntil(lambda: bar.maximum() > 300)
    bar.setValue(300)
    details.buttons[0].click()
    qtbot.waitUntil(lambda: bar.value() == 300)


def test_double_click_goes_back_to_the_value_of_a_new_plan(
    store: Store, details: DetailsWindow
) -> None:
    store.edit("craft", {"craft.rated_min": 21.0})
    editor = details.rows["craft.rated_min"].editor
    QTest.mouseDClick(editor, Qt.MouseButton.LeftButton)
    assert the_plan(store).craft.rated_min == 30.0


def test_a_choice_is_as_low_again_once_the_text_is(
    qtbot: QtBot, qapp: QApplication, store: Store
) -> None:
    set_text_scale(qapp, 1.0)
    window = DetailsWindow(store)
    qtbot.addWidget(window)
    with qtbot.waitExposed(window):
        window.show()

    def height() -> int:
        return window.rows["path.timing"].findChildren(QComboBox)[0].height()

    qtbot.waitUntil(lambda: height() < 30)
    before = height()
    set_text_scale(qapp, 2.0)
    qtbot.waitUntil(lambda: height() > before)
    set_text_scale(qapp, 1.0)
    qtbot.waitUntil(lambda: height() == before)
