"""The right column: every setting by hand, by keys and typed, each as one step of undo."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAccessible
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app.panels.shoot import ShootPanel
from app.shown import settings
from app.shown.readings import comparison, readouts
from app.shown.settings import SETTINGS, Setting
from app.store import Store
from app.theme import px
from app.widgets.setting_row import SettingRow
from app.widgets.value_field import ValueField
from core.clip import clip_of
from core.motion import Motion
from core.outlook import Outlook
from core.plan import Shoot
from core.scales import scale_of
from core.words import clock_text
from tests.evening import dress, plan_of, show, store_of

LEFT = Qt.MouseButton.LeftButton
NONE, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
CONTROL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def panel(qtbot: QtBot, store: Store) -> ShootPanel:
    dress()
    made = ShootPanel(store)
    show(qtbot, made, 288, 640)
    return made


def shoot(store: Store) -> Shoot:
    assert store.plan is not None
    return store.plan.shoot(store.active)


def seen(store: Store) -> Outlook:
    outlook = store.outlook(store.active)
    assert outlook is not None
    return outlook


def moved(store: Store) -> Motion:
    motion = store.motion(store.active)
    assert motion is not None
    return motion


def press_clock(store: Store) -> str:
    outlook = seen(store)
    return clock_text(outlook.night.clock(outlook.press_s), seconds=True)


def setting(key: str) -> Setting:
    return next(one for one in SETTINGS if one.key == key)


def type_into(field: ValueField, text: str) -> None:
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def drag(row: SettingRow, begin: float, *places: float) -> None:
    slider = row.slider

    def at(place: float) -> QPoint:
        return QPoint(round(slider.x_of(place)), px(10))

    QTest.mousePress(slider, LEFT, NONE, at(begin))
    for place in places:
        QTest.mouseMove(slider, at(place))
    QTest.mouseRelease(slider, LEFT, NONE, at(places[-1]))


# ---- by hand and by keys ----


def test_a_drag_is_one_step_of_undo(panel: ShootPanel, store: Store) -> None:
    row = panel.rows["shutter_s"]
    before = shoot(store).shutter_s
    begin = settings.place_on(scale_of(plan_of().camera, "shutter_s"), before)
    drag(row, begin, begin - 1, begin - 2, begin - 3)
    assert shoot(store).shutter_s == pytest.approx(0.5)
    assert row.field.text() == "0.5 s"
    store.undo_stack.undo()
    assert shoot(store).shutter_s == before
    assert row.field.text() == "1 s"


def test_two_drags_are_two_steps(panel: ShootPanel, store: Store) -> None:
    row = panel.rows["iso"]
    drag(row, 0, 1, 2)
    drag(row, 2, 3)
    store.undo_stack.undo()
    assert shoot(store).iso == 400.0


def test_a_drag_back_to_where_it_was_is_no_step(panel: ShootPanel, store: Store) -> None:
    drag(panel.rows["iso"], 0, 1, 0)
    assert store.undo_stack.count() == 0


def test_every_setting_can_be_stepped_and_taken_back(panel: ShootPanel, store: Store) -> None:
    for one in SETTINGS:
        row = panel.rows[one.key]
        if not row.isVisible():
            continue
        before = one.value(shoot(store))
        QTest.keyClick(row.slider, Qt.Key.Key_Right)
        scale = scale_of(plan_of().camera, one.key)
        assert one.value(shoot(store)) == settings.stepped(scale, before, 1)
        store.undo_stack.undo()
        assert one.value(shoot(store)) == before


def test_the_scale_ends_where_the_camera_does(panel: ShootPanel, store: Store) -> None:
    QTest.keyClick(panel.rows["iso"].slider, Qt.Key.Key_End)
    assert shoot(store).iso == 1600.0
    QTest.keyClick(panel.rows["iso"].slider, Qt.Key.Key_PageUp)
    assert shoot(store).iso == 1600.0


def test_control_home_and_end_go_to_the_ends_of_what_holds(panel: ShootPanel, store: Store) -> None:
    good = store.good("A")["shutter_s"]
    first, last = np.flatnonzero(good)[[0, -1]]
    scale = scale_of(plan_of().camera, "shutter_s")
    QTest.keyClick(panel.rows["shutter_s"].slider, Qt.Key.Key_Home, CONTROL)
    assert shoot(store).shutter_s == scale[first]
    store.settle_now()
    QTest.keyClick(panel.rows["shutter_s"].slider, Qt.Key.Key_End, CONTROL)
    assert shoot(store).shutter_s == scale[last]


def test_backspace_and_double_click_go_back_to_the_default(panel: ShootPanel, store: Store) -> None:
    row = panel.rows["clip_length_s"]
    type_into(row.field, "12.5")
    QTest.keyClick(row.slider, Qt.Key.Key_Backspace)
    assert shoot(store).clip_length_s == 8.0
    type_into(row.field, "12.5")
    QTest.mouseDClick(row.field, LEFT)
    assert shoot(store).clip_length_s == 8.0


def test_the_finest_step_of_the_clip_is_one_frame(panel: ShootPanel, store: Store) -> None:
    frames = clip_of(shoot(store), plan_of().camera).frames
    QTest.keyClick(panel.rows["clip_length_s"].slider, Qt.Key.Key_Right, SHIFT)
    assert clip_of(shoot(store), plan_of().camera).frames == frames + 1


# ---- the start ----


def test_the_start_steps_on_the_tens_of_the_clock(panel: ShootPanel, store: Store) -> None:
    type_into(panel.start.field, "19:06:13")
    for key, modifier, clock in (
        (Qt.Key.Key_Right, NONE, "19:06:20"),
        (Qt.Key.Key_Right, NONE, "19:06:30"),
        (Qt.Key.Key_Right, SHIFT, "19:06:31"),
        (Qt.Key.Key_Left, NONE, "19:06:30"),
        (Qt.Key.Key_PageUp, NONE, "19:07:30"),
        (Qt.Key.Key_PageDown, NONE, "19:06:30"),
    ):
        QTest.keyClick(panel.start.slider, key, modifier)
        assert press_clock(store) == clock


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("sunset+19", 19.0), ("25", 25.0), ("sunset - 3 min", -3.0), ("40 min after sunset", 40.0)],
)
def test_a_start_can_be_typed_in_many_ways(
    panel: ShootPanel, store: Store, text: str, minutes: float
) -> None:
    type_into(panel.start.field, text)
    assert shoot(store).start_after_event_min == pytest.approx(minutes)
    assert panel.start.refusal == ""


def test_the_good_range_of_the_start_is_the_span_of_its_night(
    panel: ShootPanel, store: Store
) -> None:
    starts = store.starts("A")
    assert starts is not None
    assert starts.earliest_s is not None
    QTest.keyClick(panel.start.slider, Qt.Key.Key_Home, CONTROL)
    assert starts.earliest_s <= seen(store).press_s < starts.earliest_s + 1.0
    assert seen(store).judgement.slack_stops >= 0.0


@pytest.mark.parametrize(("key", "end"), [(Qt.Key.Key_Home, 0), (Qt.Key.Key_End, 1)])
@pytest.mark.parametrize("haze", [0.05, 0.07, 0.12, 0.2])
def test_both_ends_of_the_good_starts_hold(
    panel: ShootPanel, store: Store, key: Qt.Key, end: int, haze: float
) -> None:
    store.edit("haze", {"shoots.A.conditions.haze_aod": haze})
    store.settle_now()
    starts = store.starts("A")
    assert starts is not None
    limit_s = (starts.earliest_s, starts.latest_s)[end]
    assert limit_s is not None
    QTest.keyClick(panel.start.slider, key, CONTROL)
    assert seen(store).press_s == pytest.approx(limit_s, abs=1.0)
    assert seen(store).judgement.slack_stops >= 0.0


@pytest.mark.parametrize(
    ("span_s", "time_s", "after_event_s"),
    [
        ((100.4, 109.6), 109.6, 109.0),
        ((100.4, 109.6), 100.4, 101.0),
        ((100.4, 109.6), 104.7, 105.0),
        # No whole second lies between: the good start itself.
        ((100.6, 100.9), 100.6, 100.6),
        ((100.6, 100.6), 100.6, 100.6),
    ],
)
def test_a_good_start_stays_within_its_span(
    store: Store, span_s: tuple[float, float], time_s: float, after_event_s: float
) -> None:
    night = seen(store).night
    whole = math.floor(night.event.time_s)
    first, last, time = (whole + one for one in (*span_s, time_s))
    minutes = settings.minutes_in_span(night, (first, last), time)
    pressed_s = night.event.time_s + 60.0 * minutes
    assert pressed_s - whole == pytest.approx(after_event_s, abs=1e-4)


def test_best_start_is_taken_at_a_press(panel: ShootPanel, store: Store) -> None:
    starts = store.starts("A")
    assert starts is not None
    assert starts.best_s is not None
    QTest.mouseClick(panel.best_start, LEFT)
    assert seen(store).press_s == pytest.approx(starts.best_s, abs=0.6)
    assert store.undo_stack.undoText() == "start"


def test_without_a_good_start_the_button_says_why(qtbot: QtBot) -> None:
    dress()
    store = store_of(plan_of(shoots__A__iso=1600.0, shoots__A__shutter_s=2.0))
    panel = ShootPanel(store)
    show(qtbot, panel, 288, 640)
    assert not panel.best_start.isEnabled()
    assert panel.best_start.toolTip().startswith("No start of this dusk keeps the light")
    assert "stops" in panel.best_start.accessibleDescription()


def test_the_sliders_range_does_not_move_under_the_hand(store: Store) -> None:
    first = settings.start_range_s(seen(store), store.starts("A"))
    store.edit("start", {"shoots.A.start_after_event_min": 40.0})
    assert settings.start_range_s(seen(store), store.starts("A")) == first
    assert first[0] <= seen(store).night.event.time_s <= first[1]


@pytest.mark.usefixtures("qapp")
def test_at_dawn_the_range_lies_before_the_sunrise() -> None:
    store = store_of(plan_of(shoots__A__twilight="dawn", shoots__A__start_after_event_min=-30.0))
    outlook = seen(store)
    first, last = settings.start_range_s(outlook, store.starts("A"))
    assert first < outlook.press_s < last
    before, after = outlook.night.event.time_s - first, last - outlook.night.event.time_s
    assert before > 3.0 * after


# ---- typed values ----


@pytest.mark.parametrize(
    ("key", "text", "value", "shown"),
    [
        ("shutter_s", "1/4", 0.25, "1/4 s"),
        ("shutter_s", "0.25 s", 0.25, "1/4 s"),
        ("interval_s", "5 s", 5.0, "5 s"),
        ("clip_length_s", "12", 12.0, "12.0 s"),
        ("iso", "ISO 400", 400.0, "400"),
        ("nd_stops", "ND 8", 3.0, "ND 8"),
        ("frame_rate_fps", "30 fps", 30.0, "30 per s"),
    ],
)
def test_a_value_can_be_typed_as_the_trade_writes_it(
    panel: ShootPanel, store: Store, key: str, text: str, value: float, shown: str
) -> None:
    row = panel.rows[setting(key).key]
    type_into(row.field, text)
    assert setting(key).value(shoot(store)) == pytest.approx(value)
    assert row.field.text() == shown


def test_the_value_that_stands_already_is_taken_again(panel: ShootPanel, store: Store) -> None:
    row = panel.rows["iso"]
    type_into(row.field, "ISO 100")
    assert row.field.text() == "100"
    assert store.undo_stack.count() == 0


@pytest.mark.parametrize("text", ["quick", "0", "9999 s"])
def test_what_is_not_understood_stays_with_a_sentence(
    panel: ShootPanel, store: Store, text: str
) -> None:
    row = panel.rows["shutter_s"]
    before = store.plan
    type_into(row.field, text)
    assert row.field.text() == text
    assert row.refusal.startswith("Shutter")
    assert "was expected" in row.refusal
    assert "shoots." not in row.refusal
    assert store.plan is before
    type_into(row.field, "1/4")
    assert row.refusal == ""


def test_a_refused_start_goes_when_the_start_moves_another_way(
    panel: ShootPanel, store: Store
) -> None:
    ways: tuple[Callable[[], object], ...] = (
        lambda: QTest.keyClick(panel.start.slider, Qt.Key.Key_Right),
        lambda: store.edit("drag", {"shoots.A.start_after_event_min": 41.0}),
        store.undo_stack.undo,
        lambda: QTest.mouseClick(panel.best_start, LEFT),
    )
    for way in ways:
        type_into(panel.start.field, "7:50 pm nonsense")
        assert panel.start.refusal
        assert panel.start.field.text() == "7:50 pm nonsense"
        way()
        clock = clock_text(seen(store).night.clock(seen(store).press_s), seconds=True)
        assert panel.start.field.text() == clock
        assert panel.start.refusal == ""


def test_a_refused_charge_goes_when_the_charge_moves_another_way(
    panel: ShootPanel, store: Store
) -> None:
    type_into(panel.flown.charge, "plenty")
    assert panel.flown.refusal
    store.edit("charge", {"shoots.A.battery_start_percent": 93.0})
    assert panel.flown.charge.text() == "93 %"
    assert panel.flown.refusal == ""


def test_a_refused_text_does_not_follow_to_the_other_shoot(panel: ShootPanel, store: Store) -> None:
    row = panel.rows["shutter_s"]
    type_into(row.field, "quick")
    store.set_active("B")
    assert row.refusal == ""
    assert row.field.text() == "1/4 s"


# ---- what it shows ----


def test_the_tabs_turn_the_settings_to_the_other_shoot(panel: ShootPanel, store: Store) -> None:
    assert panel.tabs.tab("A").isChecked()
    QTest.mouseClick(panel.tabs.tab("B"), LEFT)
    assert store.active == "B"
    assert panel.rows["interval_s"].field.text() == "2 s"
    state = panel.rows["interval_s"].state
    assert state is not None
    assert state.slider.shoot == "B"
    # The other shoot's 3 s is the second step of the scale.
    assert state.slider.other == 1.0


def test_the_arrow_keys_choose_a_tab(panel: ShootPanel, store: Store) -> None:
    panel.tabs.tab("A").setFocus()
    QTest.keyClick(panel.tabs.tab("A"), Qt.Key.Key_Right)
    assert store.active == "B"


def test_a_lens_of_one_aperture_has_no_row_but_a_note(panel: ShootPanel) -> None:
    assert not panel.rows["f_number"].isVisible()
    state = panel.rows["shutter_s"].state
    assert state is not None
    assert state.note == "f/1.8 fixed"


def test_a_lens_of_more_apertures_has_a_row(qtbot: QtBot) -> None:
    dress()
    apertures = {"camera__f_numbers": (1.8, 2.8, 4.0), "camera__nd_stops": (0.0,)}
    panel = ShootPanel(store_of(plan_of(**apertures)))
    show(qtbot, panel, 288, 640)
    assert panel.rows["f_number"].isVisible()
    assert not panel.rows["nd_stops"].isVisible()


def test_outside_the_good_range_a_row_names_the_limit_that_fails(
    panel: ShootPanel, store: Store
) -> None:
    # Just after sunset a whole second burns the land; a shorter shutter would hold.
    store.edit("start", {"shoots.A.start_after_event_min": 15.0})
    store.settle_now()
    state = panel.rows["shutter_s"].state
    assert state is not None
    assert any(store.good("A")["shutter_s"])
    assert state.fails in ("land burns", "sky burns", "street burns")
    assert state.slider.outside


def test_where_no_value_holds_alone_no_row_is_marked(panel: ShootPanel, store: Store) -> None:
    store.edit("start", {"shoots.A.start_after_event_min": 15.0})
    store.settle_now()
    state = panel.rows["iso"].state
    assert state is not None
    assert not any(store.good("A")["iso"])
    assert (state.fails, state.slider.good) == ("", ())
    assert "no value of it holds alone" in panel.rows["iso"].slider.accessibleDescription()


@pytest.mark.parametrize(
    ("good", "found"),
    [
        ((), ()),
        ((False, False), ()),
        ((True, True), ((0, 1),)),
        ((False, True, True, False, True), ((1, 2), (4, 4))),
    ],
)
def test_runs_of_good_steps(good: tuple[bool, ...], found: tuple[tuple[int, int], ...]) -> None:
    assert settings.runs(good) == found


@pytest.mark.parametrize(
    ("value", "steps", "expected"),
    [(2.0, 1, 4.0), (2.0, -1, 1.0), (3.0, 1, 4.0), (3.0, -1, 2.0), (3.0, 2, 8.0), (8.0, 1, 8.0)],
)
def test_from_between_two_steps_the_first_goes_to_the_next_real_one(
    value: float, steps: int, expected: float
) -> None:
    assert settings.stepped((1.0, 2.0, 4.0, 8.0), value, steps) == expected


def test_the_readouts_are_those_of_the_take(store: Store) -> None:
    shown = dict(readouts(seen(store), moved(store)))
    # 8 s at 25 per s; 199 intervals of 3 s; 3 s become 1/25 s; a third of the interval open.
    assert shown["frames"] == "200"
    assert shown["shooting"] == "9:57"
    assert shown["speed-up"] == "75 ×"
    assert shown["shutter angle"] == "120°"
    assert shown["write time left"] == "0.3 s"
    cars = moved(store).of("cars")
    assert cars is not None
    assert shown["car per frame"] == f"{cars.px_per_frame:.0f} px"
    light = seen(store).tones.illuminance_lx
    assert shown["light lost"] == f"{math.log2(light[0] / light[-1]):.1f} stops"


@pytest.mark.usefixtures("qapp")
def test_at_dawn_light_is_gained() -> None:
    store = store_of(plan_of(shoots__A__twilight="dawn", shoots__A__start_after_event_min=-30.0))
    assert "light gained" in dict(readouts(seen(store), moved(store)))


def test_the_comparison_marks_what_differs(store: Store) -> None:
    a, b = store.outlook("A"), store.outlook("B")
    assert a is not None
    assert b is not None
    rows = {row[0].text: row[1:] for row in comparison(a, b)}
    assert [cell.text for cell in rows["interval"]] == ["3 s", "≠", "2 s"]
    assert [cell.text for cell in rows["clip"]] == ["8.0 s", "", "8.0 s"]


def test_a_against_b_stands_there_in_a_large_window_only(qtbot: QtBot, store: Store) -> None:
    dress()
    window = QWidget()
    panel = ShootPanel(store, window)
    panel.resize(328, 900)
    show(qtbot, window, 1680, 1050)
    panel.resize(328, 901)
    assert panel.against.isVisible()
    assert "soft by wind" in dict(panel.readouts.entries)
    window.resize(1280, 800)
    panel.resize(288, 640)
    assert not panel.against.isVisible()
    assert "soft by wind" not in dict(panel.readouts.entries)


# ---- how it is flown ----


def test_visit_path_and_charge_belong_to_the_active_shoot(panel: ShootPanel, store: Store) -> None:
    QTest.mouseClick(panel.flown.visit.button(1), LEFT)
    QTest.mouseClick(panel.flown.reversed, LEFT)
    type_into(panel.flown.charge, "92 %")
    assert store.plan is not None
    a, b = store.plan.shoots.A, store.plan.shoots.B
    assert (a.visit, a.path_reversed, a.battery_start_percent) == ("repeat", True, 92.0)
    assert (b.visit, b.path_reversed, b.battery_start_percent) == ("first", False, 100.0)
    for _ in range(3):
        store.undo_stack.undo()
    assert store.plan == plan_of()


def test_a_charge_above_full_is_refused(panel: ShootPanel, store: Store) -> None:
    type_into(panel.flown.charge, "120")
    assert "from 1 to 100" in panel.flown.refusal
    assert shoot(store).battery_start_percent == 100.0


# ---- for everyone ----


def test_everything_that_takes_the_keyboard_has_a_name(panel: ShootPanel) -> None:
    for widget in panel.findChildren(QWidget):
        if widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isVisible():
            interface = QAccessible.queryAccessibleInterface(widget)
            assert interface.text(QAccessible.Text.Name), widget


def test_the_keyboard_goes_through_the_rows_in_reading_order(panel: ShootPanel) -> None:
    panel.start.slider.setFocus()
    seen_fields = []
    for _ in range(6):
        QTest.keyClick(panel.focusWidget(), Qt.Key.Key_Tab)
        seen_fields.append(panel.focusWidget().accessibleName())
    assert seen_fields == [
        "Start, value",
        "Interval",
        "Interval, value",
        "Clip length",
        "Clip length, value",
        "Shutter",
    ]


def test_without_a_plan_nothing_can_be_moved(qtbot: QtBot) -> None:
    dress()
    panel = ShootPanel(Store())
    qtbot.addWidget(panel)
    assert not panel.isEnabled()


def test_a_refused_figure_is_shown_as_it_is_typed(panel: ShootPanel) -> None:
    """No needless '.0' of the plan's file."""
    for key, text, said in (
        ("interval_s", "1200", "Interval is 1200;"),
        ("interval_s", "0.05", "Interval is 0.05;"),
        ("iso", "9999999", "ISO is 9\u2009999\u2009999;"),
    ):
        row = panel.rows[key]  # type: ignore[index]
        row.field.setText(text)
        row.field.entered.emit(text)
        assert row.refusal.startswith(said)
        assert ".0;" not in row.refusal
        assert row.field.accessibleDescription() == row.refusal
        row.accept()
