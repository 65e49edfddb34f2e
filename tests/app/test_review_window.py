"""The review of a take in its window: measured behind it, told, learned, taken back."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from app.reviewed import tracks
from app.reviewed.picture import review_picture
from app.sheet.labels import Box
from app.store import Store
from app.theme import set_text_scale
from app.widgets.text import Text
from app.windows.review import ReviewWindow
from core import manner
from core.edit import with_values
from core.manner import Manner
from core.plan import Plan
from tests.app.panes import type_into
from tests.app.windows import is_reached_by_tab
from tests.dusk import december_plan
from tests.practice.take import write_take
from tests.practice.truth import Handling, Lasting, Tonight, Truth

#: Few frames, as the window is tried and not the review.
PLAN = with_values(
    december_plan(camera__aspect="4:3"),
    {"shoots.A.clip_length_s": 2.0, "shoots.A.interval_s": 12.0},
)
TRUTH = Truth(Lasting(level_stops=0.9), Tonight(), Handling(missing=(7,)))

pytestmark = pytest.mark.usefixtures("plain_looks")


@pytest.fixture(scope="module")
def stills(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of stills of the plan's take: all of it 0.9 stop bright, frame 8 missing."""
    folder = tmp_path_factory.mktemp("stills")
    write_take(folder, PLAN, TRUTH, 5)
    return folder


@pytest.fixture
def store() -> Store:
    """A store with the plan of the take."""
    store = Store()
    store.open(PLAN)
    return store


@pytest.fixture
def window(qtbot: QtBot, store: Store) -> Iterator[ReviewWindow]:
    """The window, shown."""
    window = ReviewWindow(store)
    qtbot.addWidget(window)
    with qtbot.waitExposed(window):
        window.show()
    yield window
    window.close()


def measured(qtbot: QtBot, window: ReviewWindow, stills: Path) -> None:
    """Let the window measure a folder."""
    window.measure(stills)
    qtbot.waitUntil(lambda: window.measured is not None, timeout=60_000)


def point_at(window: ReviewWindow, place: QPoint) -> None:
    """Move the pointer over the sheet."""
    at = QPointF(place)
    none, keys = Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier
    moved = QMouseEvent(QEvent.Type.MouseMove, at, at, none, none, keys)
    QApplication.sendEvent(window.sheet, moved)


def plan_of(store: Store) -> Plan:
    """The plan as it stands."""
    assert store.plan is not None
    return store.plan


def test_a_take_is_measured_told_learned_and_taken_back(
    qtbot: QtBot, window: ReviewWindow, store: Store, stills: Path, tmp_path: Path
) -> None:
    window.plan_file = lambda: tmp_path / "quay.duskplan"
    assert window.choose_button.isVisible()
    measured(qtbot, window, stills)
    seen = window.measured
    assert seen is not None
    assert seen.seen.missing == (7,)
    assert "start" in window.told.text()
    told = re.match(r"Land ([\d.]+) stops? brighter than expected", window.told.text())
    assert told is not None
    assert float(told[1]) == pytest.approx(0.9, abs=0.25)
    said = [one.accessibleName() for one in window.column.findChildren(type(window.column.drift))]
    assert said == ["Drift from the planned path"]
    rows = window.column.teaches.rows
    assert [cell.text for cell in rows[0]] == ["what", "before", "after", "unit"]
    assert rows[1][0].text == "ambient light"
    QTest.mouseClick(window.column.learn, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bool(plan_of(store).learned), timeout=20_000)
    learned = {item.name: item.value for item in plan_of(store).learned}
    assert learned["level_stops"] > 0.2
    assert store.undo_stack.undoText() == "learn from a take"
    assert not window.column.learn.isEnabled()
    (table,) = tmp_path.glob("quay.*.csv")
    assert len(table.read_text("utf-8").splitlines()) == 1 + len(seen.seen.frames)
    (take,) = plan_of(store).takes
    assert take.summary is not None
    assert take.summary.table == table.name
    store.undo_stack.undo()
    assert plan_of(store) == PLAN
    assert window.column.learn.isEnabled()


