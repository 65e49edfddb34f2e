"""The help: every panel and window has a page, every model one with its source."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QUrl
from PySide6.QtGui import QCursor
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app.resources import asset
from app.window import MainWindow
from app.windows.help import TOPICS, HelpWindow, page_text, page_title, topic_in_hand, topic_of
from core.language import languages
from core.manner import OWN_LANGUAGE, Manner, adopt
from tests.app.windows import action, window
from tests.evening import dress
from tests.test_languages import UNSAID
from tests.test_project import JUDGING, SCOLDING

__all__ = ["window"]

MODELS = [topic for topic in TOPICS if page_title(topic).startswith("Model: ")]
OTHER_LANGUAGES = [language for language in languages() if language != OWN_LANGUAGE]


@pytest.fixture(autouse=True)
def in_english() -> Iterator[None]:
    """Leave the process as it was."""
    yield
    adopt(Manner())


def _page_in(language: str, topic: str) -> str:
    adopt(Manner(language=language))
    return page_text(topic)


def _links(page: str) -> list[str]:
    return sorted(re.findall(r"\]\(([^)]*)\)", page))


def _figures(page: str) -> list[str]:
    """Every number but that of the key Pos1, with one decimal mark for every language."""
    return sorted(one.replace(",", ".") for one in re.findall(r"(?<![a-z])\d+(?:[.,]\d+)?", page))


def _sources(page: str) -> set[str]:
    """The authors and years that are named, and the standards with their numbers."""
    named = r"\w+ (?:et al\. )?(?:19|20)\d\d\b|(?:ISO|EN|IEC|CIPA) [\w-]+"
    return set(re.findall(named, " ".join(page.split())))


def _blocks(page: str) -> list[str]:
    """What each paragraph, list and table of a page begins with."""
    begin = (re.match(r"#+ |1\. |\||", block) for block in page.split("\n\n"))
    return [match[0] for match in begin if match]


def test_every_page_is_listed_once_and_every_link_leads_to_one() -> None:
    files = {path.stem for path in asset("help").glob("*.md")} - {"README"}
    assert files == set(TOPICS)
    assert len(TOPICS) == len(set(TOPICS))
    for topic in TOPICS:
        links = re.findall(r"\]\(([^)]*)\)", page_text(topic))
        assert set(links) <= files, topic


@pytest.mark.parametrize("topic", MODELS)
def test_a_model_names_a_source_and_the_pages_lead_to_it(topic: str) -> None:
    named = r"(19|20)\d\d|ISO \d+|EN \d+|no\s+source"
    assert re.search(named, page_text(topic))
    assert any(f"({topic})" in page_text(one) for one in TOPICS)


@pytest.mark.parametrize("topic", TOPICS)
def test_no_page_permits_or_scolds(topic: str) -> None:
    for line in page_text(topic).splitlines():
        assert not JUDGING.search(line), line
        assert not SCOLDING.search(line), line


def test_each_panel_has_the_page_that_is_about_it(window: MainWindow) -> None:
    sheet = window.sheet
    expected: list[tuple[QWidget, str]] = [
        (window.verdict, "verdict"),
        (window.night.date, "night"),
        (window.night.path.sketch, "path"),
        (window.shoot.rows["iso"].slider, "settings"),
        (window.findings.rows[0], "findings"),
        (sheet.tone, "light"),
        (sheet.slack, "starts"),
        (sheet.frames[1], "frames"),
        (sheet.flights[0], "flight"),
        (sheet.charge, "charge"),
    ]
    assert [topic_of(widget) for widget, _ in expected] == [topic for _, topic in expected]


def test_f1_opens_the_page_of_what_is_in_hand(window: MainWindow) -> None:
    QCursor.setPos(window.mapToGlobal(window.rect().bottomRight()) + window.rect().bottomRight())
    window.shoot.rows["iso"].slider.setFocus()
    assert topic_in_hand(window) == "settings"
    action(window, "Explain what is in hand").trigger()
    shown = window.beside.help("charge")
    assert shown.topic == "charge"
    assert "battery" in shown.page.toPlainText()
    shown.page.anchorClicked.emit(QUrl("battery"))
    assert shown.topic == "battery"
    shown.page.anchorClicked.emit(QUrl("https://example.org"))
    assert shown.topic == "battery"


def test_a_window_beside_has_its_own_page(window: MainWindow) -> None:
    details = window.beside.details()
    assert topic_of(details.rows["craft.rated_min"]) == "details"


def test_each_language_of_the_program_has_every_page_and_no_other() -> None:
    translated = {path.name for path in asset("help").iterdir() if path.is_dir()}
    assert translated == set(OTHER_LANGUAGES)
    for language in OTHER_LANGUAGES:
        assert {path.stem for path in asset(f"help/{language}").iterdir()} == set(TOPICS)


@pytest.mark.parametrize("language", OTHER_LANGUAGES)
@pytest.mark.parametrize("topic", TOPICS)
def test_a_translated_page_says_what_the_english_one_does(topic: str, language: str) -> None:
    english, translated = _page_in(OWN_LANGUAGE, topic), _page_in(language, topic)
    assert translated != english
    assert _blocks(translated) == _blocks(english)
    assert _links(translated) == _links(english)
    assert _figures(translated) == _figures(english)
    assert _sources(translated) == _sources(english)
    assert translated.count("**") == english.count("**")


@pytest.mark.parametrize("language", OTHER_LANGUAGES)
@pytest.mark.parametrize("topic", TOPICS)
def test_no_translated_page_permits_or_scolds(topic: str, language: str) -> None:
    for line in _page_in(language, topic).splitlines():
        assert not UNSAID[language].search(line), line


def test_the_help_reads_in_the_language_of_the_pilot(qtbot: QtBot) -> None:
    adopt(Manner(language="de"))
    shown = HelpWindow()
    qtbot.addWidget(shown)
    shown.show_topic("charge")
    current = shown.list.currentItem()
    assert current is not None
    assert current.text() == "Ladung"
    assert "Die Uhr hat Vorrang." in shown.page.toPlainText()
    shown.page.anchorClicked.emit(QUrl("battery"))
    assert shown.page.toPlainText().startswith("Modell: Akku")


def test_a_link_is_told_by_a_line_beneath_and_not_by_its_colour_alone(qtbot: QtBot) -> None:
    """WCAG 2.2, 1.4.1 Use of Color; in the dim theme a link has nearly the text's own."""
    dress()
    shown = HelpWindow()
    qtbot.addWidget(shown)
    shown.show_topic("charge")
    cursor = shown.page.document().find("battery.")
    cursor.setPosition(cursor.selectionStart() + 1)
    assert cursor.charFormat().isAnchor()
    assert cursor.charFormat().fontUnderline()


def test_a_page_that_a_language_lacks_is_shown_in_english() -> None:
    english = page_text("charge")
    assert _page_in("eo", "charge") == english


@pytest.mark.parametrize("language", [OWN_LANGUAGE, *OTHER_LANGUAGES])
def test_every_title_has_room_in_the_list(language: str, qtbot: QtBot) -> None:
    dress()  # the scroll bar's width is the style's
    adopt(Manner(language=language))
    shown = HelpWindow()
    qtbot.addWidget(shown)
    shown.show()
    room = shown.list.viewport().width() - 2 * shown.list.fontMetrics().averageCharWidth()
    for topic in TOPICS:
        assert shown.list.fontMetrics().horizontalAdvance(page_title(topic)) <= room, topic
