"""What each key of a plan is: its kind, range, choices, unit and name in plain words.

Everything is read off the types in `core.plan`; the unit is the key's ending.
A key is dotted; a place in a list is its number ("path.stations.0.pitch_deg"),
or "*" in the table, where it stands for any of them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal, cast, get_args, get_type_hints

import msgspec
from msgspec import inspect

from core import words
from core.dates import spelt_date
from core.fieldwords import LABELS, choice_text
from core.language import say, say_count
from core.plan import FIRST_DATE, LAST_DATE, Plan
from core.units import Unit, unit_of

Kind = Literal["number", "text", "clock", "choice", "switch", "date", "list", "part"]


@dataclass(frozen=True)
class Field:
    """One key of a plan.

    `low` and `high` bound a number, or the length of a text or list; an `optional` key may also
    be empty. Unit and words are the pilot's, as `core.manner` has them at the moment.
    """

    key: str
    label: str
    kind: Kind
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    wording: str = ""
    optional: bool = False
    required: bool = False
    default: object = None

    @property
    def name(self) -> str:
        """The last name in the key: 'interval_s'."""
        return next(part for part in reversed(self.key.split(".")) if not _is_place(part))

    @property
    def unit(self) -> Unit | None:
        """The unit that it is written in."""
        return unit_of(self.name)

    @property
    def expected(self) -> str:
        """What ends the sentence '... was expected.' of what is typed into a field."""
        if self.kind == "date":
            return _date_expected(spelt_date(FIRST_DATE), spelt_date(LAST_DATE))
        if self.kind == "clock":
            return _clock_expected(*(words.time_text(time) for time in _CLOCKS))
        return self._expected(self.unit)

    @property
    def expected_in_file(self) -> str:
        """The same of what stands in a file: shares as numbers, dates and clocks as plans have."""
        return self._expected(None if self.unit and self.unit.is_share else self.unit)

    def _expected(self, unit: Unit | None) -> str:
        if self.kind == "number":
            return _number_expected(self.name, unit, self.low, self.high)
        return self.wording

    @property
    def example(self) -> str:
        """What may be typed for a number: '38.25° N', or its default; '' where there is none."""
        named = _EXAMPLES.get(self.name, "")
        return named if named or self.default is None else self.text(self.default)

    def text(self, value: object) -> str:
        """Return the value as a field shows it, with its unit.

        What is typed with up to three decimals is shown as typed; what a conversion left
        behind is cut to what the unit is good for. `core.parse.parse_value` reads the text
        back, to the digits shown.
        """
        if value is None:
            return say("none")
        if isinstance(value, bool):
            return say("yes") if value else say("no")
        if isinstance(value, tuple) and self.key == "place.skyline":
            return "; ".join(" ".join(words.number_text(part) for part in pair) for pair in value)
        if isinstance(value, tuple):
            entries = (field_of(f"{self.key}.{place}") for place in range(len(value)))
            return ", ".join(
                entry.text(member) for entry, member in zip(entries, value, strict=True) if entry
            )
        if isinstance(value, (int, float)):
            return self._number_text(float(value))
        return self._worded(str(value))

    def _worded(self, value: str) -> str:
        if self.kind == "clock":
            return words.time_text(dt.time.fromisoformat(value))
        return choice_text(value) if self.kind == "choice" else value

    def _number_text(self, value: float) -> str:
        special = _SPECIAL_TEXTS.get(self.name)
        if special:
            return special(value)
        if self.unit and self.unit.is_share:
            return f"{words.amount_text(100.0 * value, _SHARE_DIGITS)} %"
        symbol = self.unit.symbol if self.unit else ""
        gap = "" if symbol in ("", "°") else " "
        figure = _as_written(self.unit, value) if self.unit else words.amount_text(value, None)
        return f"{figure}{gap}{symbol}"


_CLOCKS = (dt.time(18), dt.time(6, 30, 15))
# Decimals of a percentage that stands for a share.
_SHARE_DIGITS = 2
# Said where the default would show no unit or letter, or there is none.
_EXAMPLES = {
    "latitude_deg": say("38.25° N"),
    "longitude_deg": say("9.5° W"),
    "nd_stops": say("3 stops or ND 8"),
}


_SPECIAL_TEXTS: dict[str, Callable[[float], str]] = {
    "shutter_s": words.shutter_text,
    "shutters_s": words.shutter_text,
    "iso": words.iso_text,
    "isos": words.iso_text,
    "f_number": words.f_number_text,
    "f_numbers": words.f_number_text,
    "nd_stops": words.filter_text,
    "latitude_deg": words.coordinate_text,
    "longitude_deg": words.coordinate_text,
}


def _is_place(part: str) -> bool:
    return part == "*" or (part.isascii() and part.isdecimal())


def _span(unit: Unit | None, low: float, high: float) -> tuple[str, str]:
    if unit and unit.is_share:
        return words.number_text(100.0 * low), words.number_text(100.0 * high)
    if unit is None or unit.per == 1.0:
        return words.number_text(low), words.number_text(high)
    # Cut inward, so that either may be typed as it stands there.
    step = 10.0 ** -(unit.digits or 0)
    least, most = words.cut_up(unit.shown(low), step), words.cut_down(unit.shown(high), step)
    return words.amount_text(least, unit.digits), words.amount_text(most, unit.digits)


def _as_written(unit: Unit, value: float) -> str:
    """A value of a key in its unit: as typed, or what a conversion left behind, cut."""
    return words.amount_text(unit.shown(value), unit.digits)


def _number_expected(name: str, unit: Unit | None, low: float | None, high: float | None) -> str:
    number = _number_noun(name, unit)
    if low is None or high is None:
        return number
    least, most = _span(unit, low, high)
    return say("{number} from {low} to {high}", number=number, low=least, high=most)


def _number_noun(name: str, unit: Unit | None) -> str:
    if name in ("iso", "isos"):
        return say("an ISO number")
    if name in ("f_number", "f_numbers"):
        return say("an f-number")
    if unit and (unit.is_share or unit.symbol == "%"):
        return say("a percentage")
    if unit and unit.plural:
        return say("a number of {unit}", unit=unit.plural)
    return say("a number")


def _date_expected(first: str, last: str) -> str:
    return say("a date from {first} to {last}", first=first, last=last)


def _clock_expected(one: str, other: str) -> str:
    return say("a time of day such as {one} or {other}", one=one, other=other)


def _text_expected(low: int | None, high: int | None) -> str:
    """Say how long a text may be: 'text of 1 to 200 characters'."""
    if high is not None:
        return say("text of {low} to {high} characters", low=low or 0, high=high)
    if low:
        return say_count(
            "text of at least {count} character", "text of at least {count} characters", low
        )
    return say("text")


def _list_expected(low: int | None, high: int | None) -> str:
    """Say how long a list may be: 'a list of at least 1 entry'."""
    if high is not None:
        return say("a list of {low} to {high} entries", low=low or 0, high=high)
    if low:
        return say_count(
            "a list of at least {count} entry", "a list of at least {count} entries", low
        )
    return say("a list")


def _plain_type(kind: inspect.Type) -> tuple[inspect.Type, bool]:
    """Return the type without None, and whether None may stand there."""
    if not isinstance(kind, inspect.UnionType):
        return kind, False
    (inner,) = (member for member in kind.types if not isinstance(member, inspect.NoneType))
    return inner, True


@dataclass(frozen=True)
class _Shape:
    """What a type alone says of a key."""

    kind: Kind
    wording: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()


def _shape(name: str, kind: inspect.Type) -> _Shape:  # noqa: PLR0911 - one answer a type
    if isinstance(kind, inspect.FloatType):
        return _Shape("number", low=kind.ge, high=kind.le)
    if isinstance(kind, inspect.StrType):
        if kind.pattern:
            return _Shape("clock", _clock_expected(*(words.plain_time(time) for time in _CLOCKS)))
        low, high = kind.min_length, kind.max_length
        return _Shape("text", _text_expected(low, high), low, high)
    if isinstance(kind, inspect.LiteralType):
        choices = tuple(str(value) for value in kind.values)
        return _Shape("choice", words.listed(choices), choices=choices)
    if isinstance(kind, inspect.BoolType):
        return _Shape("switch", say("true or false"))
    if isinstance(kind, inspect.DateType):
        return _Shape("date", _date_expected(FIRST_DATE.isoformat(), LAST_DATE.isoformat()))
    if isinstance(kind, inspect.VarTupleType) and name == "skyline":
        return _Shape("list", say("pairs of azimuth and altitude such as 190 0; 215 2.5"))
    if isinstance(kind, inspect.VarTupleType):
        low, high = kind.min_length, kind.max_length
        return _Shape("list", _list_expected(low, high), low, high)
    if isinstance(kind, inspect.TupleType):
        size = len(kind.item_types)
        return _Shape("list", say("a list of {count} numbers", count=size), size, size)
    named = ", ".join(field.name for field in cast("inspect.StructType", kind).fields)
    return _Shape("part", say("an object with the keys {keys}", keys=named))


def _walk(key: str, kind: inspect.Type, facts: inspect.Field | None) -> Iterator[Field]:
    inner, optional = _plain_type(kind)
    name = next((part for part in reversed(key.split(".")) if not _is_place(part)), "")
    shape = _shape(name, inner)
    yield Field(
        key=key,
        label=LABELS[name] if name else "",
        kind=shape.kind,
        low=shape.low,
        high=shape.high,
        choices=shape.choices,
        wording=shape.wording,
        optional=optional,
        required=facts is not None and facts.required,
        default=None if facts is None or facts.required else facts.default,
    )
    for part, member, member_facts in _members(inner):
        yield from _walk(f"{key}.{part}" if key else part, member, member_facts)


def _members(kind: inspect.Type) -> Iterator[tuple[str, inspect.Type, inspect.Field | None]]:
    if isinstance(kind, inspect.StructType):
        hints = get_type_hints(kind.cls)
        for field in kind.fields:
            yield field.name, _in_order(field.type, hints[field.name]), field
    elif isinstance(kind, inspect.VarTupleType):
        yield "*", kind.item_type, None
    elif isinstance(kind, inspect.TupleType):
        yield from ((str(place), item, None) for place, item in enumerate(kind.item_types))


def _in_order(kind: inspect.Type, hint: object) -> inspect.Type:
    """Return the type with its choices in the order of `core.plan`; inspect sorts them."""
    return inspect.LiteralType(get_args(hint)) if isinstance(kind, inspect.LiteralType) else kind


# Every key of a plan, parts and lists among them, in the order of the file.
FIELDS: dict[str, Field] = {
    field.key: field for field in _walk("", inspect.type_info(Plan), None) if field.key
}


def field_of(key: str) -> Field | None:
    """Return what a dotted key is, or None when no plan has it.

    Numbers in the key stand for places in lists, whether or not a plan has that
    many entries.
    """
    known = ""
    for part in key.split("."):
        exact = f"{known}.{part}" if known else part
        known = exact if exact in FIELDS or not _is_place(part) else f"{known}.*"
        if known not in FIELDS:
            return None
    return FIELDS[known]


def entry(value: object, name: str) -> object:
    """Return what stands under one name of a key in a part or list of a plan.

    Raises LookupError when nothing does.
    """
    if isinstance(value, msgspec.Struct) and name in value.__struct_fields__:
        return getattr(value, name)
    # No list has a place of ten digits, and int() refuses thousands of them.
    if isinstance(value, tuple) and name.isdecimal() and name.isascii() and len(name) < 10:
        return value[int(name)]
    raise LookupError(name)


def keys_of(value: object, key: str = "") -> Iterator[str]:
    """Yield every dotted key that a plan, or a part of it, has now, parts and lists among them."""
    if key:
        yield key
    names: tuple[str, ...] = ()
    if isinstance(value, msgspec.Struct):
        names = value.__struct_fields__
    elif isinstance(value, tuple):
        names = tuple(str(place) for place in range(len(value)))
    for name in names:
        yield from keys_of(entry(value, name), f"{key}.{name}" if key else name)
