"""The sentences that refuse a value or a key of a plan.

Each names the key, shows what stands there and says what was expected.
"""

from __future__ import annotations

import difflib
import json
import math
import re
from collections.abc import Mapping
from typing import Final, Literal, TypeGuard

import msgspec

from core import words
from core.fields import FIELDS, Field, entry, field_of, keys_of
from core.language import say, say_count
from core.plan import Plan

_AT = re.compile(r" - at `\$\.?(?P<path>.*)`$")
_MISSING = re.compile(r"^Object missing required field `(?P<name>\w+)`")
#: Whence a value comes that cannot stand: a plan's file, or where a pilot types.
Where = Literal["file", "field"]
#: What stands for no value there.
_EMPTY: Final[dict[Where, str]] = {"file": "null", "field": say("none")}
# What the two numbers of an entry are called.
_OF_PAIR: Final = {
    "place.skyline.*.0": say("{list}: azimuth {number}"),
    "place.skyline.*.1": say("{list}: altitude {number}"),
}
_DOTTED = re.compile(r"[A-Za-z_]\w*(?:\.\w+)+")
_SHOWN_CHARACTERS = 40
# Below this likeness another key is no help.
_LIKENESS = 0.7
_LONGEST_KEY = 200
# No share of this size was meant to be one.
_MANY = 1e6


def refusal(key: str, value: object, where: Where = "field") -> str:
    """Say that a value cannot stand at a key, and what can.

    Whoever gave a number is told of numbers only. What was typed is told as a field shows it;
    a share, a date or a clock in a file as it stands there.
    """
    field = field_of(key)
    if field and field.kind == "number" and _is_number(value):
        return say(
            "{key} is {value}; {expected} was expected.",
            key=key,
            value=_number_in(field, value, where),
            expected=field.expected if where == "field" else field.expected_in_file,
        )
    plain = [_whole(one) for one in value] if isinstance(value, (list, tuple)) else value
    return say(
        "{key} is {value}; {expected} was expected.",
        key=key,
        value=shown(plain),
        expected=_expected(key, where),
    )


def _whole(value: object) -> object:
    """Return a whole number without the point that nobody typed."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    return value


def _is_number(value: object) -> TypeGuard[float]:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _expected(key: str, where: Where) -> str:
    field = field_of(key)
    if field is None:
        return say("a value")
    expected = field.expected if where == "field" else field.expected_in_file
    return (
        say("{expected} or {empty}", expected=expected, empty=_EMPTY[where])
        if field.optional
        else expected
    )


def _number_in(field: Field, value: float, where: Where) -> str:
    """A number as it stands where it was found: a typed share in percent."""
    if field.unit and field.unit.is_share and where == "field" and abs(value) < _MANY:
        low, high = (None if end is None else 100.0 * end for end in (field.low, field.high))
        return f"{_beside(100.0 * value, low, high)} %"
    return _beside(*_as_written(field, value))


def _as_written(field: Field, value: float) -> tuple[float, float | None, float | None]:
    """A number and its limits in the pilot's unit, as the limits stand in the sentence."""
    unit = field.unit
    if unit is None or unit.per == 1.0:
        return value, field.low, field.high
    low, high = (None if end is None else unit.shown(end) for end in (field.low, field.high))
    return unit.shown(value), low, high


def _beside(value: float, low: float | None, high: float | None) -> str:
    """Write a number as elsewhere, unless it would read as one within its limits."""
    if isinstance(value, int) or not 1e-9 <= abs(value) < 1e15:
        return shown(value)
    near = float(f"{value:.6g}")
    if low is not None and high is not None and low <= near <= high:
        return repr(value).replace("-", words.MINUS)
    return words.number_text(value)


def conversion_refusal(raw: object, finding: str, where: Where) -> str:
    """Put into a sentence what the conversion of plain values to a plan found.

    `finding` is the text of msgspec's ValidationError; only the place is taken from it.
    """
    found = _AT.search(finding)
    key = re.sub(r"\[(\d+)\]", r".\1", found["path"]) if found else ""
    missing = _MISSING.match(finding)
    if missing:
        key = f"{key}.{missing['name']}" if key else missing["name"]
        return say(
            "{key} is missing; {expected} was expected.", key=key, expected=_expected(key, where)
        )
    if not key:
        keys = words.listed(_names_under(""), "and")
        return say(
            "The plan is {value}; an object with the keys {keys} was expected.",
            value=shown(raw),
            keys=keys,
        )
    for name in key.split("."):
        raw = raw[int(name)] if isinstance(raw, list) else raw[name]  # type: ignore[index]
    return refusal(key, raw, where)


