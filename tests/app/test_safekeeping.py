"""Several plans in several windows, and what a crash must not take with it."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, Qt
from PySide6.QtGui import QDragEnterEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.resources import demo_sites
from app.window import MainWindow, open_window
from app.windows.review import ReviewWindow
from core.planfile import load, save
from tests.app.windows import (
    TWO_TAKES,
    drop,
    empty_window,
    main_windows,
    settle,
    window,
    without_question,
)

__all__ = ["empty_window", "window"]

#: Changes the ISO of a plan, waits until that is kept, and is killed as it stands.
_CRASH = """
import os, signal, sys
from pathlib import Path
from PySide6.QtWidgets import QApplication
from app.window import open_window
application = QApplication(["duskwright"])
window = open_window(Path(sys.argv[1]))
window.store.edit("ISO", {"shoots.A.iso": 800.0})
window.safekeeping.keep_now()
if "saved" in sys.argv:
    window.save()
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.fixture(autouse=True)
def no_hand_on_the_mouse(monkeypatch: pytest.MonkeyPatch) -> None:
    """What an earlier test left pressed is no hand that drags: nothing is kept under one."""
    monkeypatch.setattr(QApplication, "mouseButtons", lambda: Qt.MouseButton.NoButton)


def crash(plan: Path, *words: str) -> None:
    """Let a process of its own change a plan and be killed."""
    done = subprocess.run([sys.executable, "-c", _CRASH, str(plan), *words], check=False)
    assert done.returncode == -signal.SIGKILL


def own_plan(tmp_path: Path) -> Path:
    """A plan file of the pilot's own."""
    path = tmp_path / "quay.duskplan"
    save(load(TWO_TAKES), path)
    return path


def reopened(qtbot: QtBot, plan: Path | None = None) -> MainWindow:
    """Start the program again, in this process."""
    window = open_window(plan)
    qtbot.addWidget(window, before_close_func=without_question)
    settle(window)
    return window


@pytest.mark.usefixtures("plain_looks")
def test_what_was_not_saved_before_a_crash_is_there_at_the_next_start(
    qtbot: QtBot, tmp_path: Path
) -> None:
    path = own_plan(tmp_path)
    saved = path.read_bytes()
    crash(path)
    assert path.read_bytes() == saved
    window = reopened(qtbot)
    assert window.store.plan is not None
    assert window.store.plan.shoots.A.iso == 800.0
    assert window.document.path == path
    assert window.isWindowModified()
    assert "before this plan was saved" in window.notice.text()
    assert window.store.undo_stack.undoText().startswith("what was not saved at ")
    window.store.undo_stack.undo()
    assert window.store.plan == load(path)
    window.store.undo_stack.redo()
    assert window.save()
    assert load(path).shoots.A.iso == 800.0
    again = reopened(qtbot)
    assert again.store.plan is None


@pytest.mark.usefixtures("plain_looks")
def test_a_crash_after_saving_leaves_nothing_to_take_up(qtbot: QtBot, tmp_path: Path) -> None:
    crash(own_plan(tmp_path), "saved")
    assert reopened(qtbot).store.plan is None


@pytest.mark.usefixtures("plain_looks")
def test_a_file_that_changed_after_the_crash_is_not_written_over(
    qtbot: QtBot, tmp_path: Path
) -> None:
    path = own_plan(tmp_path)
    crash(path)
    path.write_bytes(theirs := path.read_bytes() + b"\n")
    window = reopened(qtbot)
    assert window.store.plan is not None
    assert window.store.plan.shoots.A.iso == 800.0
    assert window.document.path is None
    assert path.read_bytes() == theirs


@pytest.mark.usefixtures("plain_looks")
def test_what_cannot_be_read_is_left_and_told_once(
    qtbot: QtBot, tmp_path: Path, home: Path
) -> None:
    crash(own_plan(tmp_path))
    (kept,) = (home / "state").rglob("plan.duskplan")
    kept.write_bytes(kept.read_bytes()[:100])
    window = reopened(qtbot)
    assert window.store.plan is None
    (left,) = (home / "state").rglob("plan.duskplan")
    assert str(left.parent) in window.notice.text()
    assert not reopened(qtbot).notice.isVisible()


def test_an_open_window_keeps_its_own_changes(qtbot: QtBot, window: MainWindow, home: Path) -> None:
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    qtbot.waitUntil(lambda: any((home / "state").rglob("plan.duskplan")))
    (kept,) = (home / "state").rglob("plan.duskplan")
    assert load(kept) == window.store.plan
    # It is this window's, and no second start takes it.
    assert reopened(qtbot).store.plan is None
    window.store.undo_stack.undo()
    assert not kept.exists()


def test_a_folder_that_was_cleared_away_is_made_again(
    qtbot: QtBot, window: MainWindow, home: Path
) -> None:
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    window.safekeeping.keep_now()
    (kept,) = (home / "state").rglob("plan.duskplan")
    shutil.rmtree(kept.parent)
    window.safekeeping.keep_now()
    (again,) = (home / "state").rglob("plan.duskplan")
    assert load(again) == window.store.plan
    # It is locked as the first was.
    assert reopened(qtbot).store.plan is None


def test_a_second_plan_opens_in_a_window_of_its_own(window: MainWindow, tmp_path: Path) -> None:
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    plan, path = window.store.plan, own_plan(tmp_path)
    window.open_path(path)
    (other,) = (one for one in main_windows() if one is not window)
    assert other.document.path == path
    assert window.store.plan is plan
    window.open_path(path)
    assert len(main_windows()) == 2
    other.store.edit("ISO", {"shoots.B.iso": 400.0})
    assert other.store.undo_stack.count() == 1
    assert window.store.plan is plan


def test_a_ready_site_as_it_came_gives_way(window: MainWindow) -> None:
    window.open_path(demo_sites()[0], copy=True)
    assert main_windows() == [window]
    assert window.store.plan == load(demo_sites()[0])


def test_a_folder_dropped_on_the_window_is_reviewed_as_a_take(
    window: MainWindow, tmp_path: Path, qtbot: QtBot
) -> None:
    drop(window, tmp_path)
    review = window.beside.get(ReviewWindow)
    assert review is not None
    assert review.isVisible()
    qtbot.waitUntil(lambda: bool(review.refusal), timeout=20_000)
    assert main_windows() == [window]


def test_a_plan_file_dropped_on_the_window_opens(empty_window: MainWindow, tmp_path: Path) -> None:
    drop(empty_window, own_plan(tmp_path))
    assert empty_window.document.path == tmp_path / "quay.duskplan"


def test_what_is_no_file_is_not_taken(empty_window: MainWindow) -> None:
    dropped = QMimeData()
    dropped.setText("a sentence")
    entered = QDragEnterEvent(
        empty_window.rect().center(),
        Qt.DropAction.CopyAction,
        dropped,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    QApplication.sendEvent(empty_window, entered)
    assert not entered.isAccepted()
