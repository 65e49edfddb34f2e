"""What a pilot types into a field, read into the value of its key.

Decimal point and decimal comma both stand; units may be left out. What is not
understood is refused in one sentence that says what was expected.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from core.amounts import amount_of, plain_text
from core.datetyped import typed_date
from core.edit import PlanError
from core.fields import Field, field_of
from core.fieldwords import choice_text
from core.language import say, say_typed
from core.sentences import no_such_key, shown
from core.starttime import clock_time, parse_start


def parse_value(key: str, text: str) -> object:
    """Return the value that a typed text means for a dotted key, in the key's unit.

    Ranges are left to `core.edit.with_values`. A shutter's trade name gives the
    exact third-stop (1/60 is 2^-6 s); lengths of time may be typed as 11:57; a
    list is parted by semicolons, or commas with a space.

    Returns
    -------
    float, bool, str, datetime.date, tuple, None or a start
        None where the key may be empty and is; a number of minutes, Clock or
        FromEvent for `start_after_event_min`, see `core.starttime`.

    Raises
    ------
    PlanError
        When the text cannot be understood, or no plan has the key.
    """
    field = field_of(key)
    if field is None:
        raise PlanError(no_such_key(key))
    if field.name == "start_after_event_min":
        return parse_start(text)
    plain = plain_text(text)
    if field.optional and plain in _nothing():
        return None
    if field.kind == "text":
        return text.strip()
    if field.kind == "date":
        return typed_date(text)
    value = _read(field, plain)
    if value is None:
        raise PlanError(_not_understood(field, text))
    return value


def _read(field: Field, plain: str) -> object:
    """Return the value of a text for a field of any kind but text; None when it has none."""
    reader = _READERS.get(field.kind)
    return reader(field, plain) if reader else None


def _nothing() -> tuple[str, ...]:
    return ("", "-", *say_typed("none, without"), "null")


def _switch(_field: Field, plain: str) -> bool | None:
    if plain in say_typed("yes, on, true"):
        return True
    return False if plain in say_typed("no, off, false") else None


def _choice(field: Field, plain: str) -> str | None:
    """Return the choice that a text names: as a plan writes it, or as a field shows it."""
    spaced = plain.replace("_", " ")
    named = (
        (code, {code.replace("_", " ").casefold(), choice_text(code).casefold()})
        for code in field.choices
    )
    return next((code for code, names in named if spaced in names), None)


def _clock(_field: Field, plain: str) -> str | None:
    clock = clock_time(plain)
    if clock is None:
        return None
    return clock.isoformat("seconds" if plain.count(":") > 1 else "minutes")


def _skyline(plain: str) -> tuple[tuple[float, ...], ...] | None:
    """Return pairs of azimuth and altitude: '190 0; 215 2.5'; nothing for a flat horizon.

    A comma parts the two where nothing else does; else it may be a decimal comma.
    """
    pairs = [
        re.split(r" *: *" if ":" in part else r" *,? +" if " " in part else ",", part)
        for part in map(str.strip, plain.split(";"))
        if part
    ]
    if any(len(pair) != 2 for pair in pairs):
        return None
    numbers = [
        (amount_of("heading_deg", pair[0]), amount_of("pitch_deg", pair[1])) for pair in pairs
    ]
    if any(None in pair for pair in numbers):
        return None
    return tuple(tuple(one for one in pair if one is not None) for pair in numbers)


def _entries(field: Field, plain: str) -> tuple[object, ...] | None:
    if field.key == "place.skyline":
        return _skyline(plain)
    inner = field_of(f"{field.key}.0")
    if inner is None or inner.kind != "number":
        return None
    parts = re.split(r" ?; ?" if ";" in plain else r", ", plain)
    values = [amount_of(field.name, part) for part in parts]
    numbers = tuple(value for value in values if value is not None)
    return numbers if len(numbers) == len(values) else None


_READERS: dict[str, Callable[[Field, str], object]] = {
    "number": lambda field, plain: amount_of(field.name, plain),
    "list": _entries,
    "switch": _switch,
    "choice": _choice,
    "clock": _clock,
}


def _not_understood(field: Field, text: str) -> str:
    if field.kind == "number" and field.example:
        return say(
            "{label} {shown} was not understood; {expected} was expected, such as {example}.",
            label=field.label,
            shown=shown(text),
            expected=field.expected,
            example=field.example,
        )
    return say(
        "{label} {shown} was not understood; {expected} was expected.",
        label=field.label,
        shown=shown(text),
        expected=field.expected,
    )
