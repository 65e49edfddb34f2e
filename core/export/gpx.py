"""GPX 1.1: launch point and stations as waypoints, the take as a track with a point a frame."""

from __future__ import annotations

from core.export.plain import PROGRAM, headline, summary
from core.export.track import DEGREE_PLACES, Spot, track_of
from core.export.xmltext import Element, add, root, written
from core.outlook import Outlook
from core.place import utc_text
from core.plan import Plan
from core.stepwords import look_text

NAMESPACE = "http://www.topografix.com/GPX/1/1"


def gpx(plan: Plan, seen: Outlook, made_s: float) -> bytes:
    """Return a shoot's place and path as GPX 1.1 (topografix.com/GPX/1/1, 2004).

    Times are when each frame is planned, in UTC; elevations are above sea level.

    Parameters
    ----------
    made_s
        When the file is made, UTC seconds.
    """
    document, track = root("gpx", NAMESPACE, version="1.1", creator=PROGRAM), track_of(plan, seen)
    about = add(document, "metadata")
    add(about, "name", headline(plan, seen))
    add(about, "desc", summary(seen))
    add(about, "time", utc_text(made_s))
    for spot in (track.launch, *track.stations):
        _point(document, "wpt", spot)
    way = add(document, "trk")
    add(way, "name", headline(plan, seen))
    segment = add(way, "trkseg")
    for spot in track.frames:
        _point(segment, "trkpt", spot)
    return written(document)


def _point(parent: Element, tag: str, spot: Spot) -> None:
    latitude, longitude = f"{spot.latitude_deg:.{DEGREE_PLACES}f}", _longitude(spot.longitude_deg)
    point = add(parent, tag, lat=latitude, lon=longitude)
    add(point, "ele", f"{spot.elevation_m:.2f}")
    if spot.time_s is not None:
        add(point, "time", utc_text(spot.time_s))
        return
    add(point, "name", spot.name)
    if spot.heading_deg is not None and spot.pitch_deg is not None:
        add(point, "desc", look_text(spot.heading_deg, spot.pitch_deg))


def _longitude(longitude_deg: float) -> str:
    # 180 itself lies outside the schema's range, which ends just below it.
    return f"{-180.0 if longitude_deg >= 180.0 else longitude_deg:.{DEGREE_PLACES}f}"
