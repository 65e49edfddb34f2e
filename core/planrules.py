"""What a whole plan keeps to beyond the range of each field."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterator

import msgspec

from core import words
from core.dates import spelt_date
from core.fields import field_of
from core.language import say
from core.place import known_time_zone
from core.plan import FIRST_DATE, LAST_DATE, Plan, Station
from core.sentences import Where, half_character, refusal, shown

_NEAREST_LOOK_M = 0.1
#: A take puts figures of these parts right alone.
_TAUGHT = ("camera.", "craft.", "ground.")


def problems(plan: Plan, where: Where) -> Iterator[str]:
    """Say in a sentence each what cannot stand in a plan whose fields all keep their ranges."""
    if not re.fullmatch(r"1\.[0-9]{1,4}", plan.schema):
        yield say('schema is {schema}; "1.0" was expected.', schema=shown(plan.schema))
    if not known_time_zone(plan.place.time_zone):
        yield (
            say(
                "place.time_zone is {time_zone}; a zone of the IANA time zone database "
                "such as Europe/Rome was expected.",
                time_zone=shown(plan.place.time_zone),
            )
        )
    yield from _skyline_problems(plan.place.skyline)
    for name, shoot in (("A", plan.shoots.A), ("B", plan.shoots.B)):
        if not FIRST_DATE <= shoot.date <= LAST_DATE:
            yield _date_refusal(f"shoots.{name}.date", shoot.date, where)
    for index, station in enumerate(plan.path.stations):
        yield from _look_problems(f"path.stations.{index}.look_at", station)
    yield from _time_problems(plan, where)
    yield from _figure_problems(plan, where)
    try:
        msgspec.json.encode(plan)
    except UnicodeEncodeError:
        yield half_character(plan)


def _date_refusal(key: str, date: dt.date, where: Where) -> str:
    return refusal(key, date.isoformat() if where == "file" else spelt_date(date), where)


def _skyline_problems(skyline: tuple[tuple[float, float], ...]) -> Iterator[str]:
    seen: set[float] = set()
    for azimuth_deg, _ in skyline:
        if azimuth_deg % 360.0 in seen:
            azimuth = words.number_text(azimuth_deg)
            yield (
                say(
                    "place.skyline has azimuth {azimuth}° twice (0° and 360° are the "
                    "same); each azimuth once was expected.",
                    azimuth=azimuth,
                )
            )
        seen.add(azimuth_deg % 360.0)


def _look_problems(key: str, station: Station) -> Iterator[str]:
    if station.look_at is None:
        return
    position = (station.east_m, station.north_m, station.up_m)
    if math.dist(position, station.look_at) < _NEAREST_LOOK_M:
        yield say("{key} is the station itself; a point at least 0.1 m away was expected.", key=key)


def _time_problems(plan: Plan, where: Where) -> Iterator[str]:
    switching = plan.ground.lamps.switching
    for name, clock in (("on_time", switching.on_time), ("off_time", switching.off_time)):
        # The pattern lets digits of other scripts and a line break at the end through.
        if not clock.isascii() or clock.strip() != clock:
            yield refusal(f"ground.lamps.switching.{name}", clock, where)
    times = [(f"takes.{i}.start", take.start) for i, take in enumerate(plan.takes)]
    times += [(f"readings.{i}.time", reading.time) for i, reading in enumerate(plan.readings)]
    for key, text in times:
        if not _is_instant(text):
            yield (
                say(
                    "{key} is {value}; a time with its offset such as "
                    "2026-10-17T18:52:10+02:00 was expected.",
                    key=key,
                    value=shown(text),
                )
            )


def _is_instant(text: str) -> bool:
    try:
        return dt.datetime.fromisoformat(text).utcoffset() is not None
    except ValueError:
        return False


def _figure_problems(plan: Plan, where: Where) -> Iterator[str]:
    """Figures without a range of their own are at least finite."""
    for i, learned in enumerate(plan.learned):
        for name, value in (("value", learned.value), ("sigma", learned.sigma)):
            if not math.isfinite(value):
                yield refusal(f"learned.{i}.{name}", value, where)
    for i, take in enumerate(plan.takes):
        for j, one in enumerate(take.summary.replaced):
            field = field_of(one.key)
            if field is None or field.kind != "number" or not one.key.startswith(_TAUGHT):
                yield (
                    say(
                        "takes.{i}.summary.replaced.{j}.key is {key}; a number of the "
                        "camera, the craft or the ground such as camera.write_time_s was "
                        "expected.",
                        i=i,
                        j=j,
                        key=shown(one.key),
                    )
                )