def test_the_frame_under_the_pointer_is_told(
    qtbot: QtBot, window: ReviewWindow, stills: Path
) -> None:
    measured(qtbot, window, stills)
    window.grab()
    before = window.about.text()
    point_at(window, window.sheet.rect().center())
    assert window.about.text().startswith("frame ")
    point_at(window, QPoint(2, 40))
    assert window.about.text() == before


def test_a_take_that_is_shown_reads_in_the_manner_that_is_chosen(
    qtbot: QtBot, window: ReviewWindow, store: Store, stills: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    measured(qtbot, window, stills)
    window.grab()
    point_at(window, window.sheet.rect().center())
    assert "\N{NARROW NO-BREAK SPACE}pm" not in window.about.text()
    monkeypatch.setattr(manner, "_of_process", Manner(hours="12"))
    store.write_anew()
    window.grab()
    point_at(window, window.sheet.rect().center())
    assert "\N{NARROW NO-BREAK SPACE}pm" in window.about.text()


def test_charges_that_were_noted_teach_the_power_of_the_craft(
    qtbot: QtBot, window: ReviewWindow, stills: Path
) -> None:
    measured(qtbot, window, stills)
    first, last = window.column.charges
    for row, text in ((first, "93 %"), (last, "52")):
        row.field.setText(text)
        row.take(text)
    qtbot.waitUntil(
        lambda: any(row[0].text == "power" for row in window.column.teaches.rows), timeout=20_000
    )
    (power,) = (row for row in window.column.teaches.rows if row[0].text == "power")
    # A craft draws a few hundredths more or less: with one digit all would look alike.
    assert power[1].text.startswith(f"{PLAN.craft.practice_factor:.2f} ± 0.")
    assert power[2].text != power[1].text
    last.take("98")
    qtbot.waitUntil(lambda: "98 %" in window.refusal, timeout=20_000)
    last.take("much")
    assert "no charge" in last.refusal


def test_charges_typed_once_a_take_is_learned_say_how_they_take_effect(
    qtbot: QtBot, window: ReviewWindow, store: Store, stills: Path
) -> None:
    measured(qtbot, window, stills)
    window.learn()
    qtbot.waitUntil(lambda: bool(plan_of(store).learned), timeout=20_000)
    for row, text in zip(window.column.charges, ("93", "52"), strict=True):
        row.take(text)
    assert "undo that, then learn from it with its charges" in window.refusal
    store.undo_stack.undo()
    window.learn()
    qtbot.waitUntil(lambda: bool(plan_of(store).learned), timeout=20_000)
    assert "practice_factor" in {item.name for item in plan_of(store).learned}


def test_a_take_is_learned_into_the_plan_as_it_became_meanwhile(
    qtbot: QtBot, window: ReviewWindow, store: Store, stills: Path
) -> None:
    measured(qtbot, window, stills)
    window.learn()
    store.edit("start", {"shoots.A.start_after_event_min": 31.0})
    qtbot.waitUntil(lambda: bool(plan_of(store).learned), timeout=20_000)
    assert plan_of(store).shoots.A.start_after_event_min == 31.0


def test_a_plan_that_changed_since_is_not_taught_by_old_measures(
    qtbot: QtBot, window: ReviewWindow, store: Store, stills: Path
) -> None:
    measured(qtbot, window, stills)
    store.edit("start", {"shoots.A.start_after_event_min": 31.0})
    assert window.column.learn.isEnabled()  # what the stills show hangs on no later start
    store.edit("height", {"path.stations.0.up_m": 40.0})
    assert not window.column.learn.isEnabled()
    assert window.refusal == "The plan has changed since: measure the stills again."
    window.learn()
    assert not plan_of(store).takes


def test_a_folder_without_a_take_is_told_in_one_sentence(
    qtbot: QtBot, window: ReviewWindow, tmp_path: Path
) -> None:
    (tmp_path / "notes.jpg").write_text("no picture")
    window.measure(tmp_path)
    qtbot.waitUntil(lambda: bool(window.refusal), timeout=60_000)
    assert window.refusal.endswith(".")
    assert window.measured is None
    assert window.choose_button.isEnabled()


def test_a_folder_is_chosen_or_dropped(
    window: ReviewWindow, stills: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *_: str(stills))
    asked: list[Path] = []
    monkeypatch.setattr(window, "measure", asked.append)
    QTest.mouseClick(window.choose_button, Qt.MouseButton.LeftButton)
    dropped = QMimeData()
    dropped.setUrls([QUrl.fromLocalFile(str(stills))])
    buttons, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    at, action = QPointF(600.0, 400.0), Qt.DropAction.CopyAction
    entered = QDragEnterEvent(at.toPoint(), action, dropped, buttons, keys)
    QApplication.sendEvent(window, entered)
    assert entered.isAccepted()
    QApplication.sendEvent(window, QDropEvent(at, action, dropped, buttons, keys))
    assert asked == [stills, stills]


def test_a_draft_of_the_clip_is_written_and_never_replaced(
    qtbot: QtBot,
    window: ReviewWindow,
    stills: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    measured(qtbot, window, stills)
    target = tmp_path / "draft.mp4"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_, **__: (str(target), ""))
    QTest.mouseClick(window.column.draft, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "written" in window.column.drafted.text(), timeout=60_000)
    assert target.stat().st_size > 10_000
    held = target.read_bytes()
    QTest.mouseClick(window.column.draft, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "is there already" in window.column.drafted.text(), timeout=60_000)
    assert target.read_bytes() == held


def test_closing_leaves_what_is_under_way(window: ReviewWindow, stills: Path) -> None:
    window.measure(stills)
    window.close()
    window.show()
    assert window.choose_button.isEnabled()
    assert window.told.text().startswith("Which folder")


def test_a_charge_that_is_still_being_typed_is_learned_by_one_press(
    qtbot: QtBot, window: ReviewWindow, store: Store, stills: Path
) -> None:
    measured(qtbot, window, stills)
    first, last = window.column.charges
    type_into(first, "93")
    type_into(last, "52")
    QTest.mouseClick(window.column.learn, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bool(plan_of(store).learned), timeout=20_000)
    assert "practice_factor" in {item.name for item in plan_of(store).learned}


def test_a_charge_at_one_end_or_one_not_understood_is_not_passed_over(
    qtbot: QtBot, window: ReviewWindow, store: Store, stills: Path
) -> None:
    measured(qtbot, window, stills)
    type_into(window.column.charges[0], "93")
    window.learn()
    assert "at one end of the take only" in window.refusal
    type_into(window.column.charges[1], "much")
    window.learn()
    assert "not understood" in window.refusal
    assert not plan_of(store).learned


def test_charges_go_with_another_take_and_stay_with_the_same(
    qtbot: QtBot, window: ReviewWindow, stills: Path, tmp_path: Path
) -> None:
    measured(qtbot, window, stills)
    for row, text in zip(window.column.charges, ("93", "52"), strict=True):
        row.take(text)
    measured(qtbot, window, stills)
    assert window.column.typed_charges == (93.0, 52.0)
    qtbot.waitUntil(
        lambda: any(row[0].text == "power" for row in window.column.teaches.rows), timeout=20_000
    )
    later = Truth(handling=Handling(press_late_s=60.0))
    write_take(tmp_path, PLAN, later, 5)
    measured(qtbot, window, tmp_path)
    assert [row.value for row in window.column.charges] == [None, None]
    assert [row.field.text() for row in window.column.charges] == ["none", "none"]


def test_files_that_are_no_stills_of_the_take_are_named_with_their_reason(
    qtbot: QtBot, window: ReviewWindow, tmp_path: Path
) -> None:
    write_take(tmp_path, PLAN, Truth(handling=Handling(strangers=1, broken=("empty",))), 5)
    measured(qtbot, window, tmp_path)
    assert window.measured is not None
    (broken,), (stranger,) = window.measured.seen.unreadable, window.measured.seen.strangers
    told = [one.text() for one in window.column.findChildren(Text)]
    assert f"{broken.file}: the file is empty" in told
    assert f"{stranger.file}: {stranger.reason}" in told


def test_the_frames_are_told_by_keys_alone(
    qtbot: QtBot, window: ReviewWindow, stills: Path
) -> None:
    measured(qtbot, window, stills)
    window.grab()
    assert is_reached_by_tab(window.sheet)
    for key, number in (
        (Qt.Key.Key_End, 50), (Qt.Key.Key_Left, 49), (Qt.Key.Key_Home, 1), (Qt.Key.Key_Right, 2),
    ):  # fmt: skip
        QTest.keyClick(window.sheet, key)
        assert window.about.text().startswith(f"frame {number} ")


def test_stopping_before_a_frame_was_measured_asks_anew_and_claims_nothing(
    qtbot: QtBot, window: ReviewWindow, stills: Path
) -> None:
    window.measure(stills)
    window.stop()
    qtbot.waitUntil(lambda: not window.stop_button.isVisible(), timeout=60_000)
    assert window.measured is None
    assert window.refusal == ""
    assert window.told.text().startswith("Which folder")


def test_at_twice_the_text_the_charges_keep_their_labels_and_the_window_its_size(
    qtbot: QtBot, qapp: QApplication, window: ReviewWindow, stills: Path
) -> None:
    measured(qtbot, window, stills)
    set_text_scale(qapp, 2.0)
    window.resize(1280, 800)
    qtbot.waitUntil(lambda: window.size().toTuple() == (1280, 800))
    for row in window.column.charges:
        label = next(one for one in row.findChildren(Text) if one.text().startswith("Charge"))
        assert label.width() >= label.fontMetrics().horizontalAdvance(label.text())


def test_no_line_runs_through_words_of_the_plot(
    qtbot: QtBot, window: ReviewWindow, stills: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line where a fault begins is as high as the plot; words that it meets hide it."""
    measured(qtbot, window, stills)
    uprights: list[float] = []
    words: dict[str, tuple[Box, bool]] = {}

    def note_line(_painter: object, _ink: object, x: float, top: float, bottom: float) -> None:
        if bottom - top > 100.0:  # no tick of the clock
            uprights.append(x)

    def note_words(_painter: object, box: Box, text: str, *told: object) -> None:
        words[text] = box, told[-1] is not None

    monkeypatch.setattr(tracks, "draw_vertical", note_line)
    monkeypatch.setattr(tracks, "draw_text", note_words)
    assert window.measured is not None
    window.sheet.show_take(window.measured)
    window.sheet.grab()
    limit = next(text for text in words if text.startswith("burnt above"))
    box, has_chip = words[limit]
    assert any(box.x < x < box.right for x in uprights)
    assert has_chip


def test_a_take_stopped_half_way_says_how_many_of_its_frames_were_measured(
    qtbot: QtBot, window: ReviewWindow, stills: Path
) -> None:
    window.measure(stills)
    # The press comes with the first frames that are told.
    window._progress.told.connect(lambda *_: window.stop())
    qtbot.waitUntil(lambda: not window.stop_button.isVisible(), timeout=60_000)
    seen = window.measured
    assert seen is not None
    assert not seen.seen.complete
    looked = sum(look is not None for look in seen.seen.shown.reviewed.looks)
    assert 0 < looked < len(seen.seen.frames)
    assert window.told.text().startswith(f"Stopped early, after {looked} of 49 frames. ")
    assert review_picture(seen).told == f"{looked} of 50"
