"""Reading and changing a plan by its dotted keys, always checked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import msgspec
from msgspec.structs import replace

from core.fields import entry, field_of
from core.language import say
from core.place import time_zone_at
from core.plan import Path, Place, Plan, Reading, Shoot, Shoots
from core.planrules import problems
from core.scales import EXPOSURE_KEYS
from core.sentences import Where, conversion_refusal, no_such_key, not_in_this_plan, refusal

_WEST_DEG = 270.0


class PlanError(ValueError):
    """A plan, or a change to one, that cannot stand; the text is one sentence."""


def checked(plan: Plan) -> Plan:
    """Return the plan with every value checked, whole numbers made floats, the skyline in order.

    Readings that leave their settings out get those of shoot A.

    Ranges and choices are those that stand beside each field in `core.plan`;
    between fields: the time zone is known, dates lie in 1901 to 2099, no azimuth
    of the skyline stands twice, no station looks at itself, times are times.

    Raises
    ------
    PlanError
        One sentence that names the first key that cannot stand, shows its value
        and says what was expected.
    """
    return _converted(_plain(plan, ""), "field")


def plan_from(raw: object) -> Plan:
    """Return the checked plan that plain objects, lists, numbers and texts describe.

    Keys that no plan has are passed over. Raises PlanError as `checked` does.
    """
    return _converted(raw, "file")


def _converted(raw: object, where: Where) -> Plan:
    try:
        plan = msgspec.convert(raw, Plan)
    except msgspec.ValidationError as finding:
        raise PlanError(conversion_refusal(raw, str(finding), where)) from None
    for problem in problems(plan, where):
        raise PlanError(problem)
    skyline = tuple(sorted(plan.place.skyline))
    read = tuple(_with_settings(reading, plan.shoots.A) for reading in plan.readings)
    return replace(plan, place=replace(plan.place, skyline=skyline), readings=read)


def _with_settings(reading: Reading, shoot: Shoot) -> Reading:
    """A reading with the settings that it leaves to a shoot: a later edit moves nothing read."""
    missing = {key: getattr(shoot, key) for key in EXPOSURE_KEYS if getattr(reading, key) is None}
    return replace(reading, **missing)


def get_value(plan: Plan, key: str) -> object:
    """Return what stands at a dotted key: a number, text, tuple or a whole part.

    Raises
    ------
    PlanError
        When the plan has no such key; names the nearest key it has.
    """
    value: object = plan
    for name in key.split("."):
        try:
            value = entry(value, name)
        except LookupError:
            known = field_of(key) is not None
            raise PlanError(not_in_this_plan(plan, key) if known else no_such_key(key)) from None
    return value


def with_values(plan: Plan, values: Mapping[str, object], where: Where = "field") -> Plan:
    """Return the plan with the values of several dotted keys replaced, all or none.

    A value is a number, text, truth, None, date, list or tuple, a whole part of
    a plan, or a mapping that replaces a part. The order of the keys counts only
    where one lies inside another. `where` they come from says how a refusal writes
    them: as fields show values, or as a plan's file has them.

    Raises
    ------
    PlanError
        For a key the plan does not have, or a value that cannot stand there.
    """
    raw = _plain(plan, "")
    for key, value in values.items():
        get_value(plan, key)
        plain = _plain(value, key)
        _refuse_unknown(plain, key)
        _put(raw, key, plain)
    return _converted(raw, where)


def new_plan(
    name: str,
    latitude_deg: float,
    longitude_deg: float,
    date: dt.date,
    time_zone: str | None = None,
    elevation_m: float = 0.0,
) -> Plan:
    """Return a plan for a new place: two shoots at dusk of `date`, looking to the sunset.

    B starts seven minutes before A with shorter exposures more often, so that
    two different answers lie on the table. Coordinates are WGS 84 degrees; the
    zone is that of the place when none is given; `elevation_m` is above sea level.

    Raises
    ------
    PlanError
        When a coordinate, the date, the name or the zone cannot stand.
    """
    where = Place(
        name=name,
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=elevation_m,
        time_zone="UTC" if time_zone is None else time_zone,
    )
    first = Shoot(date=date, start_after_event_min=27.0)
    second = replace(first, start_after_event_min=20.0, interval_s=2.0, shutter_s=0.25, iso=400.0)
    plan = checked(Plan(place=where, shoots=Shoots(A=first, B=second)))
    if time_zone is None:
        zone = time_zone_at(plan.place.latitude_deg, plan.place.longitude_deg)
        plan = with_values(plan, {"place.time_zone": zone})
    return checked(replace(plan, path=_toward(plan.path, _sunset_azimuth_deg(plan))))


def _sunset_azimuth_deg(plan: Plan) -> float:
    """Where the sun sets on the night of shoot A; due west when it does not."""
    from core.night import night_of  # night refuses with this module's PlanError

    where, shoot = plan.place, plan.shoots.A
    evening = night_of(
        where.latitude_deg, where.longitude_deg, where.time_zone, shoot.date, shoot.twilight
    )
    azimuths = (moment.sun_azimuth_deg for moment in evening.moments if moment.name == "sunset")
    return round(next(azimuths, _WEST_DEG), 1)


def _toward(path: Path, azimuth_deg: float) -> Path:
    """Return the path with all headings turned alike until the last one is the azimuth."""
    turn_deg = azimuth_deg - path.stations[-1].heading_deg
    stations = tuple(
        replace(station, heading_deg=round((station.heading_deg + turn_deg) % 360.0, 1))
        for station in path.stations
    )
    return replace(path, stations=stations)


def _plain(value: object, key: str) -> object:
    """Return a value as plain objects, lists, numbers and texts, free to be changed."""
    try:
        return _unfrozen(msgspec.to_builtins(value, enc_hook=_scalar))
    except (TypeError, ValueError, RecursionError):
        if key:
            raise PlanError(refusal(key, value)) from None
        raise PlanError(say("The plan holds a value of a kind that no plan can hold.")) from None


def _scalar(value: object) -> object:
    """Return the plain number inside a number of another library, as numpy's are."""
    item = getattr(value, "item", None)
    if not callable(item):
        raise TypeError
    return item()


def _unfrozen(value: object) -> object:
    if isinstance(value, dict):
        return {name: _unfrozen(member) for name, member in value.items()}
    if isinstance(value, (tuple, list)):
        return [_unfrozen(member) for member in value]
    return value


def _put(raw: object, key: str, value: object) -> None:
    """Replace what stands at a key of plain values."""
    *way, last = key.split(".")
    try:
        for name in way:
            raw = raw[int(name)] if isinstance(raw, list) else raw[name]  # type: ignore[index]
        raw[int(last) if isinstance(raw, list) else last] = value  # type: ignore[index]
    except (LookupError, TypeError, ValueError):
        raise PlanError(say("{key} lies inside another key of the same change.", key=key)) from None


def _refuse_unknown(plain: object, key: str) -> None:
    """Refuse a mapping with a name that the part at `key` does not have."""
    if isinstance(plain, dict):
        members = {str(name): member for name, member in plain.items()}
    elif isinstance(plain, list):
        members = {str(place): member for place, member in enumerate(plain)}
    else:
        return
    for name, member in members.items():
        inner = f"{key}.{name}"
        if isinstance(plain, dict) and field_of(inner) is None:
            raise PlanError(no_such_key(inner))
        _refuse_unknown(member, inner)
