"""The help: every panel and window has a page, every model one with its source."""

from __future__ import annotations

import re

import pytest
from PySide6.QtCore import QUrl
from PySide6.QtGui import QCursor
from PySide6.QtWidgets import QWidget

from app.resources import asset
from app.window import MainWindow
from app.windows.help import TOPICS, page_text, page_title, topic_in_hand, topic_of
from tests.app.windows import action, window
from tests.test_project import JUDGING, SCOLDING

__all__ = ["window"]

MODELS = [topic for topic in TOPICS if page_title(topic).startswith("Model: ")]


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
