"""Numbers with units as they are typed, read into the unit of a key."""

from __future__ import annotations

import math
import re
import unicodedata

from core import words
from core.compass import point_deg
from core.exposure import density_to_stops
from core.language import decimal_mark, say_typed
from core.units import Unit, unit_of

_LONGEST_TEXT = 400
_DIRECTIONS = ("wind_from_deg", "heading_deg")
_WINDS = ("wind_10m_m_s", "gust_10m_m_s")
_AS_IT_IS = (1.0, 0.0)
_NUMBER = r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)"
_BOTTOM = r"\d+[.,]?\d*"
_UNIT = r"(?:\D.*)?"
_AMOUNT = re.compile(
    rf"(?P<top>{_NUMBER})(?: ?/ ?(?P<bottom>{_BOTTOM}))? ?(?P<unit>{_UNIT})", re.ASCII
)
_LENGTH = re.compile(r"(?P<sign>[+-]?)(?:(?P<h>\d{1,3}):)?(?P<m>\d{1,4}):(?P<s>[0-5]\d)", re.ASCII)
# Degrees, minutes and seconds: 38°12', 38°12'30", 38 12.5 (ISO 6709, Annex D).
_PART = r"[0-5]?\d(?:[.,]\d+)?"
_MINUTE, _SECOND = "['\u2032\u2019]", "(?:\"|\u201d|''|\u2032\u2032)"
_SEXAGESIMAL = re.compile(
    rf"(?P<sign>[+-]?)(?P<d>\d{{1,3}})(?: ?° ?| )(?P<m>{_PART})"
    rf"(?: ?{_MINUTE}|(?: ?{_MINUTE} ?| )(?P<s>{_PART}) ?{_SECOND}?)?",
    re.ASCII,
)
# Other names in use for marks of the dial below one second (common practice, no source).
_OTHER_SHUTTERS = {"1/3": "0.3", "1/2.5": "0.4", "1/2": "0.5", "1/1.6": "0.6", "1/1.3": "0.8"}


def plain_text(text: str) -> str:
    """Return a text with one kind of space, minus, slash and letter size."""
    if len(text) > _LONGEST_TEXT:
        return "?"
    # The raised o that keyboards offer for a degree would become a letter.
    plain = unicodedata.normalize("NFKC", text.replace("\u00ba", "°")).casefold()
    plain = plain.translate({0x2212: "-", 0x2013: "-", 0x2044: "/"})
    return " ".join(plain.split())


def amount_of(name: str, plain: str) -> float | None:
    """Return the number that a text means for a key's last name, in its unit."""
    plain = re.sub(r"(?<=\d) (?=\d{3}(?!\d))", "", plain, flags=re.ASCII)
    named = _named(name, plain)
    if named is not None:
        return named
    if name == "nd_stops" and (plain in _no_filter() or plain.startswith("nd")):
        return _filter_stops(plain.removeprefix("nd").strip())
    plain = _without_marks(name, plain)
    if name in ("latitude_deg", "longitude_deg"):
        plain = _signed_coordinate(plain, *_hemispheres(name))
        sexagesimal = _SEXAGESIMAL.fullmatch(plain)
        if sexagesimal:
            return _degrees(sexagesimal)
    return None if _means_two(name, plain) else _measured(unit_of(name), plain)


def _named(name: str, plain: str) -> float | None:
    """Return the number that a name in use stands for: a point of the compass, 'calm', '1/60'."""
    if name in _DIRECTIONS:
        return point_deg(plain)
    if name in _WINDS and plain in say_typed("calm"):
        return 0.0
    if name in ("shutter_s", "shutters_s"):
        mark = re.sub(r" ?s(ec)?$", "", plain).replace(",", ".").replace(" ", "")
        return words.SHUTTERS_BY_NAME.get(_OTHER_SHUTTERS.get(mark, mark))
    return None


def _measured(unit: Unit | None, plain: str) -> float | None:
    """Return a number with or without its unit."""
    if unit and unit.symbol in ("s", "min") and ":" in plain:
        return _length(plain, dict(unit.typed)["s"][0])
    own = (unit.per, unit.zero) if unit else _AS_IT_IS
    value = _scaled_number(plain, {"": own, **dict(unit.typed if unit else ())})
    if unit and unit.is_share and plain[-1:].isdecimal() and value is not None and value > 1.0:
        # No share is above 1: a bare 30 is what a field shows as 30 %.
        return value / 100.0
    return value


