"""Readings on site, through the real window: typed, taken, told, undone."""

from __future__ import annotations

import pytest
from pytestqt.qtbot import QtBot

from app.store import Store
from app.widgets.text import Text
from app.windows.readings import ReadingsWindow
from core.plan import Reading
from tests.app.panes import click, site_plan, store_of, type_into


@pytest.fixture
def store() -> Store:
    return store_of("montevaro_hill")


@pytest.fixture
def window(qtbot: QtBot, store: Store) -> ReadingsWindow:
    made = ReadingsWindow(store)
    qtbot.addWidget(made)
    made.show()
    return made


def test_a_reading_moves_the_starts_and_says_by_how_much(
    window: ReadingsWindow, store: Store
) -> None:
    before = store.plan
    type_into(window.tone, "-0.6")
    click(window.take_button)
    store.settle_now()
    assert store.plan is not None
    assert len(store.plan.readings) == 1
    reading = store.plan.readings[0]
    assert (reading.part, reading.stops, reading.shutter_s) == (
        "street", -0.6, store.plan.shoots.A.shutter_s,
    )  # fmt: skip
    assert "start" in window.moves.text()
    assert "darker" in window.learned.text()
    store.undo_stack.undo()
    assert store.plan == before


def test_a_meters_ev_is_a_reading_too(window: ReadingsWindow, store: Store) -> None:
    # ISO 2720: EV 2 at ISO 100 is 0.5 cd/m2; 1 s at f/1.8 and ISO 100 puts mid-grey at 0.405.
    type_into(window.settings["f_number"], "1.8")
    type_into(window.settings["shutter_s"], "1")
    type_into(window.settings["iso"], "100")
    type_into(window.settings["nd_stops"], "none")
    type_into(window.tone, "EV 2")
    click(window.take_button)
    assert store.plan is not None
    assert store.plan.readings[0].stops == pytest.approx(0.304, abs=0.001)


@pytest.mark.parametrize("text", ["banana", "nan", "1e999", "99", "+40"])
def test_what_is_no_tone_is_said_in_one_sentence_and_changes_nothing(
    window: ReadingsWindow, store: Store, text: str
) -> None:
    before = store.plan
    type_into(window.tone, text)
    click(window.take_button)
    assert store.plan == before
    assert window.tone.refusal.endswith(".")
    assert "Readings" not in window.tone.refusal


def test_an_empty_tone_is_asked_for(window: ReadingsWindow, store: Store) -> None:
    click(window.take_button)
    assert "tone is empty" in window.refusal
    assert store.plan is not None
    assert store.plan.readings == ()


def test_a_reading_can_be_taken_back(window: ReadingsWindow, store: Store) -> None:
    type_into(window.tone, "0.4")
    click(window.take_button)
    store.settle_now()
    assert store.plan is not None
    reading = store.plan.readings[0]
    window.remove(reading)
    assert store.plan.readings == ()


def readings_in(store: Store) -> tuple[Reading, ...]:
    assert store.plan is not None
    return store.plan.readings


def test_a_hurried_double_click_reads_once_and_removes_one(
    window: ReadingsWindow, store: Store
) -> None:
    type_into(window.tone, "0.4")
    for _ in range(2):
        click(window.take_button)
    assert store.plan is not None
    assert len(store.plan.readings) == 1
    assert "in the plan" in window.refusal
    type_into(window.tone, "0.5")
    click(window.take_button)
    first, second = readings_in(store)
    for _ in range(2):
        window.remove(first)
    assert readings_in(store) == (second,)


def test_the_lamps_come_on_when_they_were_seen(window: ReadingsWindow, store: Store) -> None:
    seen = store.outlook("A")
    assert seen is not None
    assert seen.light.lamps_on_s is not None
    seen_s = seen.light.lamps_on_s - 240.0
    type_into(window.lamps, seen.night.clock(seen_s).strftime("%H:%M:%S"))
    click(window.lamps_button)
    now = store.outlook("A")
    assert now is not None
    assert now.light.lamps_on_s == pytest.approx(seen_s, abs=15.0)


def test_what_is_expected_stands_beside_the_tone(window: ReadingsWindow) -> None:
    assert "expected" in window.tone.noted
    window.part.button(2).click()
    assert "expected" in window.tone.noted or "too little sky" in window.tone.noted


def test_the_window_without_a_plan_shows_itself(qtbot: QtBot) -> None:
    empty = ReadingsWindow(Store())
    qtbot.addWidget(empty)
    empty.show()
    assert empty.isVisible()


def test_another_plan_fills_the_fields_anew(
    qtbot: QtBot, window: ReadingsWindow, store: Store
) -> None:
    before = window.time
    store.open(None)
    store.settle_now()
    store.open(site_plan("marrow_bend"))
    store.settle_now()
    # The fields of the plan before are gone, not filled again.
    qtbot.waitUntil(lambda: window.time is not before)
    seen = store.outlook("A")
    assert seen is not None
    expected = seen.night.clock(seen.press_s - 360.0)
    assert window.time.field.text() == expected.strftime("%H:%M:%S")


def test_readings_that_contradict_each_other_are_questioned(
    window: ReadingsWindow, store: Store
) -> None:
    for text in ("3", "-3"):
        window.part.button(1).click()
        type_into(window.tone, text)
        click(window.take_button)
        store.settle_now()
    assert "cannot all be right" in window.learned.text()


@pytest.mark.parametrize("text", ["16:00", "23:59"])
def test_lamps_at_an_unlikely_minute_are_refused_in_the_pilots_words(
    window: ReadingsWindow, store: Store, text: str
) -> None:
    before = store.plan
    type_into(window.lamps, text)
    click(window.lamps_button)
    assert store.plan == before
    assert "give the minute of the first glow" in window.refusal
    assert "on_lx" not in window.refusal


def test_a_dawn_has_no_first_glow(qtbot: QtBot, window: ReadingsWindow, store: Store) -> None:
    def glows() -> bool:
        texts = window.findChildren(Text)
        return any(one.text() == "The lamps just came on" and one.isVisible() for one in texts)

    assert glows()
    store.edit("dawn", {"shoots.A.twilight": "dawn"})
    store.settle_now()
    qtbot.waitUntil(lambda: not glows())