def by_names(sentence: str, names: Mapping[str, str]) -> str:
    """Return a refusal that calls values as its window does instead of by their keys.

    An entry of a list has the list's name and its number, counted from 1; a key that has no
    name there is called as sentences do.
    """
    return _DOTTED.sub(lambda found: _named(found[0], names), sentence)


def _named(key: str, names: Mapping[str, str]) -> str:
    field = field_of(key)
    if key in names or field is None:
        return names.get(key, key)
    above, _, last = key.rpartition(".")
    if not last.isdecimal():
        return field.label
    if field.key in _OF_PAIR:
        skyline, _, number = above.rpartition(".")
        return _OF_PAIR[field.key].format(list=_named(skyline, names), number=int(number) + 1)
    return say("{list}: entry {number}", list=_named(above, names), number=int(last) + 1)


def shown(value: object) -> str:
    """Return a value as it stands in a sentence, cut when long."""
    if isinstance(value, float) and not math.isfinite(value):
        return say("not a number") if math.isnan(value) else say("infinite")
    try:
        text = json.dumps(value, ensure_ascii=False)
    except (TypeError, ValueError, RecursionError):
        text = say("a value of the kind {kind}", kind=type(value).__name__)
    text = text.encode(errors="replace").decode()
    return text if len(text) <= _SHOWN_CHARACTERS else f"{text[:_SHOWN_CHARACTERS]}…"


def no_such_key(key: str) -> str:
    """Say that no plan has a key, and which key is nearest to it."""
    names = key[:_LONGEST_KEY].split(".")
    known = next(n for n in range(len(names), -1, -1) if not n or field_of(".".join(names[:n])))
    parent, rest = ".".join(names[:known]), names[known:]
    hint = _nearest_key(parent, rest) or _names_there(parent)
    return say("{key} is not a key of a plan; {hint}", key=_shown_key(key), hint=hint)


def _nearest_key(parent: str, rest: list[str]) -> str | None:
    """Ask for the key that a mistyped one most likely means, None when nothing is near."""
    near = difflib.get_close_matches(rest[0], _names_under(parent), 1, _LIKENESS) if rest else []
    if near:
        key = ".".join(filter(None, [parent, near[0], *rest[1:]]))
        return say("did you mean {key}?", key=key) if field_of(key) else None
    # "interval_s" alone: the first key that ends so.
    tails = {name.rpartition(".")[2]: name for name in reversed(FIELDS)}
    likely = difflib.get_close_matches(rest[-1], tails, 1, _LIKENESS) if rest else []
    if parent or not likely:
        return None
    return say("did you mean {key}?", key=tails[likely[0]].replace("*", "0"))


def _names_under(parent: str) -> tuple[str, ...]:
    field = field_of(parent)
    prefix = f"{field.key}." if field else ""
    tails = (name.removeprefix(prefix) for name in FIELDS if name.startswith(prefix))
    return tuple(tail for tail in tails if "." not in tail)


def _names_there(parent: str) -> str:
    names = _names_under(parent)
    if not names:
        return say("{parent} has no parts.", parent=parent)
    if names[0] in ("*", "0"):
        return say("the entries of {parent} are counted from 0.", parent=parent)
    if not parent:
        return say("a key starts with {names}.", names=words.listed(names))
    return say("{parent} has {names}.", parent=parent, names=words.listed(names, "and"))


def not_in_this_plan(plan: Plan, key: str) -> str:
    """Say that this plan has nothing at a key that other plans may have."""
    value: object = plan
    there: list[str] = []
    for name in key.split("."):
        try:
            value = entry(value, name)
        except LookupError:
            break
        there.append(name)
    if isinstance(value, tuple):
        return say_count(
            "{key} is not there; {parent} has {count} entry, counted from 0.",
            "{key} is not there; {parent} has {count} entries, counted from 0.",
            len(value),
            key=_shown_key(key),
            parent=".".join(there),
        )
    here = shown(msgspec.to_builtins(value))
    return say(
        "{key} is not there; {parent} is {value}.",
        key=_shown_key(key),
        parent=".".join(there),
        value=here,
    )


def half_character(plan: Plan) -> str:
    """Name the first text of a plan that holds half a character (a lone surrogate)."""
    key = next(key for key in keys_of(plan) if _is_cut(_at(plan, key)))
    return say("{key} holds half a character; whole Unicode text was expected.", key=key)


def _at(plan: Plan, key: str) -> object:
    value: object = plan
    for name in key.split("."):
        value = entry(value, name)
    return value


def _is_cut(value: object) -> bool:
    return isinstance(value, str) and value != value.encode(errors="replace").decode()


def _shown_key(key: str) -> str:
    return key if len(key) < 80 and re.fullmatch(r"\w+(\.\w+)*", key) else shown(key)
