"""The path from above as a sketch shows it: pure functions of the plan and its outlook."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from core.language import say
from core.measures import length_text
from core.outlook import Outlook
from core.path import Poses, half_field_tangents, poses_along, station_ways
from core.plan import Path, Plan, ShootName
from core.stepwords import look_text
from core.words import station_word

#: East and north of the launch point, m.
Metres = tuple[float, float]
#: A path on the spot is shown on ground so wide.
_LEAST_SPAN_M = 20.0
_CURVE_POSES = 81


@dataclass(frozen=True)
class PlanView:
    """North up, the same scale both ways; `middle_m` lies in the middle of the picture."""

    width_px: float
    height_px: float
    px_per_m: float
    middle_m: Metres

    def xy(self, place_m: Metres) -> tuple[float, float]:
        """Pixels from the top left."""
        east, north = (at - middle for at, middle in zip(place_m, self.middle_m, strict=True))
        return (
            self.width_px / 2.0 + east * self.px_per_m,
            self.height_px / 2.0 - north * self.px_per_m,
        )

    def metres(self, x: float, y: float) -> Metres:
        """East and north of a point of the picture."""
        return (
            self.middle_m[0] + (x - self.width_px / 2.0) / self.px_per_m,
            self.middle_m[1] - (y - self.height_px / 2.0) / self.px_per_m,
        )


def fitted_view(
    points_m: Iterable[Metres],
    width_px: float,
    height_px: float,
    margin_px: float,
    above_px: float = 0.0,
) -> PlanView:
    """The view in which points fill a picture but for a margin, and a strip above."""
    places = np.array(list(points_m), dtype=float)
    low, high = places.min(axis=0), places.max(axis=0)
    across, up = np.maximum(high - low, _LEAST_SPAN_M)
    room_x, room_y = (max(side - 2.0 * margin_px, 1.0) for side in (width_px, height_px - above_px))
    middle = (low + high) / 2.0
    scale = min(room_x / across, room_y / up)
    north_m = middle[1] + above_px / 2.0 / scale
    return PlanView(width_px, height_px, float(scale), (float(middle[0]), float(north_m)))


@dataclass(frozen=True)
class Eye:
    """Where the camera is and where it looks."""

    place_m: Metres
    heading_deg: float


@dataclass(frozen=True)
class Spot:
    """A station as it is flown; `number` is its place in the plan's list.

    `aim_m` is the point that it looks at, None where its heading is typed.
    """

    number: int
    word: str
    eye: Eye
    up_m: float
    pitch_deg: float
    aim_m: Metres | None

    def told(self) -> str:
        """The station in words."""
        look = look_text(self.eye.heading_deg, self.pitch_deg)
        return say(
            "{station}: {height} up, {look}",
            station=self.word,
            height=length_text(self.up_m),
            look=look,
        )


@dataclass(frozen=True)
class Sketch:
    """What is drawn of a path as a shoot flies it.

    `curve_m` is the way between the stations, `half_field_deg` how far the frame reaches to
    either side, `glow_deg` the sun's bearing half way through the take, `now` the camera at the
    reading position on the clock, None outside the take.
    """

    spots: tuple[Spot, ...]
    curve_m: tuple[Metres, ...]
    half_field_deg: float
    glow_deg: float
    shoot: ShootName
    now: Eye | None = None

    def points_m(self) -> Iterator[Metres]:
        """All that should be seen: the launch point and the way with its stations."""
        yield (0.0, 0.0)
        yield from self.curve_m


def sketch_of(plan: Plan, seen: Outlook, cursor_s: float | None) -> Sketch:
    """The path of a shoot under the glow of its night, with its camera at an instant."""
    tones = seen.tones
    now = None
    if cursor_s is not None and seen.press_s <= cursor_s <= seen.last_frame_s:
        frame = int(np.argmin(np.abs(tones.time_s - cursor_s)))
        (now,) = _eyes(poses_along(seen.path, tones.way[frame]))
    return Sketch(
        spots=_spots(seen.path, backwards=seen.shoot.path_reversed),
        curve_m=_curve_m(seen.path),
        half_field_deg=math.degrees(math.atan(half_field_tangents(plan.camera)[0])),
        glow_deg=float(tones.sun_azimuth_deg[len(tones.time_s) // 2]),
        shoot=seen.name,
        now=now,
    )


# A slider moves no station: the last paths are kept as they were reckoned.


@lru_cache(maxsize=4)
def _curve_m(path: Path) -> tuple[Metres, ...]:
    poses = poses_along(path, np.linspace(0.0, 1.0, _CURVE_POSES))
    return tuple(eye.place_m for eye in _eyes(poses))


@lru_cache(maxsize=4)
def _spots(path: Path, *, backwards: bool) -> tuple[Spot, ...]:
    """The stations in the order of the flight; `backwards` where that is not the plan's."""
    count = len(path.stations)
    poses = poses_along(path, station_ways(path))
    pitches = poses.pitch_deg.tolist()
    return tuple(
        Spot(
            number=count - 1 - at if backwards else at,
            word=station_word(at, count),
            eye=Eye((station.east_m, station.north_m), eye.heading_deg),
            up_m=station.up_m,
            pitch_deg=pitch,
            aim_m=station.look_at[:2] if station.look_at else None,
        )
        for at, (station, eye, pitch) in enumerate(
            zip(path.stations, _eyes(poses), pitches, strict=True)
        )
    )


def _eyes(poses: Poses) -> list[Eye]:
    rows = zip(poses.east_m, poses.north_m, poses.heading_deg, strict=True)
    return [Eye((float(east), float(north)), float(heading)) for east, north, heading in rows]
