"""KML 2.3: launch point, stations with where the camera looks, and the path between."""

from __future__ import annotations

from core.export.plain import headline, plain, summary
from core.export.track import Spot, Track, track_of
from core.export.xmltext import Element, add, root, written
from core.language import say
from core.outlook import Outlook
from core.plan import Plan
from core.stepwords import look_text

#: Every version of the standard keeps the namespace of 2.2.
NAMESPACE = "http://www.opengis.net/kml/2.2"
VERSION = "2.3"
#: From straight down, as the standard counts tilt, to level.
_LEVEL_DEG = 90.0


def kml(plan: Plan, seen: Outlook, _made_s: float) -> bytes:
    """Return a shoot's place and path as KML 2.3 (OGC 12-007r2).

    Nothing but the root's `version` is new in 2.3: without it the file would be one of 2.2.
    Heights are above sea level, by the elevation that the pilot typed for the place. The order of
    elements is the one that version 2.2 asks for as well.
    """
    document, track = root("kml", NAMESPACE, version=VERSION), track_of(plan, seen)
    body = add(document, "Document")
    add(body, "name", headline(plan, seen))
    add(body, "description", summary(seen))
    _placemark(body, track.launch, plain(plan.place.name))
    for station in track.stations:
        _placemark(body, station, station.name)
    _path(body, track)
    return written(document)


def _placemark(body: Element, spot: Spot, name: str) -> None:
    mark = add(body, "Placemark")
    add(mark, "name", name)
    if spot.heading_deg is not None and spot.pitch_deg is not None:
        add(mark, "description", look_text(spot.heading_deg, spot.pitch_deg))
        _camera(mark, spot, spot.heading_deg, spot.pitch_deg)
    point = add(mark, "Point")
    add(point, "altitudeMode", "absolute")
    add(point, "coordinates", _coordinates(spot))


def _camera(mark: Element, spot: Spot, heading_deg: float, pitch_deg: float) -> None:
    camera = add(mark, "Camera")
    add(camera, "longitude", f"{spot.longitude_deg:.7f}")
    add(camera, "latitude", f"{spot.latitude_deg:.7f}")
    add(camera, "altitude", f"{spot.elevation_m:.2f}")
    add(camera, "heading", f"{heading_deg:.2f}")
    add(camera, "tilt", f"{_LEVEL_DEG + pitch_deg:.2f}")
    add(camera, "altitudeMode", "absolute")


def _path(body: Element, track: Track) -> None:
    mark = add(body, "Placemark")
    add(mark, "name", say("Path"))
    line = add(mark, "LineString")
    add(line, "altitudeMode", "absolute")
    # A line has two points at least; a single frame has one.
    spots = track.frames if len(track.frames) > 1 else track.frames * 2
    add(line, "coordinates", " ".join(_coordinates(spot) for spot in spots))


def _coordinates(spot: Spot) -> str:
    return f"{spot.longitude_deg:.7f},{spot.latitude_deg:.7f},{spot.elevation_m:.2f}"
