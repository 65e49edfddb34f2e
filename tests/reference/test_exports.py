"""Every export read back by another library and held against the plan's own figures."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import geojson
import gpxpy
import numpy as np
import pytest
import vobject
import xmlschema
from hypothesis import example, given, settings
from hypothesis import strategies as st
from icalendar import Calendar
from skyfield.api import wgs84

from app.resources import demo_sites
from core.edit import with_values
from core.export.calendar import ALARMS_MIN
from core.export.formats import EXPORT_NAMES, EXPORTS, ExportName
from core.export.plain import plain
from core.export.track import Spot, track_of
from core.forecast import Forecast, forecast
from core.geodesy import place_at
from core.plan import Plan
from core.planfile import load
from core.report import forecast_report
from core.timetable import timetable_of

SCHEMAS = Path(__file__).parent / "data" / "schemas"
SITES = {site.stem: site for site in demo_sites()}
MADE_S = dt.datetime(2026, 10, 10, 13, 2, tzinfo=dt.UTC).timestamp()
HARD_NAME = 'Große "Öde" & <Bucht>, 100 %;\nNorðr\\ 🌇'
#: Declared by the schemas of both 2.2 and 2.3; the schema of 2.3 (OGC 12-007r2, ogckml23.xsd)
#: needs a validator of XSD 1.1 and cannot be copied here, so what it keeps was looked up by hand.
KEPT_IN_KML_23 = frozenset(
    (
        "kml", "Document", "Placemark", "name", "description", "Camera", "longitude", "latitude",
        "altitude", "heading", "tilt", "altitudeMode", "Point", "LineString", "coordinates",
    )
)  # fmt: skip
KML = "{http://www.opengis.net/kml/2.2}"


@pytest.fixture(scope="module")
def gpx_schema() -> xmlschema.XMLSchema:
    return xmlschema.XMLSchema(str(SCHEMAS / "gpx.xsd"))


@pytest.fixture(scope="module")
def kml_schema() -> xmlschema.XMLSchema:
    return xmlschema.XMLSchema(str(SCHEMAS / "ogckml22.xsd"))


@cache
def seen_at(stem: str) -> tuple[Plan, Forecast]:
    """A ready site with its forecast, worked out once."""
    plan = load(SITES[stem])
    return plan, forecast(plan, "A")


@pytest.fixture(params=sorted(SITES))
def site(request: pytest.FixtureRequest) -> tuple[Plan, Forecast]:
    return seen_at(request.param)


def written(name: ExportName, site: tuple[Plan, Forecast]) -> bytes:
    return EXPORTS[name].content(*site, MADE_S)


def named(name: str) -> tuple[Plan, Forecast]:
    """A site under another name; no figure depends on what a place is called."""
    plan, seen = seen_at("porto_carimba")
    return with_values(plan, {"place.name": name}), seen


def parsed(content: bytes) -> ET.Element:
    return ET.fromstring(content)  # noqa: S314 (our own)


def instant(text: str) -> float:
    return dt.datetime.fromisoformat(text).timestamp()


# ---- places ----


@given(
    latitude=st.floats(-90.0, 90.0),
    longitude=st.floats(-180.0, 180.0),
    east=st.floats(-5000.0, 5000.0),
    north=st.floats(-5000.0, 5000.0),
    up=st.floats(0.0, 500.0),
)
@example(latitude=90.0, longitude=0.0, east=300.0, north=-200.0, up=80.0)
@example(latitude=0.0, longitude=180.0, east=300.0, north=0.0, up=0.0)
def test_metres_about_the_launch_point_are_metres_on_the_earth(
    latitude: float, longitude: float, east: float, north: float, up: float
) -> None:
    # Skyfield turns WGS 84 into the earth's own axes independently.
    def axes(lat: float, lon: float, height: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        xyz = wgs84.latlon(lat, lon, elevation_m=height).itrs_xyz.m
        return np.asarray(xyz, dtype=np.float64)

    there = [float(value) for value in place_at(latitude, longitude, 120.0, east, north, up)]
    step = axes(*there) - axes(latitude, longitude, 120.0)
    lat, lon = np.radians([latitude, longitude])
    to_east = np.array([-np.sin(lon), np.cos(lon), 0.0])
    to_up = np.array([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)])
    to_north = np.cross(to_up, to_east)
    found = [float(step @ axis) for axis in (to_east, to_north, to_up)]
    assert found == pytest.approx([east, north, up], abs=1e-3)
    assert -180.0 <= there[1] <= 180.0


def spot_tuple(spot: Spot) -> tuple[float, float, float]:
    return spot.latitude_deg, spot.longitude_deg, spot.elevation_m


# ---- GPX ----


def test_gpx_is_the_track_of_the_plan(
    site: tuple[Plan, Forecast], gpx_schema: xmlschema.XMLSchema
) -> None:
    content = written("gpx", site)
    gpx_schema.validate(io.BytesIO(content))
    plan, seen = site
    read = gpxpy.parse(content.decode())
    track = track_of(plan, seen.outlook)
    assert read.creator == "Duskwright"
    waypoints = [(w.latitude, w.longitude, w.elevation) for w in read.waypoints]
    assert waypoints == [spot_tuple(spot) for spot in (track.launch, *track.stations)]
    points = read.tracks[0].segments[0].points
    report = forecast_report(seen)["frames"]
    assert isinstance(report, list)
    assert [(p.latitude, p.longitude, p.elevation) for p in points] == [
        spot_tuple(spot) for spot in track.frames
    ]
    times = [point.time.timestamp() for point in points if point.time is not None]
    assert times == pytest.approx([instant(frame["time"]) for frame in report], abs=0.001)
    assert read.time is not None
    assert read.time.timestamp() == MADE_S


def test_gpx_keeps_to_its_range_on_the_date_line(gpx_schema: xmlschema.XMLSchema) -> None:
    plan = with_values(load(SITES["porto_carimba"]), {"place.longitude_deg": 180.0})
    content = written("gpx", (plan, forecast(plan, "A")))
    gpx_schema.validate(io.BytesIO(content))
    assert 'lon="-180.0000000"' in content.decode()


# ---- KML ----


def test_kml_is_the_path_of_the_plan(
    site: tuple[Plan, Forecast], kml_schema: xmlschema.XMLSchema
) -> None:
    document = parsed(written("kml", site))
    # The one thing that 2.3 adds to what is written here, see the folder's README. Left out, a
    # reader takes the file for 2.2 (the attribute's default).
    assert document.attrib.pop("version") == "2.3"
    assert {part.tag.removeprefix(KML) for part in document.iter()} <= KEPT_IN_KML_23
    kml_schema.validate(ET.ElementTree(document))
    plan, seen = site
    track = track_of(plan, seen.outlook)
    marks = document.findall(f"{KML}Document/{KML}Placemark")
    assert marks[0].findtext(f"{KML}name") == plan.place.name
    points = [mark.findtext(f"{KML}Point/{KML}coordinates") for mark in marks[:-1]]
    expected = [spot_tuple(spot) for spot in (track.launch, *track.stations)]
    assert [read_position(point or "") for point in points] == expected
    for mark, spot in zip(marks[1:-1], track.stations, strict=True):
        camera = {part.tag.removeprefix(KML): part.text for part in mark[2]}
        assert float(camera["heading"] or "") == spot.heading_deg
        # Tilt counts from straight down (OGC 12-007r2, 14.2.2).
        assert float(camera["tilt"] or "") == pytest.approx((spot.pitch_deg or 0.0) + 90.0)
        # Narrowed in 2.3: angle360Type and anglepos180Type.
        assert -360.0 <= float(camera["heading"] or "") <= 360.0
        assert 0.0 <= float(camera["tilt"] or "") <= 180.0
    line = marks[-1].findtext(f"{KML}LineString/{KML}coordinates") or ""
    assert [read_position(one) for one in line.split()] == [spot_tuple(s) for s in track.frames]


def read_position(text: str) -> tuple[float, float, float]:
    longitude, latitude, height = (float(part) for part in text.split(","))
    return latitude, longitude, height


# ---- GeoJSON ----


def test_geojson_is_the_path_of_the_plan(site: tuple[Plan, Forecast]) -> None:
    plan, seen = site
    read = geojson.loads(written("geojson", site).decode())
    assert read.is_valid
    assert read.errors() == []
    launch, *stations, path = read["features"]
    track = track_of(plan, seen.outlook)
    assert launch["properties"]["name"] == plan.place.name
    for feature, spot in zip((launch, *stations), (track.launch, *track.stations), strict=True):
        latitude, longitude, height = spot_tuple(spot)
        # This reader keeps six decimals, a tenth of a metre.
        there = pytest.approx([longitude, latitude, height], abs=6e-7)
        assert feature["geometry"]["coordinates"] == there
    assert path["geometry"]["type"] == "LineString"
    assert len(path["geometry"]["coordinates"]) == seen.outlook.clip.frames
    start = instant(path["properties"]["start"])
    assert start == pytest.approx(seen.outlook.press_s, abs=0.001)


def test_a_take_from_one_place_is_a_point() -> None:
    plan = with_values(load(SITES["porto_carimba"]), {"path.stations.1.east_m": 50.0})
    stations = (plan.path.stations[0],)
    plan = with_values(plan, {"path.stations": stations})
    read = geojson.loads(written("geojson", (plan, forecast(plan, "A"))).decode())
    assert read.is_valid
    assert read["features"][-1]["geometry"]["type"] == "Point"


# ---- tables ----


def test_the_table_and_the_json_hold_the_forecasts_frames(site: tuple[Plan, Forecast]) -> None:
    plan, seen = site
    rows = list(csv.DictReader(io.StringIO(written("csv", site).decode())))
    told = json.loads(written("json", site))
    assert {key: told[key] for key in ("night", "clip", "flight", "starts")} == {
        key: json.loads(json.dumps(forecast_report(seen)[key]))
        for key in ("night", "clip", "flight", "starts")
    }
    assert told["place"]["name"] == plan.place.name
    assert told["shoot"]["interval_s"] == seen.outlook.shoot.interval_s
    assert len(rows) == len(told["frames"]) == seen.outlook.clip.frames
    track = track_of(plan, seen.outlook)
    for row, frame, spot in zip(rows, told["frames"], track.frames, strict=True):
        assert row["time"] == frame["time"]
        street = frame["tones"]["street"]["stops"]
        assert float(row["street_stops"]) == street
        assert float(row["latitude_deg"]) == frame["pose"]["latitude_deg"] == spot.latitude_deg
        assert float(row["heading_deg"]) == frame["pose"]["heading_deg"] == spot.heading_deg


# ---- calendar ----


def events_of(content: bytes) -> dict[str, Any]:
    """The events of a calendar by the kind of their step."""
    events: list[Any] = Calendar.from_ical(content).events
    return {str(event["uid"]).split("-")[-2]: event for event in events}


def test_the_calendar_rings_for_the_steps_of_the_plan(site: tuple[Plan, Forecast]) -> None:
    plan, seen = site
    content = written("ics", site)
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    table = timetable_of(plan, seen.outlook)
    steps = [s for s in (*table.steps, *table.bounds) if s.kind in ALARMS_MIN]
    events = events_of(content)
    assert set(events) == {step.kind for step in steps}
    for step in steps:
        event = events[step.kind]
        begins = event["dtstart"].dt
        # To the second, and never later than it is.
        assert 0.0 <= step.time_s - begins.timestamp() < 1.0
        assert event["dtend"].dt > begins
        assert str(event["description"]).startswith(step.do)
        rings = sorted(-alarm["trigger"].dt for alarm in event.walk("valarm"))
        assert rings == [dt.timedelta(minutes=m) for m in sorted(ALARMS_MIN[step.kind])]
    other = vobject.readOne(content.decode())
    starts = sorted(event.dtstart.value for event in other.vevent_list)
    assert starts == sorted(event["dtstart"].dt for event in events.values())


def test_a_newer_calendar_renews_the_entries_of_an_older_one() -> None:
    plan = load(SITES["porto_carimba"])
    moved = with_values(plan, {"shoots.A.start_after_event_min": 20.0})
    first, second = (events_of(written("ics", (p, forecast(p, "A")))) for p in (plan, moved))
    assert {str(one["uid"]) for one in first.values()} == {
        str(one["uid"]) for one in second.values()
    }
    assert first["take_off"]["dtstart"].dt != second["take_off"]["dtstart"].dt


# ---- names ----


def names_in(site: tuple[Plan, Forecast]) -> dict[str, str]:
    """The place's name as another reader finds it in each export that has it by itself."""
    kml = parsed(written("kml", site))
    point = geojson.loads(written("geojson", site).decode())["features"][0]
    event = events_of(written("ics", site))["take_off"]
    return {
        "kml": kml.findtext(f"{KML}Document/{KML}Placemark/{KML}name") or "",
        "geojson": point["properties"]["name"],
        "ics": str(event["location"]),
    }


def test_a_hard_name_survives_every_export(
    gpx_schema: xmlschema.XMLSchema, kml_schema: xmlschema.XMLSchema
) -> None:
    site = named(HARD_NAME)
    assert set(names_in(site).values()) == {HARD_NAME}
    assert json.loads(written("json", site))["place"]["name"] == HARD_NAME
    gpx = written("gpx", site)
    gpx_schema.validate(io.BytesIO(gpx))
    said = gpxpy.parse(gpx.decode()).name
    assert said is not None
    assert said.startswith(" ".join(HARD_NAME.split()))
    document = parsed(written("kml", site))
    del document.attrib["version"]
    kml_schema.validate(ET.ElementTree(document))


@settings(max_examples=25)
@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40))
@example("\x01\x0b bell\x07\r\nnext\u2028line\ufffe\x85")
def test_any_name_leaves_files_that_can_be_read(name: str) -> None:
    site = named(name)
    for name_of_format in EXPORT_NAMES:
        assert written(name_of_format, site)
    found = names_in(site)
    expected = plain(name)
    # Readers of XML and of calendars may trim a text that is all blank.
    assert {one.strip() for one in found.values()} == {expected.strip()}
