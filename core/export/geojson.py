"""GeoJSON: launch point, stations and path as features."""

from __future__ import annotations

from core.export.plain import headline, plain
from core.export.track import Spot, track_of
from core.outlook import Outlook
from core.plainvalues import Values, as_json, iso_time
from core.plan import Plan


def geojson(plan: Plan, seen: Outlook, _made_s: float) -> bytes:
    """Return a shoot's place and path as GeoJSON (RFC 7946), positions with their elevation.

    A take from one place has its path as a point: a line needs two that differ.
    """
    track, night = track_of(plan, seen), seen.night
    launch = _feature("Point", _position(track.launch), {"name": plain(plan.place.name)})
    stations = [
        _feature(
            "Point",
            _position(spot),
            {"name": spot.name, "heading_deg": spot.heading_deg, "pitch_deg": spot.pitch_deg},
        )
        for spot in track.stations
    ]
    way = [_position(spot) for spot in track.frames]
    about: Values = {
        "name": headline(plan, seen),
        "start": iso_time(night, seen.press_s),
        "end": iso_time(night, seen.last_frame_s),
        "frames": seen.clip.frames,
    }
    moves = any(position != way[0] for position in way)
    path = _feature("LineString", way, about) if moves else _feature("Point", way[0], about)
    return as_json({"type": "FeatureCollection", "features": [launch, *stations, path]}).encode()


def _position(spot: Spot) -> list[float]:
    # Section 3.1.1: longitude, latitude, height in metres.
    return [spot.longitude_deg, spot.latitude_deg, spot.elevation_m]


def _feature(kind: str, coordinates: object, properties: Values) -> Values:
    return {
        "type": "Feature",
        "geometry": {"type": kind, "coordinates": coordinates},
        "properties": properties,
    }
