"""Random parts of a plan, drawn from the types and ranges of `core.plan` itself."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any, TypeVar

import msgspec
from hypothesis import strategies as st
from msgspec import inspect

from core.edit import checked
from core.fields import FIELDS
from core.plan import (
    Camera,
    Conditions,
    Craft,
    Path,
    Place,
    Plan,
    Replaced,
    Shoot,
    Shoots,
    Station,
)

Part = TypeVar("Part", bound=msgspec.Struct)
Strategy = st.SearchStrategy[Any]

# Zones east and west, with half hours, without summer time, and beyond the date line.
ZONES = (
    "UTC", "Europe/Rome", "America/St_Johns", "Asia/Kathmandu", "Pacific/Kiritimati",
    "Australia/Lord_Howe", "America/Phoenix", "Etc/GMT+12",
)  # fmt: skip
MOST_ENTRIES = 4


def instants() -> st.SearchStrategy[str]:
    """Times in ISO 8601 with their offset."""
    hours = st.integers(-12, 14).map(lambda hour: dt.timezone(dt.timedelta(hours=hour)))
    days = st.dates(dt.date(1901, 1, 2), dt.date(2099, 12, 30))
    return st.builds(dt.datetime.combine, days, st.times(), hours).map(dt.datetime.isoformat)


def _skylines() -> Strategy:
    points = st.tuples(st.floats(0.0, 359.999), st.floats(-10.0, 90.0))
    return st.lists(points, max_size=6, unique_by=lambda point: point[0] + 0.0).map(
        lambda found: tuple(sorted(found))
    )


def _replaced() -> Strategy:
    """What takes may put right: numbers of camera, craft and ground."""
    keys = [
        key
        for key, field in FIELDS.items()
        if field.kind == "number" and key.startswith(("camera.", "craft.", "ground."))
        if "*" not in key
    ]
    values = st.floats(-1e6, 1e6)
    one = st.builds(Replaced, key=st.sampled_from(keys), before=values, after=values)
    return st.lists(one, max_size=MOST_ENTRIES).map(tuple)


# What a type alone does not say of a field.
_BY_NAME: dict[str, Callable[[], Strategy]] = {
    "schema": lambda: st.just("1.0"),
    "time_zone": lambda: st.sampled_from(ZONES),
    "skyline": _skylines,
    "start": instants,
    "replaced": _replaced,
    "time": instants,
}


def _floats(kind: inspect.FloatType) -> Strategy:
    return st.floats(kind.ge, kind.le, allow_nan=False, allow_infinity=False)


def _texts(kind: inspect.StrType) -> Strategy:
    if kind.pattern:
        return st.times().map(lambda time: time.isoformat("seconds")) | st.times().map(
            lambda time: time.isoformat("minutes")
        )
    return st.text(min_size=kind.min_length or 0, max_size=min(kind.max_length or 20, 20))


def values(kind: inspect.Type) -> Strategy:  # noqa: PLR0911 - one answer a type
    """Values of a type as `msgspec.inspect` describes it."""
    if isinstance(kind, inspect.FloatType):
        return _floats(kind)
    if isinstance(kind, inspect.StrType):
        return _texts(kind)
    if isinstance(kind, inspect.LiteralType):
        return st.sampled_from(kind.values)
    if isinstance(kind, inspect.BoolType):
        return st.booleans()
    if isinstance(kind, inspect.NoneType):
        return st.none()
    if isinstance(kind, inspect.DateType):
        return st.dates(dt.date(1901, 1, 1), dt.date(2099, 12, 31))
    if isinstance(kind, inspect.UnionType):
        return st.one_of(*(values(member) for member in kind.types))
    if isinstance(kind, inspect.VarTupleType):
        entries = st.lists(
            values(kind.item_type), min_size=kind.min_length or 0, max_size=MOST_ENTRIES
        )
        return entries.map(tuple)
    if isinstance(kind, inspect.TupleType):
        return st.tuples(*(values(member) for member in kind.item_types))
    assert isinstance(kind, inspect.StructType), f"{kind} is new in a plan"
    return parts(kind.cls)


def parts(cls: type[Part], **given: Strategy) -> st.SearchStrategy[Part]:
    """Parts of a plan of one class; `given` draws some of its fields from elsewhere."""
    kind = inspect.type_info(cls)
    assert isinstance(kind, inspect.StructType)
    own = {name: make() for name, make in _BY_NAME.items()} | given
    fields = {
        field.name: own[field.name] if field.name in own else values(field.type)
        for field in kind.fields
    }
    return st.builds(cls, **fields)


def places() -> st.SearchStrategy[Place]:
    """Places anywhere, with skylines in order."""
    return parts(Place)


def conditions() -> st.SearchStrategy[Conditions]:
    """The air of any night."""
    return parts(Conditions)


def shoots() -> st.SearchStrategy[Shoot]:
    """Shoots of any settings."""
    return parts(Shoot)


def cameras() -> st.SearchStrategy[Camera]:
    """Cameras with short scales."""
    return parts(Camera)


def crafts() -> st.SearchStrategy[Craft]:
    """Aircraft of any size in range."""
    return parts(Craft)


def stations() -> st.SearchStrategy[Station]:
    """Camera positions; a point looked at lies away from the station."""
    return parts(Station).filter(
        lambda at: (
            at.look_at is None
            or max(abs(at.east_m - at.look_at[0]), abs(at.north_m - at.look_at[1])) > 1.0
        )
    )


def paths() -> st.SearchStrategy[Path]:
    """Paths of one to four stations."""
    some = st.lists(stations(), min_size=1, max_size=MOST_ENTRIES).map(tuple)
    return parts(Path, stations=some)


def plans() -> st.SearchStrategy[Plan]:
    """Whole plans that stand, every field of them drawn."""
    return parts(Plan, path=paths(), shoots=parts(Shoots)).map(checked)