def _means_two(name: str, plain: str) -> bool:
    """Whether an amount is twelve hundred to some and 1.2 to others: '1,200' in English.

    A quotient in the field of the filter is more likely a shutter than a part of a stop, in that
    of cloud a part of the sky as well as of an eighth.
    """
    if name in ("latitude_deg", "longitude_deg"):
        return False
    if name in ("nd_stops", "cloud_okta") and re.fullmatch(r"[\d.,]+ ?/ ?[\d.,]+", plain, re.ASCII):
        return True
    other = "," if decimal_mark() == "." else "."
    grouped = rf"[+-]?[1-9]\d{{0,2}}{re.escape(other)}\d{{3}}(?!\d)"
    return re.match(grouped, plain, re.ASCII) is not None


def _without_marks(name: str, plain: str) -> str:
    """Return an amount without what its trade writes before or after: ISO, f/, eighths."""
    if name in ("iso", "isos"):
        return plain.removeprefix("iso").strip()
    if name in ("f_number", "f_numbers"):
        return re.sub(r"^f ?/? ?", "", plain)
    return re.sub(r" ?/ ?8$", "", plain) if name == "cloud_okta" else plain


def _no_filter() -> tuple[str, ...]:
    return (*say_typed("none, without"), *say_typed("no filter"))


def _hemispheres(name: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Letters that make a coordinate positive or negative (ISO 6709, Annex D)."""
    if name == "latitude_deg":
        return say_typed("N"), say_typed("S")
    return say_typed("E"), say_typed("W")


def _signed_coordinate(plain: str, positive: tuple[str, ...], negative: tuple[str, ...]) -> str:
    """Return a coordinate with its letter turned into a sign: '9.5° w' is '-9.5°'."""
    at_end, at_start = plain[-1:], plain[:1]
    if at_end in (*positive, *negative):
        letter, bare = at_end, plain[:-1].rstrip()
    elif at_start in (*positive, *negative):
        letter, bare = at_start, plain[1:].lstrip()
    else:
        return plain
    if bare[:1] in ("+", "-"):
        return plain
    return bare if letter in positive else f"-{bare}"


def _degrees(found: re.Match[str]) -> float:
    """Return degrees, minutes and seconds as degrees."""
    minutes, seconds = _number(found["m"]), _number(found["s"] or "0")
    angle = _number(found["d"]) + minutes / 60.0 + seconds / 3600.0
    return -angle if found["sign"] == "-" else angle


def _scaled_number(plain: str, typed: dict[str, tuple[float, float]]) -> float | None:
    """Return a number with one of the units that may be typed: its factor, its zero."""
    found = _AMOUNT.fullmatch(plain)
    if not found or found["unit"].replace(" ", "") not in typed:
        return None
    bottom = _number(found["bottom"] or "1")
    if bottom == 0.0:
        return None
    per, zero = typed[found["unit"].replace(" ", "")]
    value = _number(found["top"]) / bottom * per + zero
    return value if math.isfinite(value) else None


def _number(plain: str) -> float:
    return float(plain.replace(",", "."))


def _length(plain: str, second: float) -> float | None:
    found = _LENGTH.fullmatch(plain)
    if not found:
        return None
    whole_s = 3600 * int(found["h"] or 0) + 60 * int(found["m"]) + int(found["s"])
    return math.copysign(whole_s * second, -1.0 if found["sign"] == "-" else 1.0)


def _filter_stops(factor: str) -> float | None:
    """Return the stops of a filter named by its factor (ND 8) or its density (ND 0.9)."""
    if factor in _no_filter():
        return 0.0
    value = _scaled_number(factor, {"": _AS_IT_IS})
    if value is None or value < 0.0:
        return None
    is_density = "." in factor or "," in factor or value == 0.0
    stops = density_to_stops(value) if is_density else math.log2(value)
    # ND 1000 is sold for ten stops, ND 0.9 for three (common practice, no source).
    near = float(round(stops))
    return near if abs(stops - near) < 0.05 else stops
