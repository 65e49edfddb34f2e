"""What the codes of plans and reports are called: 'dusk', 'civil', 'set-up', 'street'.

A code stands in files and is compared; its name is shown.
"""

from __future__ import annotations

from typing import Final

from core.language import say, say_as

_TWILIGHTS: Final = {"dusk": say("dusk"), "dawn": say("dawn")}
_MOMENTS: Final = {
    "sunset": say("sunset"),
    "sunrise": say("sunrise"),
    "civil": say_as("twilight", "civil"),
    "nautical": say_as("twilight", "nautical"),
    "astronomical": say_as("twilight", "astronomical"),
    "moonrise": say("moonrise"),
    "moonset": say("moonset"),
}
_SEGMENTS: Final = {
    "checks": say_as("flight", "checks"),
    "climb": say_as("flight", "climb"),
    "out": say_as("flight", "out"),
    "set-up": say_as("flight", "set-up"),
    "wait": say_as("flight", "wait"),
    "take": say_as("flight", "take"),
    "settle": say_as("flight", "settle"),
    "return climb": say_as("flight", "return climb"),
    "home": say_as("flight", "home"),
    "descent": say_as("flight", "descent"),
    "landing": say_as("flight", "landing"),
}
_PARTS: Final = {"street": say("street"), "land": say("land"), "sky": say("sky")}
_SUBJECTS: Final = {
    "cars": say("cars"),
    "cyclists": say("cyclists"),
    "people": say("people"),
    "clouds": say("clouds"),
}


def twilight_text(twilight: str) -> str:
    """Name a side of the night: 'dusk', 'dawn'."""
    return _TWILIGHTS[twilight]


def moment_text(moment: str) -> str:
    """Name a moment of the sun or the moon: 'sunset', 'civil', 'moonrise'."""
    return _MOMENTS[moment]


def segment_text(segment: str) -> str:
    """Name a part of a flight: 'set-up', 'return climb'."""
    return _SEGMENTS[segment]


def part_text(part: str) -> str:
    """Name a part of a frame: 'street', 'land', 'sky'."""
    return _PARTS[part]


def subject_text(subject: str) -> str:
    """Name what moves through a frame: 'cars', 'clouds'."""
    return _SUBJECTS[subject]
