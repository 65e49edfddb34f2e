"""The plan's file in the main window: what is saved, refused, and asked before it is lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QMenu, QMessageBox
from pytestqt.qtbot import QtBot

from app.menus import places_menu
from app.resources import demo_sites
from app.widgets.buttons import Button
from app.window import MainWindow
from core.planfile import load
from tests.app.windows import (
    TWO_TAKES,
    action,
    drop,
    empty_window,
    main_windows,
    settle,
    window,
)

__all__ = ["empty_window", "window"]


def test_save_and_reopen_gives_an_equal_plan(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.store.edit("ISO", {"shoots.B.iso": 400.0, "place.name": "Mole & Quay"})
    plan, path = window.store.plan, tmp_path / "quay"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))
    assert window.isWindowModified()
    assert window.save()
    assert not window.isWindowModified()
    written = path.with_suffix(".duskplan")
    assert load(written) == plan
    assert written.name in window.windowTitle()
    window.store.open(None)
    window.document.open_copy(TWO_TAKES)
    assert window.store.plan != plan
    recent = action(window, "Open recent").menu()
    assert isinstance(recent, QMenu)
    recent.aboutToShow.emit()
    (last,) = recent.actions()
    last.trigger()
    assert window.document.path == written
    assert window.store.plan == plan


def answer(text: str) -> None:
    """Press a button of the question that is about to be asked."""

    def press() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        next(one for one in box.buttons() if one.text() == text).click()

    QTimer.singleShot(0, press)


@pytest.mark.parametrize(
    ("text", "closes", "saved"),
    [("Save", True, True), ("Lose the changes", True, False), ("Keep editing", False, False)],
)
def test_closing_with_unsaved_changes_asks(
    window: MainWindow, tmp_path: Path, text: str, closes: bool, saved: bool
) -> None:
    path = tmp_path / "plan.duskplan"
    window.document.save(path)
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    answer(text)
    assert window.close() is closes
    assert window.isVisible() is not closes
    assert (load(path).shoots.A.iso == 800.0) is saved


def test_closing_without_changes_asks_nothing(window: MainWindow) -> None:
    assert window.close()


def test_a_save_that_fails_keeps_the_window_open(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = tmp_path / "no such folder" / "plan.duskplan"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(gone), ""))
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    plan = window.store.plan
    answer("Save")
    assert not window.close()
    assert window.store.plan == plan
    assert window.isWindowModified()
    said = window.notice.text()
    assert window.notice.isVisible()
    assert said.startswith("plan.duskplan was not saved: ")
    assert said.endswith("The plan is still open here, unsaved.")


def test_a_file_that_was_changed_meanwhile_is_told_and_kept(
    window: MainWindow, tmp_path: Path
) -> None:
    path = tmp_path / "plan.duskplan"
    window.document.save(path)
    theirs = path.read_bytes() + b"\n"
    path.write_bytes(theirs)
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    assert not window.save()
    assert window.notice.text().startswith("Nothing was saved, because plan.duskplan was changed")
    assert window.notice.text().endswith("The plan is still open here, unsaved.")
    assert window.isWindowModified()
    assert path.read_bytes() == theirs


BAD_FILES = {
    "torn": ("{", "bad.duskplan"),
    "of another kind": ('{"schema": "1.0", "place": 7}', "place"),
    "out of range": (
        '{"schema": "1.0", "place": {"name": "x", "latitude_deg": 95, "longitude_deg": 0}}',
        "place.latitude_deg is 95",
    ),
    "newer": ('{"schema": "2.0"}', "newer version"),
    "missing": (None, "bad.duskplan is not there"),
}


@pytest.mark.parametrize(("text", "expected"), BAD_FILES.values(), ids=BAD_FILES.keys())
def test_a_file_that_cannot_be_opened_is_told_and_the_plan_kept(
    window: MainWindow, tmp_path: Path, text: str | None, expected: str
) -> None:
    path = tmp_path / "bad.duskplan"
    if text is not None:
        path.write_text(text, "utf-8")
    plan = window.store.plan
    window.open_path(path)
    said = window.notice.text()
    assert window.notice.isVisible()
    assert expected in said
    assert said.endswith(".")
    assert "Traceback" not in said
    assert window.store.plan is plan
    assert window.document.path is None
    if text is not None:
        assert path.read_text("utf-8") == text


def test_a_bad_file_in_an_empty_window_keeps_the_question(
    empty_window: MainWindow, tmp_path: Path
) -> None:
    empty_window.open_path(tmp_path / "gone.duskplan")
    assert empty_window.notice.isVisible()
    assert empty_window.store.plan is None


def test_the_notice_goes_when_something_opens(window: MainWindow, tmp_path: Path) -> None:
    window.open_path(tmp_path / "gone.duskplan")
    window.open_path(TWO_TAKES, copy=True)
    assert not window.notice.isVisible()


def test_a_ready_site_opens_in_one_step_from_the_empty_window(empty_window: MainWindow) -> None:
    button = next(
        one for one in empty_window.findChildren(Button) if one.text() == "Open a demo site"
    )
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    settle(empty_window)
    assert empty_window.store.plan == load(demo_sites()[0])
    assert not empty_window.isWindowModified()
    assert not button.isVisible()
    assert empty_window.findings.rows


def test_a_file_that_cannot_be_opened_leaves_no_window_behind(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    window.store.edit("ISO", {"shoots.A.iso": 800.0})
    window.open_path(tmp_path / "gone.duskplan")
    assert "gone.duskplan is not there" in window.notice.text()
    every = QApplication.topLevelWidgets
    qtbot.waitUntil(lambda: [one for one in every() if isinstance(one, MainWindow)] == [window])


def test_a_plan_is_not_replaced_by_a_name_typed_without_its_ending(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    theirs = tmp_path / "quay.duskplan"
    theirs.write_bytes(kept := demo_sites()[0].read_bytes())
    # The dialog asks before it replaces the name that was typed, which is another one.
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(tmp_path / "quay"), ""))
    assert not window.save_as()
    assert window.notice.text().startswith('"quay.duskplan" is there already and stays as it is')
    assert theirs.read_bytes() == kept


def test_a_name_with_a_dot_in_it_still_gets_its_ending(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed = tmp_path / "v1.2 quay"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(typed), ""))
    assert window.save_as()
    assert window.document.path == tmp_path / "v1.2 quay.duskplan"


def test_each_of_several_dropped_files_says_what_is_wrong_with_it(
    window: MainWindow, tmp_path: Path
) -> None:
    (tmp_path / "one.duskplan").write_text("{")
    (tmp_path / "two.duskplan").write_text("[]")
    good = tmp_path / "three.duskplan"
    good.write_bytes(demo_sites()[0].read_bytes())
    drop(window, *sorted(tmp_path.iterdir()))
    assert "one.duskplan" in window.notice.text()
    assert "two.duskplan" in window.notice.text()
    assert any(one.document.path == good for one in main_windows())


def test_recent_places_are_offered_beside_the_name(window: MainWindow, tmp_path: Path) -> None:
    path = tmp_path / "quay & mole.duskplan"
    window.document.save(path)
    menu = places_menu(window)
    texts = [one.text() for one in menu.actions()]
    assert texts[0].startswith("quay && mole")
    assert load(demo_sites()[0]).place.name in texts
    next(one for one in menu.actions() if one.text() == texts[0]).trigger()
    assert window.document.path == path
