"""Names as they stand beside a figure, within a sentence or at its head."""

from __future__ import annotations

from typing import Final

from core.language import say, say_as
from core.manner import manner
from core.night import EventName, MomentName
from core.words import MINUS

VISIT_NAMES: Final[dict[str, str]] = {
    "first": say_as("visit", "first"), "repeat": say_as("visit", "repeat"),
}  # fmt: skip
#: Short, for a column and an axis.
MOMENT_NAMES: Final[dict[MomentName, str]] = {
    "sunset": say_as("moment", "sunset"),
    "sunrise": say_as("moment", "sunrise"),
    "civil": say("sun {minus}6°", minus=MINUS),
    "nautical": say("sun {minus}12°", minus=MINUS),
    "astronomical": say("sun {minus}18°", minus=MINUS),
    "moonrise": say_as("moment", "moonrise"),
    "moonset": say_as("moment", "moonset"),
}
EVENT_NAMES: Final[dict[EventName, str]] = {
    "sunset": MOMENT_NAMES["sunset"],
    "sunrise": MOMENT_NAMES["sunrise"],
    "midnight": say_as("moment", "solar midnight"),
    "noon": say_as("moment", "solar noon"),
}
#: Languages that give every noun a capital, wherever it stands.
_CAPITAL_NOUNS: Final = frozenset({"de", "lb"})


def within(name: str) -> str:
    """A name as it stands within a sentence: 'interval' for 'Interval', but 'ISO', 'f-number'."""
    if manner().language in _CAPITAL_NOUNS or name[1:2].isupper():
        return name
    return name.lower()


def leading(words: str) -> str:
    """Words as they stand at the head of a sentence."""
    return words[:1].upper() + words[1:]
