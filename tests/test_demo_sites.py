"""The ready plans: each opens, makes sense, and is nobody's real place or craft."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

import msgspec
import pytest

from app.resources import demo_sites
from core.fields import FIELDS
from core.forecast import Forecast, forecast
from core.place import time_zone_at
from core.plan import Plan
from core.planfile import load, read

SITES = demo_sites()
#: Latitude of the polar circle, 90° less the obliquity of the ecliptic of 23.44°
#: (Explanatory Supplement 1992, table 3.222.1); a low sun's refraction is left out.
POLAR_CIRCLE_DEG = 66.56

each_site = pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)


def both(path: Path) -> tuple[Plan, Forecast, Forecast]:
    plan = load(path)
    return plan, forecast(plan, "A"), forecast(plan, "B")


def texts(value: object) -> Iterator[str]:
    """Yield every text in plain values, keys left out."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for member in value.values():
            yield from texts(member)
    elif isinstance(value, list):
        for member in value:
            yield from texts(member)


def from_the_sun_deg(seen: Forecast) -> float:
    """Angle between the last heading of the path as flown and the sun's azimuth, 0 to 180."""
    heading = seen.outlook.path.stations[-1].heading_deg
    azimuth = float(seen.outlook.tones.sun_azimuth_deg[-1])
    return abs((heading - azimuth + 180.0) % 360.0 - 180.0)


def test_there_are_enough_to_choose_from() -> None:
    assert len(SITES) >= 5


@each_site
def test_the_file_is_as_the_program_writes_it(path: Path) -> None:
    document = read(path)
    assert document.text() == path.read_bytes()


@each_site
def test_a_holds_by_light_and_its_flight_fits(path: Path) -> None:
    _, seen, _ = both(path)
    starts = seen.starts
    assert seen.outlook.judgement.slack_stops > 0.0
    assert starts.earliest_s is not None
    assert starts.latest_s is not None
    assert starts.earliest_s <= seen.outlook.press_s <= starts.latest_s
    assert seen.outlook.flight.fits is True
    assert [finding.code for finding in seen.findings if finding.severity == "stop"] == []


@each_site
def test_b_is_another_answer(path: Path) -> None:
    plan, _, seen = both(path)
    assert plan.shoots.B != plan.shoots.A
    assert seen.outlook.clip.frames > 1


@each_site
def test_the_clock_is_that_of_the_place(path: Path) -> None:
    plan = load(path)
    place = plan.place
    assert place.time_zone == time_zone_at(place.latitude_deg, place.longitude_deg)
    noon = dt.datetime.combine(plan.shoots.A.date, dt.time(12), ZoneInfo(place.time_zone))
    offset = noon.utcoffset()
    assert offset is not None
    # No zone on land runs further than some three hours from the sun, summer time included.
    assert abs(offset.total_seconds() / 3600.0 - place.longitude_deg / 15.0) < 3.0


@each_site
def test_nothing_in_it_names_a_craft_or_a_camera(path: Path) -> None:
    raw = json.loads(path.read_text(encoding="utf-8"))
    name = raw["place"].pop("name")
    assert name
    choices = {choice for field in FIELDS.values() for choice in field.choices}
    plain = re.compile(r"1\.\d+|\d{4}-\d{2}-\d{2}|\d{2}:\d{2}|[A-Z]\w+/\w+(/\w+)?")
    unexpected = [text for text in texts(raw) if text not in choices and not plain.fullmatch(text)]
    assert unexpected == []
    assert set(raw["craft"]) == set(msgspec.structs.asdict(load(path).craft))


def test_the_places_have_names_of_their_own() -> None:
    names = [load(path).place.name for path in SITES]
    assert len(set(names)) == len(names)


def test_the_places_lie_from_the_equator_to_beyond_the_polar_circle() -> None:
    latitudes = sorted(load(path).place.latitude_deg for path in SITES)
    assert min(map(abs, latitudes)) < 2.0
    assert max(latitudes) > POLAR_CIRCLE_DEG
    assert min(latitudes) < -30.0


def test_they_show_both_twilights_and_a_night_without_an_event() -> None:
    nights = [forecast(load(path), "A").outlook.night for path in SITES]
    assert {night.twilight for night in nights} == {"dusk", "dawn"}
    assert any(night.reason is not None for night in nights)


def test_some_look_into_the_glow_and_some_away() -> None:
    angles = [from_the_sun_deg(forecast(load(path), "A")) for path in SITES]
    assert min(angles) < 30.0
    assert max(angles) > 90.0


def test_some_b_shows_what_fails() -> None:
    codes = {
        finding.code
        for path in SITES
        for finding in forecast(load(path), "B").findings
        if finding.severity == "stop"
    }
    assert "battery" in codes


def test_one_site_alone_teaches_what_too_quick_a_turn_does() -> None:
    turning = {
        path.stem
        for path in SITES
        for seen in both(path)[1:]
        for finding in seen.findings
        if (finding.code, finding.severity) == ("pan", "warn")
    }
    assert turning == {"sohradeh_ruins"}
