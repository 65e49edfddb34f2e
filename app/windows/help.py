"""Help: a page for each panel and window, and one for each model with where it comes from."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from PySide6.QtCore import QEvent, QSize, QUrl
from PySide6.QtGui import (
    QCursor,
    QTextBlock,
    QTextBlockFormat,
    QTextCharFormat,
    QTextCursor,
    QTextDocument,
)
from PySide6.QtWidgets import QApplication, QFrame, QHBoxLayout, QListWidget, QTextBrowser, QWidget

from app.resources import asset
from app.theme import BODY_PX, font, px, scale_changes
from app.widgets.roomy import open_at
from core.language import say
from core.manner import manner

#: All pages in the order in which they are read: panels, windows, models.
TOPICS: Final = (
    "start", "keys", "verdict", "night", "path", "light", "starts", "frames", "flight", "charge",
    "settings", "findings", "best", "compare", "field", "late", "lastnight", "readings", "nights",
    "motion", "review", "details",
    "sun", "sky", "ground", "lamps", "exposure", "chance", "energy", "battery", "motionmodel",
    "belief", "reviewmodel",
)  # fmt: skip
_PROPERTY: Final = "help_topic"
_LINE_PERCENT: Final = 118.0


def give_topic(widget: QWidget, topic: str) -> None:
    """Say which page explains a widget and all that is in it."""
    if topic not in TOPICS:
        raise ValueError(topic)
    widget.setProperty(_PROPERTY, topic)


def topic_of(widget: QWidget | None) -> str | None:
    """The page of a widget, or of the nearest around it that has one."""
    while widget is not None:
        topic = widget.property(_PROPERTY)
        if isinstance(topic, str):
            return topic
        widget = widget.parentWidget()
    return None


def topic_in_hand(window: QWidget) -> str:
    """The page of what the pointer is on in a window, else of what has the keyboard."""
    under = QApplication.widgetAt(QCursor.pos())
    if under is not None and under.window() is not window:
        under = None
    return topic_of(under) or topic_of(QApplication.focusWidget()) or topic_of(window) or TOPICS[0]


def page_text(topic: str) -> str:
    """A page as it is written, in Markdown: in the pilot's language where there is one."""
    return _page(topic, manner().language).read_text("utf-8")


def page_title(topic: str) -> str:
    """Its first line."""
    return page_text(topic).splitlines()[0].removeprefix("# ")


def _page(topic: str, language: str) -> Path:
    pages, name = asset("help"), f"{topic}.md"
    translated = pages / language / name
    return translated if translated.is_file() else pages / name


def _set_type(document: QTextDocument) -> None:
    """Give headings the program's own type, and paragraphs the air that Markdown leaves out."""
    block = document.begin()
    while block.isValid():
        cursor, form = QTextCursor(block), block.blockFormat()
        heading = form.headingLevel() > 0
        form.setBottomMargin(px(10 if heading else 8))
        form.setLineHeight(_LINE_PERCENT, QTextBlockFormat.LineHeightTypes.ProportionalHeight.value)
        cursor.setBlockFormat(form)
        _underline_links(block)
        if heading:
            cursor.select(QTextCursor.SelectionType.BlockUnderCursor)
            letters = QTextCharFormat()
            letters.setFont(font(20, 700))
            cursor.mergeCharFormat(letters)
        block = block.next()


def _underline_links(block: QTextBlock) -> None:
    """Tell links by more than their colour."""
    links, parts = [], block.begin()
    while not parts.atEnd():
        part = parts.fragment()
        if part.charFormat().isAnchor():
            links.append((part.position(), part.position() + part.length()))
        parts += 1
    underlined = QTextCharFormat()
    underlined.setFontUnderline(True)
    for first, last in links:
        cursor = QTextCursor(block)
        cursor.setPosition(first)
        cursor.setPosition(last, QTextCursor.MoveMode.KeepAnchor)
        cursor.mergeCharFormat(underlined)


class HelpWindow(QWidget):
    """The list of pages at the left, the page at the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowFlag(self.windowType().Window, on=True)
        self.setWindowTitle(say("Help \N{EN DASH} Duskwright"))
        self.list, self.page = QListWidget(), QTextBrowser()
        self.list.setAccessibleName(say("Pages of the help"))
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.viewport().setAutoFillBackground(False)
        self.list.addItems([page_title(topic) for topic in TOPICS])
        self.list.currentRowChanged.connect(lambda row: self._show(TOPICS[row]))
        self.page.setAccessibleName(say("Page of the help"))
        self.page.setFrameShape(QFrame.Shape.NoFrame)
        self.page.setOpenLinks(False)
        self.page.anchorClicked.connect(self._follow)
        self._row = QHBoxLayout(self)
        self._row.setSpacing(0)
        self._row.addWidget(self.list)
        self._row.addWidget(self.page, 1)
        scale_changes().changed.connect(self._rescale)
        open_at(self, 900, 700)
        self._rescale()
        self.show_topic(TOPICS[0])

    @property
    def topic(self) -> str:
        """The page that is shown."""
        return TOPICS[self.list.currentRow()]

    def show_topic(self, topic: str) -> None:
        """Turn to a page."""
        self.list.setCurrentRow(TOPICS.index(topic))

    def _follow(self, link: QUrl) -> None:
        if link.toString() in TOPICS:
            self.show_topic(link.toString())

    def _show(self, topic: str) -> None:
        self.page.setMarkdown(page_text(topic))
        _set_type(self.page.document())
        self.page.verticalScrollBar().setValue(0)

    def _rescale(self) -> None:
        self._row.setContentsMargins(px(10), 0, 0, 0)
        self.list.setFixedWidth(px(250))
        self.list.setFont(font(BODY_PX))
        for row in range(self.list.count()):
            self.list.item(row).setSizeHint(QSize(0, px(24 if row else 30)))
        self.page.document().setDefaultFont(font(BODY_PX))
        self.page.document().setDocumentMargin(px(20))
        if self.list.currentRow() >= 0:
            self._show(self.topic)

    def changeEvent(self, event: QEvent) -> None:
        """Write the page anew in another theme: its links keep the old one's colour."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and self.list.currentRow() >= 0:
            self._show(self.topic)
