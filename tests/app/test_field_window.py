"""The field window driven through whole evenings by a test clock."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import get_args

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.looks import choose_theme, prepare
from app.store import Store
from app.theme import set_text_scale, theme_of
from app.widgets.text import Text
from app.windows.beside import Beside
from app.windows.field import FieldWindow
from app.windows.readings import ReadingsWindow
from core.checklist import checklist_of
from core.edit import with_values
from core.manner import Hours, Manner, adopt, manner
from core.outlook import Outlook
from core.plan import Plan
from core.readings import expected_tone
from core.stepwords import StepKind
from tests.app.commands import BANNED
from tests.app.panes import click, site_plan, store_of

DUSK, DAWN = "corvane_harbour", "lanternshell_bay"
PATIENCE_MS = 60_000


class Field:
    """A pilot before the window, with a clock to turn."""

    def __init__(self, qtbot: QtBot, store: Store) -> None:
        self.store, self.time_s = store, 0.0
        self.window = FieldWindow(store, clock=lambda: self.time_s)
        self.window.resize(1024, 720)
        qtbot.addWidget(self.window)
        # Every second by hand: the window's own would come in between.
        self.window._timer.timeout.disconnect()

    @property
    def seen(self) -> Outlook:
        seen = self.store.outlook(self.store.active)
        assert seen is not None
        return seen

    @property
    def plan(self) -> Plan:
        assert self.store.plan is not None
        return self.store.plan

    def open(self, qtbot: QtBot, time_s: float) -> None:
        self.time_s = time_s
        with qtbot.waitExposed(self.window):
            self.window.show()
        self.window.activateWindow()
        qtbot.waitUntil(self.window.isActiveWindow)

    def run_to(self, time_s: float) -> None:
        """Let the clock run, a tick a second."""
        while self.time_s + 1.0 < time_s:
            self.time_s += 1.0
            self.window.tick()
        self.time_s = time_s
        self.window.tick()

    def sleep_to(self, time_s: float) -> None:
        """Let the machine sleep: no tick until then."""
        self.time_s = time_s
        self.window.tick()

    def press(self, name: str) -> None:
        click(self.window.buttons[name])

    def begin_the_take(self, qtbot: QtBot) -> None:
        """Take off and press on time."""
        assert self.seen.take_off_s is not None
        self.open(qtbot, self.seen.take_off_s)
        self.press("strong")
        self.run_to(self.seen.press_s)
        self.press("strong")

    @property
    def lead(self) -> str:
        return self.window.left.lead.text()

    @property
    def count(self) -> str:
        return self.window.left.count.text

    @property
    def stop(self) -> str:
        return self.window.right.stop.text

    def clock_of(self, kind: StepKind) -> str:
        return next(row.clock for row in self.window.left.steps.rows if row.kind == kind)

    def done(self) -> set[str]:
        return {row.kind for row in self.window.left.steps.rows if row.done}


@pytest.fixture
def field(qtbot: QtBot, qapp: QApplication) -> Callable[..., Field]:
    prepare(qapp)
    choose_theme(qapp, "light")
    return lambda stem=DUSK, store=None: Field(qtbot, store or store_of(stem))


def test_an_evening_on_time(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field()
    seen = here.seen
    assert seen.take_off_s is not None
    assert seen.latest_stop_s is not None
    off_s, stop = seen.take_off_s, seen.latest_stop_s
    here.open(qtbot, off_s - 30.0)
    assert (here.lead, here.count) == ("Take off in", "0:30")
    stands = here.stop
    here.run_to(off_s)
    here.press("strong")
    assert here.lead == "First shutter in"
    assert here.stop == stands
    here.run_to(seen.press_s)
    here.press("strong")
    assert here.lead == "Last frame in"
    here.run_to(seen.press_s + 31.0)
    assert here.window.left.aside.text() == "frame 11 of 200"
    assert not here.window.buttons["strong"].isEnabled()
    here.run_to(seen.last_frame_s + 1.0)
    assert here.lead == "Turn home in"
    here.run_to(seen.last_frame_s + 20.0)
    assert here.lead == "Land by in"
    here.run_to(stop + 20.0)
    assert here.window.right.lead.text() == "Fly home, 0:20 past"
    assert here.window.right.mark.isVisible()
    here.press("strong")
    assert here.lead.startswith("Down at ")
    assert not here.window.right.mark.isVisible()
    assert here.done() >= {"take_off", "first_shutter", "last_frame", "turn_home", "on_ground"}
    # What was flown is kept with its times.
    (take,) = here.plan.takes
    assert take.shoot == "A"
    assert take.summary.words.startswith("Took off ")
    assert "pressed" in take.summary.words
    assert "down" in take.summary.words
    here.store.undo_stack.undo()
    assert here.plan.takes == ()


def test_a_dawn_on_time(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field(DAWN)
    seen = here.seen
    assert seen.take_off_s is not None
    here.open(qtbot, seen.take_off_s - 10.0)
    assert theme_of(here.window).name == "dim"
    assert (here.lead, here.count) == ("Take off in", "0:10")
    assert here.window.buttons["lamps"].deed == "Lamps are off"
    here.run_to(seen.take_off_s)
    here.press("strong")
    here.run_to(seen.press_s)
    here.press("strong")
    before = here.plan
    here.press("lamps")
    # What switches lamps off is not learned from the minute; it is noted.
    assert here.plan == before
    assert here.window.log.lamps_s == here.time_s
    here.run_to(seen.last_frame_s + 60.0)
    here.press("strong")
    assert len(here.plan.takes) == 1


def test_late_and_the_rescue(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field()
    seen = here.seen
    assert seen.take_off_s is not None
    here.open(qtbot, seen.take_off_s)
    here.run_to(seen.take_off_s + 100.0)
    assert (here.lead, here.count) == ("Take off, late by", "1:40")
    assert here.window.left.now.text().startswith("Take off now: press at ")
    planned = here.plan
    here.press("late")
    qtbot.waitUntil(lambda: not here.window.searching, timeout=PATIENCE_MS)
    choices = here.window.choices
    assert here.window.left.pages.currentWidget() is choices
    assert choices.buttons
    click(choices.buttons[0])
    assert here.plan != planned
    assert here.window.left.pages.currentWidget() is here.window.checks
    assert here.window.told.text() != ""
    # What is counted to is the rescue's own take-off or press, no longer late.
    assert here.seen.take_off_s is not None
    assert here.seen.take_off_s >= here.time_s - 1.0
    here.store.undo_stack.undo()
    assert here.plan == planned


def test_lamps_early_move_the_street_and_are_no_longer_counted_to(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    lamps_s = here.seen.light.lamps_on_s
    assert lamps_s is not None
    here.open(qtbot, lamps_s - 240.0)
    assert (here.lead, here.count) == ("Lamps on in", "4:00")
    here.press("lamps")
    assert here.lead == "Take off in"
    assert here.seen.light.lamps_on_s == pytest.approx(here.time_s, abs=10.0)
    assert "lamps_on" in here.done()
    assert here.window.told.text().startswith("Lamps on at ")
    here.store.undo_stack.undo()
    assert here.seen.light.lamps_on_s == pytest.approx(lamps_s)


def test_a_minute_in_which_no_lamps_can_switch_is_refused_in_a_sentence(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    before = here.plan
    here.open(qtbot, here.seen.night.event.time_s - 4.0 * 3600.0)
    here.press("lamps")
    assert "too bright" in here.window.told.text()
    assert here.plan == before


def test_a_reading_that_moves_the_start_offers_it(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    beside = Beside(here.store, here.window, lambda *_: None)
    here.window.open_readings = beside.read_at
    seen = here.seen
    assert seen.take_off_s is not None
    here.open(qtbot, seen.take_off_s - 600.0)
    assert not here.window.offer.isVisible()
    here.press("reading")
    readings = beside.get(ReadingsWindow)
    assert readings is not None
    qtbot.addWidget(readings)
    assert theme_of(readings).name == theme_of(here.window).name == "dim"
    # At this very minute, with the tone left to type.
    minute = (here.time_s - seen.night.event.time_s) / 60.0
    assert readings.time.value == pytest.approx(minute)
    readings.part.button(1).click()
    reading = readings._reading(0.0)
    expected = expected_tone(reading, here.plan, seen)
    assert expected is not None
    # The land stands a stop and a half brighter than it should: the light lasts longer.
    readings.tone.take(f"{expected[0] + 1.5:+.1f}")
    readings.take()
    here.store.settle_now()
    assert len(here.plan.readings) == 1
    starts = here.store.starts("A")
    assert starts is not None
    assert starts.best_s is not None
    assert starts.best_s > seen.press_s + 60.0
    assert here.window.offer.isVisible()
    click(here.window.offer)
    assert here.seen.press_s == pytest.approx(starts.best_s, abs=0.01)
    here.store.settle_now()
    assert not here.window.offer.isVisible()
    readings.close()


def test_an_abort_in_the_take_flies_home_and_keeps_what_was_done(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    seen = here.seen
    here.begin_the_take(qtbot)
    here.run_to(seen.press_s + 100.0)
    here.press("abort")
    assert here.lead == "Land by in"
    assert here.window.left.now.text().lower().startswith(("fly home", "climb"))
    here.run_to(seen.press_s + 150.0)
    assert here.window.buttons["strong"].deed == "Landed"
    here.press("strong")
    assert "broke off" in here.plan.takes[0].summary.words


def test_an_abort_on_the_ground_ends_the_evening_without_a_take(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s - 100.0)
    here.press("abort")
    assert here.lead.startswith("Down at ")
    assert here.plan.takes == ()


def test_the_list_before_take_off_is_ticked_kept_and_bars_nothing(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s - 300.0)
    checks = here.window.checks
    items = checklist_of(here.plan, here.seen)
    many = len(items)
    assert here.window.left.pages.currentWidget() is checks
    assert here.window.left.aside.text() == f"{many} of {many} left"
    assert checks.lines[0].current
    checks.lines[0].setFocus()
    QTest.keyClick(checks.lines[0], Qt.Key.Key_Space)
    click(checks.lines[2])
    assert here.window.left.aside.text() == f"{many - 2} of {many} left"
    assert [line.current for line in checks.lines] == [k == 1 for k in range(many)]
    assert here.window.log.ticked == (items[0].fact, items[2].fact)
    assert checks.lines[1].accessibleName() == items[1].fact
    # With rows open it asks nothing, and writes them into the log of the take.
    here.press("strong")
    assert here.window.left.pages.currentWidget() is here.window.left.steps
    here.run_to(here.seen.press_s)
    here.press("strong")
    here.run_to(here.seen.last_frame_s + 30.0)
    here.press("strong")
    words = here.plan.takes[0].summary.words
    left = ", ".join(item.fact for k, item in enumerate(items) if k not in {0, 2})
    assert words.endswith(f"not ticked: {left}.")


def test_ticks_are_there_again_and_every_tick_is_no_word_of_approval(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s - 300.0)
    for line in here.window.checks.lines:
        click(line)
    assert here.window.left.aside.text() == f"{len(here.window.checks.lines)} ticked"
    here.window.close()
    again = field()
    again.open(qtbot, here.time_s + 5.0)
    assert again.window.checks.open == ()


def test_a_tick_goes_when_its_figure_changes_and_comes_back_with_it(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s - 300.0)
    for line in here.window.checks.lines:
        click(line)
    here.store.edit("shorter", {"shoots.A.clip_length_s": 6.0})
    here.store.settle_now()
    here.window.tick()
    # The space that the take needs on the card.
    assert {item.code for item in here.window.checks.open} == {"card"}
    here.store.undo_stack.undo()
    here.store.settle_now()
    here.window.tick()
    assert here.window.checks.open == ()


def test_damp_air_adds_a_row(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s - 300.0)
    before = len(here.window.checks.lines)
    here.store.edit("damp", {"shoots.A.conditions.humidity_percent": 95.0})
    here.store.settle_now()
    here.window.tick()
    assert len(here.window.checks.lines) == before + 1


def test_a_deed_can_be_taken_back_for_ten_seconds(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s - 100.0)
    here.press("strong")
    strong = here.window.buttons["strong"]
    assert strong.deed.startswith("Took off ")
    here.run_to(here.time_s + 5.0)
    here.press("strong")
    assert here.lead == "Take off in"
    here.press("strong")
    here.run_to(here.time_s + 11.0)
    assert strong.deed == "Pressed"


def test_a_sleep_of_two_minutes_misses_nothing_and_says_what_passed(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    seen = here.seen
    assert seen.take_off_s is not None
    here.open(qtbot, seen.take_off_s)
    here.press("strong")
    here.run_to(seen.press_s - 60.0)
    here.sleep_to(seen.press_s + 60.0)
    assert (here.lead, here.count) == ("First shutter, late by", "1:00")
    told = here.window.told.text()
    assert told.startswith("This computer slept 2:00. Passed since: first shutter ")
    assert told.endswith(f"{here.clock_of('first_shutter')}.")
    # A tick in time says nothing of the kind.
    here.press("strong")
    assert here.window.told.text() == ""
    here.run_to(here.time_s + 30.0)
    assert here.window.told.text() == ""


def test_the_window_ticks_by_itself(qtbot: QtBot, qapp: QApplication) -> None:
    prepare(qapp)
    store = store_of(DUSK)
    seen = store.outlook("A")
    assert seen is not None
    assert seen.take_off_s is not None
    clock = iter(range(10_000))
    first_s = int(seen.take_off_s) - 100
    window = FieldWindow(store, clock=lambda: float(first_s + next(clock)))
    qtbot.addWidget(window)
    window.show()
    shown = window.left.count.text
    qtbot.waitUntil(lambda: window.left.count.text != shown, timeout=5000)
    window.close()


def test_closed_and_opened_again_it_knows_what_was_done(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s)
    here.press("strong")
    here.window.close()
    again = field()
    again.open(qtbot, here.time_s + 30.0)
    assert again.lead == "First shutter in"
    # Another night, or the other shoot, is another evening.
    again.store.set_active("B")
    assert again.window.log.took_off_s is None
    again.store.set_active("A")
    assert again.window.log.took_off_s == here.time_s


@pytest.mark.parametrize("hours", get_args(Hours))
def test_the_large_figures_of_the_stop_are_hour_and_minute_on_either_clock(
    hours: Hours, field: Callable[..., Field], qtbot: QtBot
) -> None:
    before = manner()
    adopt(Manner(hours=hours))
    try:
        here = field()
        here.open(qtbot, here.seen.press_s - 900.0)
        assert re.fullmatch(r"\d{1,2}:\d\d", here.window.right.stop._text)
    finally:
        adopt(before)


def test_late_on_the_ground_the_stop_counts_from_a_take_off_now(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s - 1.0)
    planned = here.stop
    here.sleep_to(here.seen.take_off_s + 300.0)
    assert here.window.right.lead.text() == "Last frame by, if off now"
    assert here.stop != planned
    here.press("strong")
    assert here.window.right.lead.text() == "Last frame by"


def test_every_deed_has_a_key(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s)
    asked: list[float] = []
    here.window.open_readings = asked.append
    QTest.keyClick(here.window, Qt.Key.Key_1)
    qtbot.waitUntil(lambda: here.window.log.took_off_s is not None)
    QTest.keyClick(here.window, Qt.Key.Key_3)
    qtbot.waitUntil(lambda: here.window.log.lamps_s is not None)
    QTest.keyClick(here.window, Qt.Key.Key_4)
    qtbot.waitUntil(lambda: asked == [here.time_s])
    QTest.keyClick(here.window, Qt.Key.Key_5)
    qtbot.waitUntil(lambda: here.window.log.turned_s is not None)
    for button in here.window.buttons.values():
        assert button.accessibleName()
        assert button.accessibleDescription()


def press_blindly(here: Field) -> None:
    """Hit the keys that press what has the focus."""
    for key in (Qt.Key.Key_Space, Qt.Key.Key_Return):
        QTest.keyClick(here.window.focusWidget() or here.window, key)


def test_a_press_in_the_dark_hits_no_other_button(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    seen = here.seen
    here.begin_the_take(qtbot)
    here.window.buttons["strong"].setFocus()
    here.run_to(seen.press_s + 30.0)
    before = here.window.log
    press_blindly(here)
    assert here.window.log == before


def test_a_flight_that_cannot_be_flown_still_counts_to_the_press(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    store = Store()
    store.open(with_values(site_plan(DUSK), {"shoots.A.conditions.wind_10m_m_s": 25.0}))
    store.settle_now()
    here = field(store=store)
    here.open(qtbot, here.seen.press_s - 61.0)
    assert (here.lead, here.count) == ("First shutter in", "1:01")
    assert here.window.right.unflown.isVisible()
    assert here.window.right.unflown.text() == here.seen.flight.error
    assert not here.window.right.stop.isVisible()


def test_without_a_plan_it_says_so(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field(store=Store())
    here.open(qtbot, 0.0)
    assert "There is no place yet" in here.window.told.text()
    for name in here.window.buttons:
        here.press(name)
    assert here.window.log.took_off_s is None
    here.time_s = store_of(DUSK).outlook("A").press_s - 60.0  # type: ignore[union-attr]
    here.store.open(site_plan(DUSK))
    assert here.window.told.text() == ""
    assert here.lead != ""


State = Callable[[Field], None]


def before(here: Field) -> None:
    """Before the lamps, with the list open."""
    assert here.seen.take_off_s is not None
    here.sleep_to(here.seen.take_off_s - 760.0)


def late(here: Field) -> None:
    assert here.seen.take_off_s is not None
    here.sleep_to(here.seen.take_off_s + 130.0)


def slept(here: Field) -> None:
    """In the air, the press overdue, and told so."""
    here.window.note(took_off_s=here.seen.take_off_s)
    here.sleep_to(here.seen.press_s - 60.0)
    here.sleep_to(here.seen.press_s + 60.0)
    assert here.window.told.text() != ""


def past(here: Field) -> None:
    here.window.note(took_off_s=here.seen.take_off_s, pressed_s=here.seen.press_s)
    assert here.seen.latest_stop_s is not None
    here.sleep_to(here.seen.latest_stop_s + 20.0)


def unflown(here: Field) -> None:
    here.window.note(took_off_s=None, pressed_s=None)
    here.store.edit("empty battery", {"shoots.A.battery_start_percent": 50.0})
    here.store.settle_now()
    here.sleep_to(here.seen.press_s - 300.0)


def not_whole(here: Field) -> list[QWidget]:
    """Which of what has to be seen at once is cut, or has to be scrolled to."""
    left, right, viewport = here.window.left, here.window.right, here.window.area.viewport()
    stop = right.stop if right.stop.isVisible() else right.unflown
    parts: tuple[QWidget, ...] = (
        left.clock, left.lead, left.at, left.count, left.now, left.next, right.lead, stop,
    )  # fmt: skip
    return [part for part in parts if not _stands_whole(part, viewport)]


def _stands_whole(part: QWidget, viewport: QWidget) -> bool:
    room = QRect(part.mapTo(viewport, QPoint(0, 0)), part.size())
    seen = part.isVisible() and viewport.rect().contains(room)
    if not isinstance(part, Text):
        return seen
    if part.hasHeightForWidth():
        return seen and part.height() >= part.heightForWidth(part.width())
    return seen and part.width() >= part.sizeHint().width()


#: One after the other, so that one window shows them all.
STATES: tuple[State, ...] = (before, late, slept, past, unflown)


@pytest.mark.parametrize(
    ("size", "scale"), [((1024, 720), 1.0), ((800, 560), 1.0), ((1280, 800), 2.0)]
)
def test_countdown_next_step_and_stop_are_seen_whole_without_scrolling(
    size: tuple[int, int],
    scale: float,
    field: Callable[..., Field],
    qtbot: QtBot,
    qapp: QApplication,
) -> None:
    here = field()
    here.window.resize(*size)
    here.open(qtbot, here.seen.press_s - 900.0)
    try:
        # On a window that is open, as Ctrl++ does.
        set_text_scale(qapp, scale)
        for state in STATES:
            state(here)
            QApplication.processEvents()
            assert here.window.size().toTuple() == size
            assert here.window.right.unflown.isVisible() == (state is unflown)
            assert not_whole(here) == [], state.__name__
    finally:
        set_text_scale(qapp, 1.0)


def test_at_200_percent_text_the_step_to_come_and_another_are_seen_without_scrolling(
    field: Callable[..., Field], qtbot: QtBot, qapp: QApplication
) -> None:
    here = field()
    here.window.resize(1280, 800)
    here.open(qtbot, here.seen.press_s - 900.0)
    try:
        set_text_scale(qapp, 2.0)
        for state in (late, slept):
            state(here)
            QApplication.processEvents()
            steps, viewport = here.window.left.steps, here.window.area.viewport()
            assert steps.isVisible()
            top = steps.mapTo(viewport, QPoint(0, 0)).y()
            seen = (viewport.height() - top) // (steps.sizeHint().height() // len(steps.rows))
            assert seen >= 2, state.__name__
            assert not all(row.done for row in steps.rows[:seen]), state.__name__
    finally:
        set_text_scale(qapp, 1.0)


def test_it_opens_no_larger_than_the_screen(qtbot: QtBot, qapp: QApplication) -> None:
    prepare(qapp)
    set_text_scale(qapp, 2.0)
    try:
        window = FieldWindow(store_of(DUSK))
        qtbot.addWidget(window)
        room = window.screen().availableSize()
        assert window.size().boundedTo(room) == window.size()
        assert window.minimumSizeHint().boundedTo(room) == window.minimumSizeHint()
    finally:
        set_text_scale(qapp, 1.0)


def test_what_can_still_be_done_comes_into_view_and_gives_way_to_the_steps(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    here.window.resize(800, 480)
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s + 100.0)
    bar = here.window.area.verticalScrollBar()
    here.press("late")
    qtbot.waitUntil(lambda: not here.window.searching, timeout=PATIENCE_MS)
    assert bar.value() > 0
    QTest.keyClick(here.window, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: bar.value() == 0)
    assert here.window.left.pages.currentWidget() is here.window.left.steps


def test_a_long_place_name_leaves_clock_and_night_whole(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    here.open(qtbot, here.seen.press_s - 126.0)
    here.store.edit("name", {"place.name": 'Île d’Öland "Große Öde" & <Bucht> 🌇\n' * 4})
    QApplication.processEvents()
    left = here.window.left
    for part in (left.clock, left.night, left.at):
        assert part.width() >= part.sizeHint().width()
    assert "\n" not in left.place.text()


def test_opened_in_the_take_no_button_waits_for_a_blind_press(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    here.begin_the_take(qtbot)
    here.window.close()
    again = field()
    again.open(qtbot, here.time_s + 60.0)
    before = again.window.log
    press_blindly(again)
    assert again.window.log == before


def test_what_passes_while_the_window_is_closed_is_no_sleep(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    assert here.seen.take_off_s is not None
    here.open(qtbot, here.seen.take_off_s - 30.0)
    here.press("strong")
    here.window.close()
    here.open(qtbot, here.seen.press_s + 60.0)
    assert "slept" not in here.window.told.text()


def test_starting_over_can_be_taken_back(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field()
    here.begin_the_take(qtbot)
    here.run_to(here.seen.last_frame_s + 30.0)
    here.press("strong")
    flown = here.window.log
    here.run_to(here.time_s + 11.0)
    strong = here.window.buttons["strong"]
    assert strong.deed == "Start over"
    here.press("strong")
    assert strong.deed == "Started over"
    assert here.window.log.took_off_s is None
    here.press("strong")
    assert here.window.log == flown


def test_why_there_is_no_flight_is_told_once(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field()
    here.open(qtbot, here.seen.press_s - 300.0)
    unflown(here)
    right = here.window.right
    assert right.unflown.text() == here.seen.flight.error
    assert right.caution.text() not in right.unflown.text() or right.caution.text() == ""
    # A dash is no figure.
    assert not right.spare.isVisible()


def test_dim_gives_off_neither_green_nor_blue_above_red(
    field: Callable[..., Field], qtbot: QtBot
) -> None:
    here = field()
    here.open(qtbot, here.seen.press_s - 126.0)
    assert theme_of(here.window).name == "dim"
    assert "brightness" in here.window.told.text()
    here.press("strong")
    image = here.window.grab().toImage().convertToFormat(QImage.Format.Format_RGB888)
    data = bytes(image.constBits())
    rows = [
        data[y * image.bytesPerLine() : y * image.bytesPerLine() + 3 * image.width()]
        for y in range(image.height())
    ]
    flat = b"".join(rows)
    assert all(r >= g >= b for r, g, b in zip(flat[::3], flat[1::3], flat[2::3], strict=True))
    # Its own theme is stepped and kept without the other windows'.
    here.window.step_theme()
    assert theme_of(here.window).name == "light"
    here.window.close()
    again = field()
    again.open(qtbot, again.seen.press_s)
    assert theme_of(again.window).name == "light"


def test_it_is_light_before_sunset(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field()
    here.open(qtbot, here.seen.night.event.time_s - 600.0)
    assert theme_of(here.window).name == "light"


def test_no_word_of_it_permits(field: Callable[..., Field], qtbot: QtBot) -> None:
    here = field("skreigrunn")
    seen = here.seen
    assert seen.take_off_s is not None
    here.open(qtbot, seen.take_off_s - 100.0)
    said = []
    for time_s in (seen.take_off_s, seen.press_s, seen.last_frame_s + 60.0):
        here.run_to(time_s)
        here.press("strong")
        left, right = here.window.left, here.window.right
        said += [left.lead.text(), left.now.text(), left.next.text(), left.aside.text()]
        said += [right.lead.text(), right.caution.text(), here.window.told.text()]
        said += [row.name + " " + row.note for row in left.steps.rows]
        said += [button.deed for button in here.window.buttons.values()]
    assert [words for words in said if BANNED.search(words)] == []
