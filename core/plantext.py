"""The text of a plan file: JSON, read strictly, so that nothing in it is lost or doubled."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Sequence

from core.language import say
from core.sentences import shown

_DEEPEST = 64
_WANTED = say("a plan in JSON was expected")
_TOO_DEEP = say("is nested more than {deepest} deep; {wanted}.", deepest=_DEEPEST, wanted=_WANTED)


class PlanTextError(ValueError):
    """Why a text is no plan; the words go on from the name of the file."""


def parsed(source: bytes) -> object:
    """Return the plain values in a text of JSON in UTF-8, with or without a byte order mark.

    Raises
    ------
    PlanTextError
        For a text that is not JSON, has a key twice in one object, holds a
        number that is not finite, or could not be written again.
    """
    if not source.strip():
        raise PlanTextError(say("is empty; {wanted}.", wanted=_WANTED))
    try:
        raw: object = json.loads(
            source.decode("utf-8-sig"),
            object_pairs_hook=_object,
            parse_constant=_refuse_constant,
            parse_float=_finite,
        )
    except UnicodeDecodeError as finding:
        at = say("byte {number}", number=finding.start + 1)
        raise PlanTextError(
            say("is not in UTF-8 (at {at}); {wanted}.", at=at, wanted=_WANTED)
        ) from None
    except json.JSONDecodeError as finding:
        at = say("line {line}, column {column}", line=finding.lineno, column=finding.colno)
        raise PlanTextError(
            say("is not JSON (at {at}); {wanted}.", at=at, wanted=_WANTED)
        ) from None
    except RecursionError:
        raise PlanTextError(_TOO_DEEP) from None
    except PlanTextError:
        raise
    except ValueError:
        # Python reads no whole number of more than some thousand digits.
        raise PlanTextError(say("holds a number too long to be read.")) from None
    _refuse_unwritable(raw)
    return raw


def with_unknown_keys(known: object, source: object) -> object:
    """Return plain values of a plan with what only their source has, behind what they have.

    Entries of a list belong together by their id where they have one, else by
    their place.
    """
    if isinstance(known, dict) and isinstance(source, dict):
        kept = {name: with_unknown_keys(value, source.get(name)) for name, value in known.items()}
        return kept | {name: value for name, value in source.items() if name not in known}
    if isinstance(known, (list, tuple)) and isinstance(source, list):
        partners = _partners(known, source)
        return [with_unknown_keys(*pair) for pair in zip(known, partners, strict=True)]
    return known


def with_members_moved(source: bytes, moves: Iterable[tuple[str, str]], *way: str) -> bytes:
    """Return a text of JSON in which members of one object stand under other names.

    Parameters
    ----------
    source
        A text that `parsed` takes.
    moves
        Each a name and the one whose value it gets, all read before any is set; a
        name stays as it is where the other is missing.
    way
        The names that lead to the object.
    """
    raw = parsed(source)
    place: object = raw
    for name in way:
        place = place.get(name) if isinstance(place, dict) else None
    if isinstance(place, dict):
        place |= {to: place[of] for to, of in moves if of in place}
    return json.dumps(raw, ensure_ascii=False, allow_nan=False).encode()


def _partners(known: Sequence[object], source: list[object]) -> list[object]:
    """Return for every known entry the one of the source that it came from, None for a new one."""
    if not all(isinstance(entry, dict) and "id" in entry for entry in known):
        return [source[i] if i < len(source) else None for i in range(len(known))]
    # From the back, so that of several with one id the first is taken first.
    left = [entry for entry in reversed(source) if isinstance(entry, dict)]
    by_id: dict[object, list[object]] = {}
    for entry in left:
        by_id.setdefault(str(entry.get("id")), []).append(entry)
    ids = (str(entry["id"]) for entry in known if isinstance(entry, dict))
    return [by_id[name].pop() if by_id.get(name) else None for name in ids]


def _object(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members = dict(pairs)
    if len(members) < len(pairs):
        names = set()
        for name, _ in pairs:
            if name in names:
                raise PlanTextError(
                    say("has the key {name} twice in one object.", name=shown(name))
                )
            names.add(name)
    return members


def _refuse_constant(name: str) -> object:
    raise PlanTextError(say("holds {name}; a finite number or null was expected.", name=name))


def _finite(digits: str) -> float:
    value = float(digits)
    if math.isinf(value):
        raise PlanTextError(
            say("holds {digits}; a smaller number was expected.", digits=digits[:40])
        )
    return value


def _refuse_unwritable(raw: object) -> None:
    """Refuse what is nested too deeply to be written, and half characters in any text."""
    level, depth = [raw], 0
    while level:
        if depth > _DEEPEST:
            raise PlanTextError(_TOO_DEEP)
        for value in level:
            if isinstance(value, str) and value != value.encode(errors="replace").decode():
                raise PlanTextError(
                    say(
                        "holds half a character in {shown}; whole Unicode text was expected.",
                        shown=shown(value),
                    )
                )
        level = [member for value in level for member in _members(value)]
        depth += 1


def _members(value: object) -> Iterator[object]:
    if isinstance(value, dict):
        yield from value
        yield from value.values()
    elif isinstance(value, list):
        yield from value
