"""What a pilot sees that no catalogue could translate: `python -m tests.unsaid`, offscreen.

Every text of the program is put in brackets by a catalogue made for this, before anything is
imported. Then every window and state is shown, and what is painted, written in a widget or told
to a screen reader is collected. Letters outside the brackets are no text of a catalogue: they
must be the pilot's own words, figures with their units, or names that all languages share.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING
from unittest.mock import patch

from core import language
from core.manner import Manner, adopt

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

OPEN, CLOSE = "\u27e6", "\u27e7"
_INNERMOST = re.compile(f"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}")
#: Units, symbols and names that are written alike in every language of the program.
_SHARED = re.compile(
    r"\b(?:[AB]|ISO|ND|UTC|UT|EV|GPS|JPEG|MP4|f|fps|px|min|h|s|ms|m|km|mm|kg|lx|cd|MB|GB|Hz|mired|K|"
    r"Duskwright|duskplan|AOD|E|N|S|W|rms|Ctrl|Shift|Alt|Esc|F1|σ)\b|m/s|m²|°C|°F|[\w.]+_[\w.]+|\S*[/\\]\S*"
)
#: Zones; languages, each by its own name; what the states type; an action of pyqtgraph that
#: no menu shows.
_OWN = {
    "CET", "CEST", "EET", "EEST", "GMT", "WET", "WEST", "Deutsch", "English", "North Mole",
    "half a lot", "Export...",
}  # fmt: skip


class _Brackets:
    """A catalogue that puts each text in brackets."""

    def gettext(self, text: str) -> str:
        return f"{OPEN}{text}{CLOSE}"

    def pgettext(self, _meaning: str, text: str) -> str:
        return f"{OPEN}{text}{CLOSE}"

    def ngettext(self, one: str, many: str, count: int) -> str:
        return f"{OPEN}{one if count == 1 else many}{CLOSE}"


def unsaid(text: str, own: frozenset[str]) -> list[str]:
    """The words of a text that came from no catalogue and are not the pilot's own."""
    # What was cut for want of room has lost its closing bracket.
    text = re.sub(f"{OPEN}[^{CLOSE}]*…", " ", text)
    before = None
    while text != before:
        before, text = text, _INNERMOST.sub(" ", text)
    for name in sorted(own, key=len, reverse=True):
        text = text.replace(name, " ")
    return re.findall(r"[^\W\d_]{2,}", _SHARED.sub(" ", text))


def main() -> int:
    """Print what is left, each once; 1 where anything is."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    adopt(Manner(language="de", dates="de_DE"))
    found: dict[str, str] = {}
    with patch.object(language, "_catalogue", lambda _language: _Brackets()):
        own = _own_words()
        for state, text in _seen():
            if words := unsaid(text, own):
                found.setdefault(" ".join(words), f"{state}: {text}")
    for left, where in sorted(found.items()):
        print(f"{left}\t{where!r}")
    return 1 if found else 0


def _own_words() -> frozenset[str]:
    """Names in the ready plans, of months and days, and of time zones."""
    from babel.dates import get_day_names, get_month_names

    from app.resources import demo_sites
    from core.planfile import load

    names = {load(path).place.name for path in demo_sites()} | {path.stem for path in demo_sites()}
    for width in ("wide", "abbreviated"):
        for context in ("format", "stand-alone"):
            names |= set(get_month_names(width, context, "de_DE").values())
            names |= set(get_day_names(width, context, "de_DE").values())
    return frozenset(names | _OWN)


def _seen() -> Iterator[tuple[str, str]]:
    """Every text of every state, as painted, written or told."""
    from PySide6.QtGui import QPainter, QTextLayout

    from app.widgets import stamp

    painted: list[str] = []

    def noting(real: Callable[..., object]) -> Callable[..., object]:
        def paint(*words: object) -> object:
            painted.extend(word for word in words if isinstance(word, str))
            return real(*words)

        return paint

    with (
        patch.object(QPainter, "drawText", noting(QPainter.drawText)),
        patch.object(stamp, "QTextLayout", noting(QTextLayout)),
    ):
        from tests.render import prepared_application, states

        prepared_application()
        for name, widget in states():
            painted.clear()
            widget.show()
            widget.grab()
            for text in (*painted, *_written(widget)):
                yield name, text
            widget.window().hide()


def _written(widget: QWidget) -> Iterator[str]:
    """What a widget and those inside it hold and tell."""
    from PySide6.QtGui import QAction
    from PySide6.QtWidgets import QComboBox, QLineEdit, QWidget

    for one in (widget, *widget.findChildren(QWidget)):
        yield from (one.accessibleName(), one.accessibleDescription(), one.toolTip())
        yield one.windowTitle()
        text = getattr(one, "text", None)
        if callable(text):
            yield str(text())
        if isinstance(one, QLineEdit):
            yield one.placeholderText()
        if isinstance(one, QComboBox):
            yield from (one.itemText(place) for place in range(one.count()))
    yield from (action.text() for action in widget.findChildren(QAction))


if __name__ == "__main__":
    sys.exit(main())
