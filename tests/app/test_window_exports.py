"""Writing the evening from the window's menus."""

from __future__ import annotations

import json
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot

from app.exports import CARD_FILTERS, EXPORT_FILTERS
from app.window import MainWindow
from app.windows.field import FieldWindow
from tests.app.windows import TWO_TAKES, action, made_window, settle


@pytest.fixture
def window(qtbot: QtBot, qapp: QApplication) -> MainWindow:
    return made_window(qtbot, qapp, TWO_TAKES)


class Dialog:
    """Answers in the place of the system's dialog, and keeps what it was asked."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, name: str, chosen: str = "") -> None:
        self.asked: tuple[object, ...] = ()
        monkeypatch.setattr(QFileDialog, "getSaveFileName", self._answer)
        self._answered = name, chosen

    def _answer(self, *asked: object) -> tuple[str, str]:
        self.asked = asked
        return self._answered


@pytest.mark.parametrize("suffix", EXPORT_FILTERS.values())
def test_an_export_is_written_for_the_active_shoot(
    suffix: str, window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / f"evening.{suffix}"
    Dialog(monkeypatch, str(path))
    window.store.set_active("B")
    action(window, "Export…").trigger()
    assert path.stat().st_size > 500
    assert window.notice.text() == ""
    if suffix == "json":
        assert json.loads(path.read_bytes())["shoot"]["name"] == "B"


def test_a_name_without_an_end_gets_that_of_the_filter(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chosen = next(words for words, name in EXPORT_FILTERS.items() if name == "gpx")
    dialog = Dialog(monkeypatch, str(tmp_path / "evening v1.2"), chosen)
    action(window, "Export…").trigger()
    assert [path.name for path in tmp_path.iterdir()] == ["evening v1.2.gpx"]
    assert str(dialog.asked[2]).endswith(".ics")
    # The next file is asked for in the same folder.
    action(window, "Field card…").trigger()
    assert str(dialog.asked[2]).startswith(str(tmp_path))


def test_a_file_that_the_dialog_did_not_ask_about_is_not_lost(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chosen = next(words for words, name in EXPORT_FILTERS.items() if name == "csv")
    mine = tmp_path / "evening.csv"
    mine.write_text("mine", "utf-8")
    Dialog(monkeypatch, str(tmp_path / "evening"), chosen)
    action(window, "Export…").trigger()
    assert mine.read_text("utf-8") == "mine"
    assert window.notice.text().startswith('"evening.csv" is there already and stays as it is')
    # By its whole name the dialog asked.
    Dialog(monkeypatch, str(mine), chosen)
    action(window, "Export…").trigger()
    assert mine.read_text("utf-8").startswith("index,")


def test_a_hard_place_name_is_suggested_as_a_name_that_can_be_written(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    dialog = Dialog(monkeypatch, "")
    for name in ('Große "Öde"/Bucht:\n🌇\x07', "🌇" * 100, "..", "\x00"):
        window.store.edit("name", {"place.name": name})
        action(window, "Export…").trigger()
        suggested = Path(str(dialog.asked[2])).name
        (tmp_path / suggested).write_bytes(b"")
        assert not set('/\\:*?"<>|\n\x07') & set(suggested)
    assert any(path.name.startswith("Große Öde Bucht 🌇 ") for path in tmp_path.iterdir())


@pytest.mark.parametrize("chosen", CARD_FILTERS)
def test_the_card_is_written_for_phone_and_paper(
    chosen: str, window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Dialog(monkeypatch, str(tmp_path / "card"), chosen)
    action(window, "Field card…").trigger()
    (path,) = tmp_path.iterdir()
    assert path.suffix == f".{CARD_FILTERS[chosen]}"
    if path.suffix == ".pdf":
        width = round(pdfium.PdfDocument(path)[0].get_size()[0])
        assert width == (612 if "Letter" in chosen else 595)
    else:
        assert "Montevaro on the Hill" in path.read_text("utf-8")


def test_a_folder_that_is_gone_is_told_in_one_sentence(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Dialog(monkeypatch, str(tmp_path / "gone" / "card.pdf"))
    action(window, "Field card…").trigger()
    said = window.notice.text()
    assert said.startswith('"card.pdf" was not written: its folder is not there')
    assert said.endswith("choose another folder.")


def test_nothing_is_written_where_the_pilot_leaves_or_there_is_no_plan(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Dialog(monkeypatch, "")
    action(window, "Export…").trigger()
    assert list(tmp_path.iterdir()) == []
    window.store.open(None)
    settle(window)
    assert not action(window, "Export…").isEnabled()
    assert not action(window, "Field card…").isEnabled()
    assert not action(window, "Before take-off and on site…").isEnabled()


def test_the_field_window_opens_from_the_menu(window: MainWindow, qtbot: QtBot) -> None:
    field = action(window, "Before take-off and on site…")
    assert field.shortcut().toString() == "Ctrl+F"
    field.trigger()
    opened = window.beside.get(FieldWindow)
    assert opened is not None
    qtbot.waitUntil(opened.isVisible)
    assert opened.left.lead.text() != ""
    window.beside.close()
