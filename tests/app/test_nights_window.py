"""Many nights in their window: asked, shown, stopped, loaded, written, through real widgets."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from pathlib import Path
from typing import ClassVar

import pytest
import vobject
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from app.shown.nights import COLUMNS, heads
from app.store import Store
from app.theme import set_text_scale
from app.windows.nights import NightsWindow
from core.plan import Plan
from tests.app.panes import click, store_of, type_into
from tests.manynights import nights

FIRST, LAST = dt.date(2026, 10, 8), dt.date(2026, 10, 28)
BANNED = re.compile(
    r"\b(go|no-go|ok|okay|safe|allowed|error|invalid|warning|please)\b|!", re.IGNORECASE
)


@pytest.fixture
def store() -> Store:
    return store_of("corvane_harbour")


@pytest.fixture
def window(qtbot: QtBot, store: Store) -> NightsWindow:
    """The window with three weeks in it, over a change of clocks."""
    made = NightsWindow(store)
    qtbot.addWidget(made)
    made.show()
    made.stop()
    type_range(made, "8 Oct 2026", "28 Oct 2026")
    shown(qtbot, made)
    return made


def type_range(window: NightsWindow, first: str, last: str) -> None:
    for row, text in ((window.first, first), (window.last, last)):
        type_into(row, text)
        QTest.keyClick(row.field, Qt.Key.Key_Return)


def shown(qtbot: QtBot, window: NightsWindow) -> None:
    qtbot.waitUntil(lambda: bool(window.nights), timeout=60_000)


def plan_of(store: Store) -> Plan:
    assert store.plan is not None
    return store.plan


def line(window: NightsWindow, row: int) -> list[str]:
    model = window.table.model()
    return [str(model.index(row, column).data()) for column in range(len(COLUMNS))]


def pick(window: NightsWindow, date: dt.date) -> None:
    """Choose a night in the picture with the mouse."""
    place = [seen.night.date for seen in window.nights].index(date)
    at = QPoint(round(window.year.x_of(place)), window.year.height() // 2)
    QTest.mouseClick(window.year, Qt.MouseButton.LeftButton, pos=at)


def test_it_opens_with_the_year_of_the_active_shoot(qtbot: QtBot, store: Store) -> None:
    window = NightsWindow(store)
    qtbot.addWidget(window)
    window.show()
    assert not window.bar.isVisible()
    assert not window.csv_button.isEnabled()
    assert (window.first.value, window.last.value) == (dt.date(2026, 1, 1), dt.date(2026, 12, 31))
    window.stop()


class _Watched:
    """A pool that tells when it is started and left, and answers nothing."""

    told: ClassVar[list[str]] = []

    def __init__(self, *_made: object) -> None:
        self.told.append("started")

    def submit(self, *_asked: object) -> Future[object]:
        return Future()

    def shutdown(self, **_how: object) -> None:
        self.told.append("left")


def test_a_helper_stands_by_from_the_windows_opening_to_its_end(
    qtbot: QtBot, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.standby.spawned", _Watched)
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    window = NightsWindow(store)
    qtbot.addWidget(window)
    assert _Watched.told == []
    window.show()
    assert _Watched.told == ["started"]
    window.stop()
    window.close()
    assert _Watched.told == ["started", "left"]


def test_the_nights_shown_are_those_of_the_shoot(window: NightsWindow, store: Store) -> None:
    expected = nights(plan_of(store), "A", FIRST, LAST, "dusk")
    assert [(one.night.date, one.best_s) for one in window.nights] == [
        (one.night.date, one.best_s) for one in expected
    ]
    assert window.told.text() == "All 21 nights hold a start for A."


def test_each_night_has_its_line_and_the_clocks_their_day(window: NightsWindow) -> None:
    rows = [line(window, row) for row in range(window.table.model().rowCount())]
    assert len(rows) == len(window.nights)
    changed = [row for row in rows if "clocks are put back 60 min" in row[-1]]
    # European Union directive 2000/84/EC: the last Sunday of October.
    assert [row[0] for row in changed] == ["Sun 25 Oct"]
    picture = window.year.picture
    assert picture is not None
    assert [(one.index, one.forward_h) for one in picture.changes] == [(17, -1.0)]
    said = " ".join(text for row in rows for text in row)
    assert not BANNED.search(said)


def test_any_column_sorts_and_the_chosen_night_stays(window: NightsWindow) -> None:
    pick(window, dt.date(2026, 10, 12))
    header = window.table.horizontalHeader()
    for column, key in enumerate(COLUMNS):
        x = header.sectionViewportPosition(column) + header.sectionSize(column) // 2
        QTest.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=QPoint(min(x, 1200), 8))
        model = window.table.model()
        figures = [
            model.index(row, column).data(Qt.ItemDataRole.UserRole)
            for row in range(model.rowCount())
        ]
        assert figures in (sorted(figures), sorted(figures, reverse=True)), key
        assert window.picked is not None
        assert window.picked.night.date == dt.date(2026, 10, 12)
    assert heads(window.table.model_of_nights.rows)["event"] == "Sunset"


def test_table_and_picture_choose_the_same_night(window: NightsWindow) -> None:
    window.table.setFocus()
    window.table.choose(3)
    QTest.keyClick(window.table, Qt.Key.Key_Down)
    assert window.year.at == 4
    window.year.setFocus()
    QTest.keyClick(window.year, Qt.Key.Key_End)
    assert window.table.place_of(window.table.currentIndex()) == len(window.nights) - 1
    assert window.picked is not None
    assert window.picked.night.date == LAST


@pytest.mark.parametrize("name", ["A", "B"])
def test_a_night_loads_at_its_best_start_as_one_undo(
    qtbot: QtBot, window: NightsWindow, store: Store, name: str
) -> None:
    before = plan_of(store)
    pick(window, dt.date(2026, 10, 14))
    seen = window.picked
    assert seen is not None
    click(window.load_buttons["A" if name == "A" else "B"])
    shoot = plan_of(store).shoots.A if name == "A" else plan_of(store).shoots.B
    assert (shoot.date, shoot.twilight) == (dt.date(2026, 10, 14), "dusk")
    outlook = store.outlook("A" if name == "A" else "B")
    assert outlook is not None
    assert outlook.press_s == pytest.approx(seen.best_s, abs=0.01)
    store.settle_now()
    # The list is of the same settings: it stays, and the flag moves.
    assert window.nights

    def flagged() -> list[str]:
        rows = [line(window, row) for row in range(len(window.nights))]
        return [row[0] for row in rows if f"{name} is loaded" in row[-1]]

    qtbot.waitUntil(lambda: flagged() == ["Wed 14 Oct"])
    assert store.undo_stack.undoText() == f"load Wed 14 Oct 2026 into {name}"
    store.undo_stack.undo()
    assert plan_of(store) == before


def sun_deg(store: Store) -> float:
    """The sun's altitude at A's start, from the plan as it stands."""
    outlook = store.outlook("A")
    assert outlook is not None
    return float(outlook.night.sun(outlook.press_s)[0])


def test_the_same_sun_is_found_and_loaded_on_another_date(
    window: NightsWindow, store: Store
) -> None:
    before = sun_deg(store)
    click(window.sun_button)
    assert "Sat 17 Oct 2026" in window.about.text()
    pick(window, dt.date(2026, 10, 27))
    row = next(line(window, row) for row in range(21) if line(window, row)[0] == "Tue 27 Oct")
    told = re.search(r"same sun as 17 Oct at (\d\d:\d\d:\d\d)", row[-1])
    assert told is not None
    assert window.load_buttons["A"].text() == "Load into A, same sun"
    click(window.load_buttons["A"])
    outlook = store.outlook("A")
    assert outlook is not None
    assert outlook.night.date == dt.date(2026, 10, 27)
    assert f"{outlook.night.clock(outlook.press_s + 0.5):%H:%M:%S}" == told[1]
    assert sun_deg(store) == pytest.approx(before, abs=0.002)
    click(window.sun_button)
    assert "same sun" not in " ".join(line(window, 0))
    assert window.load_buttons["A"].text() == "Load into A"


def test_a_sun_that_a_night_does_not_have_is_refused(qtbot: QtBot) -> None:
    """A January start beyond the polar circle: in June the sun never stands as low."""
    store = store_of("skreigrunn")
    window = NightsWindow(store)
    qtbot.addWidget(window)
    window.show()
    window.stop()
    type_range(window, "10 Jun 2027", "12 Jun 2027")
    shown(qtbot, window)
    click(window.sun_button)
    assert "no sun as 8 Jan" in line(window, 1)[-1]
    before = plan_of(store)
    click(window.load_buttons["A"])
    assert re.search(r"does not come to \S+; choose another night", window.refusal)
    assert plan_of(store) == before
    click(window.sun_button)
    assert window.refusal == ""


@pytest.mark.parametrize("way", ["enter", "double-click", "picture"])
@pytest.mark.parametrize("name", ["A", "B"])
def test_a_night_loads_into_the_active_shoot_without_a_button(
    qtbot: QtBot, window: NightsWindow, store: Store, way: str, name: str
) -> None:
    if name == "B":
        store.set_active("B")
        shown(qtbot, window)
    other = plan_of(store).shoots.B if name == "A" else plan_of(store).shoots.A
    window.table.choose(5)
    table = window.table
    if way == "enter":
        table.setFocus()
        QTest.keyClick(table, Qt.Key.Key_Down)
        QTest.keyClick(table, Qt.Key.Key_Return)
    elif way == "double-click":
        at = table.visualRect(table.model().index(6, 0)).center()
        QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
        QTest.mouseDClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
    else:
        at = QPoint(round(window.year.x_of(6)), window.year.height() // 2)
        QTest.mouseDClick(window.year, Qt.MouseButton.LeftButton, pos=at)
    plan = plan_of(store)
    mine, beside = (plan.shoots.A, plan.shoots.B) if name == "A" else (plan.shoots.B, plan.shoots.A)
    assert mine.date == dt.date(2026, 10, 14)
    assert beside == other
    assert f"Enter or a double-click loads into {name}." in window._ways.text()


def test_a_line_that_is_clicked_stays_where_it_is(window: NightsWindow) -> None:
    table = window.table
    index = table.indexAt(QPoint(5, table.viewport().height() // 4))
    before = table.visualRect(index)
    QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=before.center())
    assert table.visualRect(index) == before


def test_nights_of_another_plan_are_never_shown_as_this_ones(
    qtbot: QtBot, window: NightsWindow, store: Store
) -> None:
    first = [one.best_s for one in window.nights]
    store.edit("ISO", {"shoots.A.iso": 200.0})
    # At once, before anything is worked out.
    assert not window.nights
    assert window.table.model().rowCount() == 0
    assert window.year.picture is None
    assert not window.csv_button.isEnabled()
    store.settle_now()
    shown(qtbot, window)
    assert [one.best_s for one in window.nights] != first
    store.set_active("B")
    assert not window.nights


def test_a_dragged_slider_asks_for_the_nights_once(
    qtbot: QtBot, window: NightsWindow, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[object] = []
    ask = window._behind.ask

    def counted(key: Hashable, work: Callable[[], object]) -> None:
        asked.append(key)
        ask(key, work)

    monkeypatch.setattr(window._behind, "ask", counted)
    for iso in (125.0, 160.0, 200.0):
        store.edit("ISO", {"shoots.A.iso": iso})
        window.refresh()
    assert window.told.text() == "The nights of this plan follow."
    shown(qtbot, window)
    assert len(asked) == 1


def test_dawn_is_asked_for_by_the_switch(qtbot: QtBot, window: NightsWindow) -> None:
    click(window.twilight.button(1))
    assert not window.nights
    shown(qtbot, window)
    assert {one.night.twilight for one in window.nights} == {"dawn"}
    assert heads(window.table.model_of_nights.rows)["event"] == "Sunrise"


def test_a_year_tells_how_far_it_is_and_can_be_stopped(qtbot: QtBot, window: NightsWindow) -> None:
    type_range(window, "1 Jan 2026", "31 Dec 2026")
    qtbot.waitUntil(lambda: " of 365" in window.about.text(), timeout=30_000)
    assert window.bar.isVisible()
    click(window.stop_button)
    assert not window.bar.isVisible()
    assert window.told.text() == "Stopped; no nights are shown."
    assert window.again_button.isVisible()
    assert not window.nights
    type_range(window, "8 Oct 2026", "9 Oct 2026")
    shown(qtbot, window)
    assert len(window.nights) == 2


def test_a_range_that_cannot_be_is_refused_in_a_sentence(
    qtbot: QtBot, window: NightsWindow
) -> None:
    type_range(window, "8 Oct 2026", "1 Oct 2026")
    assert "swap the dates" in window.refusal
    assert not window.nights
    type_range(window, "8 Oct 2026", "9 Oct 2026")
    shown(qtbot, window)
    assert window.refusal == ""


def answer_dialog(monkeypatch: pytest.MonkeyPatch, path: Path) -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(path), ""))


def test_the_table_is_written_as_csv(
    window: NightsWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer_dialog(monkeypatch, tmp_path / "autumn")
    click(window.csv_button)
    with (tmp_path / "autumn.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["date"] for row in rows] == [str(one.night.date) for one in window.nights]
    best = [dt.datetime.fromisoformat(row["best"]).timestamp() for row in rows]
    assert best == pytest.approx([one.best_s for one in window.nights], abs=1e-3)


@pytest.mark.parametrize(
    ("typed", "there", "told"),
    [
        ("autumn", "autumn.csv", '"autumn.csv" is there already'),
        ("quay.duskplan", "quay.duskplan", '"quay.duskplan" is a name for a plan'),
    ],
)
def test_no_table_takes_the_place_of_what_was_not_asked_about(
    window: NightsWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    typed: str, there: str, told: str,
) -> None:  # fmt: skip
    (tmp_path / there).write_text("the pilot's own")
    answer_dialog(monkeypatch, tmp_path / typed)
    click(window.csv_button)
    assert window.refusal.startswith(told)
    assert (tmp_path / there).read_text() == "the pilot's own"


def test_the_calendar_is_read_by_another_library(
    window: NightsWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer_dialog(monkeypatch, tmp_path / "autumn.ics")
    click(window.ics_button)
    calendar = vobject.readOne(io.StringIO((tmp_path / "autumn.ics").read_bytes().decode()))
    begins = [event.dtstart.value.timestamp() for event in calendar.vevent_list]
    expected = [one.best_s for one in window.nights if one.best_s is not None]
    assert begins == pytest.approx(expected, abs=0.5)


def test_a_file_that_cannot_be_written_is_one_sentence(
    window: NightsWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer_dialog(monkeypatch, tmp_path / "gone" / "autumn.csv")
    click(window.csv_button)
    assert window.refusal == (
        '"autumn.csv" was not written: its folder is not there, or no file can be made in it; '
        "choose another folder."
    )
    answer_dialog(monkeypatch, tmp_path / "autumn.csv")
    click(window.csv_button)
    assert window.refusal == ""


def test_larger_text_keeps_range_and_nights(
    qtbot: QtBot, qapp: QApplication, window: NightsWindow
) -> None:
    pick(window, dt.date(2026, 10, 20))
    before = window.nights
    try:
        set_text_scale(qapp, 1.5)
        qtbot.waitUntil(lambda: window.year.picture is not None)
        assert window.nights is before
        assert (window.first.value, window.last.value) == (FIRST, LAST)
        assert window.picked is not None
        assert window.picked.night.date == dt.date(2026, 10, 20)
    finally:
        set_text_scale(qapp, 1.0)


def test_without_a_plan_nothing_is_left(window: NightsWindow, store: Store) -> None:
    store.open(None)
    store.settle_now()
    assert not window.nights
