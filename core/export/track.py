"""Where the launch point, the stations and every frame lie: what the tracks are written from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.geodesy import place_at
from core.language import say
from core.outlook import Outlook
from core.path import Poses, poses_along, station_ways
from core.plan import Place, Plan
from core.tones import frame_ways

#: The seventh decimal of a degree is a centimetre, as is the second one of a metre.
DEGREE_PLACES, METRE_PLACES = 7, 2


@dataclass(frozen=True)
class Spot:
    """A point of the flight.

    Degrees of WGS 84; `elevation_m` above sea level by the place's own figure, `up_m` above the
    launch point; heading and pitch of the camera in degrees, None for the launch point;
    `time_s` UTC seconds, of a frame only.
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    up_m: float
    heading_deg: float | None = None
    pitch_deg: float | None = None
    time_s: float | None = None


@dataclass(frozen=True)
class Track:
    """A take on the ground it is flown over: launch point, stations as flown, every frame."""

    launch: Spot
    stations: tuple[Spot, ...]
    frames: tuple[Spot, ...]


def track_of(plan: Plan, seen: Outlook) -> Track:
    """Where a shoot's camera is, by its outlook."""
    place, path = plan.place, seen.path
    stations = poses_along(path, station_ways(path))
    frames = poses_along(path, frame_ways(path, seen.clip.frames))
    times = [float(time_s) for time_s in seen.tones.time_s]
    launch = Spot(
        say("Launch"),
        _rounded(place.latitude_deg, DEGREE_PLACES),
        _rounded(place.longitude_deg, DEGREE_PLACES),
        _rounded(place.elevation_m, METRE_PLACES),
        0.0,
    )
    names = [say("Station {number}", number=number) for number in range(1, len(path.stations) + 1)]
    counted = [say("Frame {number}", number=number) for number in range(1, seen.clip.frames + 1)]
    return Track(
        launch,
        tuple(_spots(place, stations, names, [None] * len(names))),
        tuple(_spots(place, frames, counted, times)),
    )


def _spots(
    place: Place, poses: Poses, names: list[str], times: list[float] | list[None]
) -> list[Spot]:
    latitude, longitude, _ = place_at(
        place.latitude_deg,
        place.longitude_deg,
        place.elevation_m,
        poses.east_m,
        poses.north_m,
        poses.up_m,
    )
    rows = zip(
        names,
        *(_each(column, DEGREE_PLACES) for column in (latitude, longitude)),
        _each(place.elevation_m + poses.up_m, METRE_PLACES),
        *(_each(column, METRE_PLACES) for column in (poses.up_m, poses.heading_deg)),
        _each(poses.pitch_deg, METRE_PLACES),
        times,
        strict=True,
    )
    return [Spot(*row) for row in rows]


def _each(values: FloatArray, places: int) -> list[float]:
    return [_rounded(value, places) for value in np.atleast_1d(values)]


def _rounded(value: float, places: int) -> float:
    # Adding nought leaves no negative one.
    return round(float(value), places) + 0.0
