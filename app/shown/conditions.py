"""How the conditions of a night stand in their fields and what may be typed there."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from core.amounts import plain_text
from core.compass import point_deg
from core.edit import PlanError
from core.fields import field_of
from core.language import say, say_as
from core.parse import parse_value
from core.plan import Conditions
from core.skies import HAZE_WORDS
from core.units import unit_of
from core.wind import gust_10m_m_s
from core.words import bearing_text, number_text

_OKTA = re.compile(r"(\d(?:[.,]\d+)?)(?: ?/ ?8)?", re.ASCII)
#: What parts a speed from the bearing that it blows from: typed words, or as it is shown.
_FROM = say_as("wind, typed", "from")
_WIND = re.compile(
    rf"(?P<speed>.*?)(?: (?:from|{re.escape(_FROM)}) |, | @ ?)(?P<bearing>.*)",
    re.DOTALL | re.IGNORECASE,
)
# A comma without a space is a decimal's: '10,5' is one figure. Behind a unit, or before the three
# figures of a bearing, it parts two: '4,050'.
_WIND_CLOSE = re.compile(
    r"(?P<speed>.*?)(?:(?<=[a-z]),|,(?=\d{3}\b))(?P<bearing>.*)",
    re.ASCII | re.IGNORECASE | re.DOTALL,
)
# '14 m/s 300', '14 300°': the second figure is a bearing, though nothing parts them.
_WIND_UNPARTED = re.compile(
    r"(?P<speed>\d+(?:[.,]\d+)? ?(?:[a-z][a-z/]*)?) ?(?<=[a-z ])"
    r"(?P<bearing>\d{1,3}(?:[.,]\d+)? ?(?:°|deg)?)",
    re.ASCII | re.IGNORECASE,
)
#: Stands behind a gust that is less than the wind: no gust is, so it counts as the wind.
_COUNTS_AS = say(" as ")
_UNKNOWN = "\N{EN DASH}"
#: Where stepping begins while no humidity is known.
_FAIR_PERCENT = 60.0
_WHERE = "shoots.A.conditions"
_HAZE_NAMES: Final[dict[str, str]] = {
    "clear": say_as("haze", "clear"),
    "normal": say_as("haze", "normal"),
    "hazy": say_as("haze", "hazy"),
}


@dataclass(frozen=True)
class Entry:
    """A field of the conditions: the keys it stands for, its text, and how it is read.

    `steps` gives the values one step up or down; `hint` says what may be typed.
    """

    name: str
    keys: tuple[str, ...]
    text: Callable[[Conditions], str]
    read: Callable[[str], Mapping[str, object]]
    step: Callable[[Conditions, int], Mapping[str, object]]
    hint: str

    def same(self, one: Conditions, other: Conditions) -> bool:
        """Whether two nights agree in it."""
        return all(getattr(one, key) == getattr(other, key) for key in self.keys)

    def default(self) -> Mapping[str, object]:
        """The values of a new plan."""
        fields = {key: field_of(f"{_WHERE}.{key}") for key in self.keys}
        return {key: field.default for key, field in fields.items() if field is not None}


def haze_text(haze_aod: float) -> str:
    """Write word and number: 'normal, 0.12'; the word is the nearest on a scale of ratios."""
    word = next((word for word, value in HAZE_WORDS.items() if haze_aod < 1.6 * value), "hazy")
    return f"{_HAZE_NAMES[word]}, {number_text(haze_aod, 2)}"


def humidity_text(air: Conditions) -> str:
    """The humidity; a dash where it is not known."""
    if air.humidity_percent is None:
        return _UNKNOWN
    return _shown("humidity_percent", air.humidity_percent)


def _read_humidity(text: str) -> Mapping[str, object]:
    return {"humidity_percent": parse_value(f"{_WHERE}.humidity_percent", text)}


def _stepped_humidity(air: Conditions, steps: int) -> Mapping[str, object]:
    """A percent up or down; from nowhere to that of a fair evening."""
    if air.humidity_percent is None:
        return {"humidity_percent": _FAIR_PERCENT}
    return _stepped("humidity_percent", air.humidity_percent, steps)


def _number(key: str, text: str) -> float:
    value = parse_value(f"{_WHERE}.{key}", text)
    if not isinstance(value, (int, float)):
        raise PlanError(say("{text} was not understood; a number was expected.", text=text))
    return float(value)


def _read_cloud(text: str) -> Mapping[str, object]:
    found = _OKTA.fullmatch(text.strip())
    if found:
        return {"cloud_okta": float(found[1].replace(",", "."))}
    return {"cloud_okta": _number("cloud_okta", text)}


def _read_haze(text: str) -> Mapping[str, object]:
    word, _, number = text.strip().casefold().partition(",")
    own = {name.casefold(): code for code, name in _HAZE_NAMES.items()}
    code = own.get(word, word)
    if code in HAZE_WORDS:
        # '0,12' has a comma of its own, 'hazy, 0.35' parts the word from its number.
        return {"haze_aod": _number("haze_aod", number) if number.strip() else HAZE_WORDS[code]}
    return {"haze_aod": _number("haze_aod", text)}


def _read_wind(text: str) -> Mapping[str, object]:
    spaced = " ".join(text.split())
    pointed = _at_point(re.split(r",? |,(?!\d)|@", spaced))
    if pointed:
        speed, bearing_deg = pointed
        return {"wind_10m_m_s": _number("wind_10m_m_s", speed), "wind_from_deg": bearing_deg}
    ways = (_WIND, _WIND_CLOSE, _WIND_UNPARTED)
    found = next(filter(None, (way.fullmatch(spaced) for way in ways)), None)
    if found:
        bearing = _number("wind_from_deg", found["bearing"])
        return {"wind_10m_m_s": _number("wind_10m_m_s", found["speed"]), "wind_from_deg": bearing}
    return {"wind_10m_m_s": _number("wind_10m_m_s", text)}


def _at_point(words: list[str]) -> tuple[str, float] | None:
    """A speed and the point of the compass behind or, as in forecasts, before it: 'NW 4 m/s'."""
    for place in range(1, len(words)):
        for speed, point in ((words[:place], words[place:]), (words[place:], words[:place])):
            bearing_deg = point_deg(plain_text(" ".join(point)))
            if bearing_deg is not None:
                kept = [word for word in speed if word.casefold() not in ("from", "", _FROM)]
                return " ".join(kept), bearing_deg
    return None


def _read_gust(text: str) -> Mapping[str, object]:
    typed = text.partition(_COUNTS_AS)[0]
    return {"gust_10m_m_s": parse_value(f"{_WHERE}.gust_10m_m_s", typed)}


def _shown(key: str, value: float) -> str:
    """A figure as its field shows it, with its unit."""
    field = field_of(f"{_WHERE}.{key}")
    return field.text(value) if field is not None else number_text(value)


def _gust_text(air: Conditions) -> str:
    """The gust as typed, with what it counts as where that is another figure."""
    counts = _shown("gust_10m_m_s", _gust(air))
    if air.gust_10m_m_s is None or air.gust_10m_m_s >= air.wind_10m_m_s:
        return counts
    # Without its unit, which the other figure bears: the field is narrow.
    typed = _shown("gust_10m_m_s", air.gust_10m_m_s).partition(" ")[0]
    return f"{typed}{_COUNTS_AS}{counts}"


def _wind_text(air: Conditions) -> str:
    return f"{_shown('wind_10m_m_s', air.wind_10m_m_s)}, {bearing_text(air.wind_from_deg)}"


def _gust(air: Conditions) -> float:
    return gust_10m_m_s(air.wind_10m_m_s, air.gust_10m_m_s)


def _stepped_haze(air: Conditions, steps: int) -> Mapping[str, object]:
    """The next word up or down the scale."""
    marks = sorted(HAZE_WORDS.values())
    beyond = [v for v in marks if (v > air.haze_aod if steps > 0 else v < air.haze_aod)]
    if not beyond:
        return {}
    return {"haze_aod": beyond[0] if steps > 0 else beyond[-1]}


def _stepped(key: str, value: float, steps: int) -> Mapping[str, object]:
    """So many steps of the shown unit up or down: metres per second, or miles per hour."""
    unit = unit_of(key)
    return _clamped(key, value + steps * (unit.per if unit else 1.0))


def _clamped(key: str, value: float) -> Mapping[str, object]:
    field = field_of(f"{_WHERE}.{key}")
    if field is None or field.low is None or field.high is None:
        return {key: value}
    return {key: min(max(value, field.low), field.high)}


CONDITIONS: Final[tuple[Entry, ...]] = (
    Entry(
        say("Cloud"),
        ("cloud_okta",),
        lambda air: f"{number_text(air.cloud_okta)}/8",
        _read_cloud,
        lambda air, steps: _clamped("cloud_okta", round(air.cloud_okta) + float(steps)),
        say("Eighths of the sky under cloud, 0 to 8, or percent of it."),
    ),
    Entry(
        say("Haze"),
        ("haze_aod",),
        lambda air: haze_text(air.haze_aod),
        _read_haze,
        _stepped_haze,
        say("Clear (0.05), normal (0.12), hazy (0.30), or an optical depth from 0.02 to 0.6."),
    ),
    Entry(
        say("Temperature"),
        ("temperature_c",),
        lambda air: _shown("temperature_c", air.temperature_c),
        lambda text: {"temperature_c": _number("temperature_c", text)},
        lambda air, steps: _stepped("temperature_c", air.temperature_c, steps),
        say("Of the air at take-off."),
    ),
    Entry(
        say("Humidity"),
        ("humidity_percent",),
        humidity_text,
        _read_humidity,
        _stepped_humidity,
        say("Of the air at take-off, in percent, for dew, ice and cloud base; empty if not known."),
    ),
    Entry(
        say("Wind at 10 m"),
        ("wind_10m_m_s", "wind_from_deg"),
        _wind_text,
        _read_wind,
        lambda air, steps: _stepped("wind_10m_m_s", air.wind_10m_m_s, steps),
        say("Speed and the bearing it blows from, such as 4, 050° or 4, NE."),
    ),
    Entry(
        say("Gust"),
        ("gust_10m_m_s",),
        _gust_text,
        _read_gust,
        lambda air, steps: _stepped("gust_10m_m_s", _gust(air), steps),
        say("At 10 m; empty for 1.4 times the wind. Less than the wind counts as the wind."),
    ),
)
