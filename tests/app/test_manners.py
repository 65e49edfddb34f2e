"""The manner of writing, chosen in the menu: units, clock, dates and language."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QKeyCombination, Qt
from PySide6.QtGui import QImage, QKeySequence
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from app.background import Background
from app.looks import prepare
from app.manners import Choices, Desktop, choices, language_of, manner_of, told_by_environment
from app.window import MainWindow
from core.manner import Manner, adopt, manner
from tests.app.windows import TWO_TAKES, close_main_windows, made_window, picture, settle

WINDOWS: dict[str, Callable[[MainWindow], QWidget]] = {
    "main": lambda main: main,
    "best": lambda main: main.beside.best(),
    "compare": lambda main: main.beside.compare(),
    "details": lambda main: main.beside.details(),
    "last night": lambda main: main.beside.last_night(),
    "late": lambda main: main.beside.late(),
    "motion": lambda main: main.beside.moving(),
    "readings": lambda main: main.beside.readings(),
    "review": lambda main: main.beside.review(),
}


@pytest.fixture(autouse=True)
def closed() -> Iterator[None]:
    """Close every window."""
    yield
    close_main_windows()


def _looks(qtbot: QtBot, main: MainWindow, shown: QWidget) -> QImage:
    """What a window shows once all that it asked for is there."""
    settle(main)
    behind = shown.findChildren(Background)
    qtbot.waitUntil(lambda: all(one.asked is None for one in behind), timeout=60_000)
    settle(main)
    return picture(shown)


@pytest.mark.parametrize("name", WINDOWS)
def test_a_window_that_is_open_reads_like_one_opened_afterwards(
    name: str, qtbot: QtBot, qapp: QApplication
) -> None:
    main = made_window(qtbot, qapp, TWO_TAKES)
    shown = WINDOWS[name](main)
    plain = _looks(qtbot, main, shown)
    for kind, value in (("units", "imperial"), ("hours", "12"), ("dates", "region")):
        main.write_in(kind, value)
    assert (manner().units, manner().hours) == ("imperial", "12")
    changed = _looks(qtbot, main, shown)
    # A review that waits for its folder tells no figure.
    assert (changed == plain) == (name == "review")
    another = made_window(qtbot, qapp, TWO_TAKES)
    fresh = WINDOWS[name](another)
    fresh.resize(shown.size())
    like_new = _looks(qtbot, another, fresh)
    assert changed == like_new


def test_the_nights_are_asked_anew_and_their_axis_has_the_pilots_clock(
    qtbot: QtBot, qapp: QApplication
) -> None:
    main = made_window(qtbot, qapp, TWO_TAKES)
    nights = main.beside.nights()
    qtbot.waitUntil(lambda: len(nights.nights) > 300, timeout=60_000)
    assert "pm" not in nights.year.accessibleDescription()
    main.write_in("hours", "12")
    settle(main)
    qtbot.waitUntil(lambda: len(nights.nights) > 300, timeout=60_000)
    qtbot.waitUntil(lambda: "pm" in nights.year.accessibleDescription(), timeout=60_000)


@pytest.mark.parametrize("kind", ["units", "hours", "dates", "language"])
def test_a_choice_is_kept_and_marked_and_the_desktop_can_be_followed_again(
    kind: str, qtbot: QtBot, qapp: QApplication
) -> None:
    main = made_window(qtbot, qapp, TWO_TAKES)
    value = {"units": "imperial", "hours": "12", "dates": "region", "language": "de"}[kind]
    main.write_in(kind, value)
    assert getattr(choices(), kind) == value
    main.write_in(kind, None)
    assert choices() == Choices()


def test_another_language_waits_for_the_next_start_and_says_so(
    qtbot: QtBot, qapp: QApplication
) -> None:
    main = made_window(qtbot, qapp, TWO_TAKES)
    main.write_in("language", "de")
    assert manner().language == "en"
    assert main.notice.isVisible()
    assert language_of(choices(), "") == "de"


def test_a_plan_is_not_changed_by_the_manner(qtbot: QtBot, qapp: QApplication) -> None:
    main = made_window(qtbot, qapp, TWO_TAKES)
    plan = main.store.plan
    main.write_in("units", "imperial")
    settle(main)
    assert main.store.plan is plan
    assert not main.store.undo_stack.canUndo()
    # A height typed without a unit is in feet now.
    main.beside.details()
    place = main.night.place.fields["place.elevation_m"]
    assert place.text().endswith("ft")


@pytest.mark.parametrize(
    ("here", "told"),
    [
        (Desktop(), Manner()),
        (Desktop("en_US", is_imperial=True, is_twelve_hours=True),
         Manner(units="imperial", hours="12", dates="en_US")),
        (Desktop("en_GB"), Manner(dates="en_GB")),
        (Desktop("de_AT"), Manner(language="de", dates="de_AT")),
    ],
)  # fmt: skip
def test_the_desktop_is_followed_until_something_is_chosen(here: Desktop, told: Manner) -> None:
    assert manner_of(Choices(), here) == told
    assert manner_of(Choices(units="metric", hours="24", dates="plain", language="en"), here) == (
        Manner()
    )


@pytest.mark.parametrize(
    ("environ", "told"),
    [
        # POSIX.1-2017, 8.2: LC_ALL before LC_MESSAGES before LANG; C and POSIX name no language.
        ({"LC_ALL": "C.UTF-8", "LANG": "de_DE.UTF-8"}, ""),
        ({"LC_MESSAGES": "de_AT.UTF-8", "LANG": "en_GB.UTF-8"}, "de_AT"),
        ({"LANG": "de_DE@euro"}, "de_DE"),
        ({"LANG": "POSIX"}, ""),
    ],
)
def test_a_command_speaks_the_language_it_is_run_in(environ: dict[str, str], told: str) -> None:
    assert told_by_environment(environ) == told


def test_a_file_of_choices_that_cannot_be_read_leaves_the_desktop_s(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    del qapp
    for broken in (b"", b"{", b'{"units": "cubits"}', b"[]"):
        (tmp_path / "manner.json").write_bytes(broken)
        monkeypatch.setattr("app.manners._file", lambda: tmp_path / "manner.json")
        assert choices() == Choices()


@pytest.mark.parametrize(("language", "shown"), [("de", "Strg+Umschalt+N"), ("en", "Ctrl+Shift+N")])
def test_keys_have_the_names_that_the_language_has_for_them(
    language: str, shown: str, qapp: QApplication
) -> None:
    for spoken in ("de", language):
        adopt(Manner(language=spoken))
        prepare(qapp)
    keys = QKeySequence("Ctrl+Shift+N")
    assert keys == QKeyCombination(
        Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier, Qt.Key.Key_N
    )
    assert keys.toString(QKeySequence.SequenceFormat.NativeText) == shown
    adopt(Manner())
    prepare(qapp)


def test_another_language_is_told_as_a_note_and_only_where_it_was_kept(
    qtbot: QtBot, qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> None:
    main = made_window(qtbot, qapp, TWO_TAKES)
    main.write_in("language", "de")
    told = [(main.notice.severity, main.notice.text())]

    def refuse(*_given: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("app.manners.write_whole", refuse)
    main.write_in("language", "en")
    told.append((main.notice.severity, main.notice.text()))
    assert [severity for severity, _ in told] == ["note", "stop"]
    assert "started again" in told[0][1]
    assert "was not kept" in told[1][1]
