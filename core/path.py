"""The camera's path: where it is and where it looks, frame by frame.

Positions run along a centripetal curve through the stations; heading takes the
shortest turn; pitch and heading follow the same time law. Headings and pitches are
interpolated as such, never as a rotation: a quaternion between two headings and two
pitches rolls the horizon on the way.

The way is measured by arc length. Between stations at one place it is measured by
the turn of the camera, a degree as a metre (`TURN_M_PER_DEG`): so a pan on the spot
takes its share of the take. Stations at one place that look the same way take none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.exposure import FloatArray
from core.plan import Camera, Path, Station
from core.readonly import read_only

#: Share of the take spent easing in, and as much easing out, with a constant middle.
RAMP_SHARE = 0.15
#: Half diagonal of the 36 × 24 mm frame that equivalent focal lengths refer to, mm.
HALF_DIAGONAL_MM = 21.633
#: Way that a degree of turn on the spot counts as, m: the picture then shifts as it does
#: in a flight past what stands 57 m away, 1 / tan(1°). Engineering judgement, no source.
TURN_M_PER_DEG = 1.0
#: Stations nearer than this are one place: the craft holds no better (common practice).
ONE_PLACE_M = 1.0
#: Nearer than this to straight up or down, m, a point has no bearing.
_NO_BEARING_M = 1e-3
#: How far along the way the next pose's bearing is looked up.
_NEXT_WAY = 1e-3
#: Points that stand for the curve between two stations.
_PIECE = 40


@dataclass(frozen=True)
class Poses:
    """Camera poses: metres from the launch point, degrees; one row a pose.

    All lean to the right by `roll_deg`, which no path plans.
    """

    east_m: FloatArray
    north_m: FloatArray
    up_m: FloatArray
    heading_deg: FloatArray
    pitch_deg: FloatArray
    roll_deg: float = 0.0


@dataclass(frozen=True)
class Tilt:
    """By how many degrees a camera looked higher than planned, and leaned to the right.

    A horizon then lies lower in the picture, and higher at its right end.
    """

    pitch_deg: float = 0.0
    roll_deg: float = 0.0


#: The camera as planned.
LEVEL = Tilt()


def minimum_jerk(share: ArrayLike) -> FloatArray:
    """Share of the way done at a share of the time: 10u³ - 15u⁴ + 6u⁵.

    Flash & Hogan 1985, J. Neurosci. 5:1688. Domain and range [0, 1].
    """
    u = np.clip(np.asarray(share, dtype=float), 0.0, 1.0)
    return np.asarray(u**3 * (10.0 + u * (6.0 * u - 15.0)))


def constant_middle(share: ArrayLike, ramp_share: float = RAMP_SHARE) -> FloatArray:
    """Share of the way done when speed ramps up, holds, and ramps down.

    Both ramps follow smoothstep in speed over `ramp_share` of the time, in (0, 0.5];
    the steady speed is 1 / (1 - ramp_share) of the mean.
    """
    u = np.clip(np.asarray(share, dtype=float), 0.0, 1.0)
    speed = 1.0 / (1.0 - ramp_share)

    def ramp(v: FloatArray) -> FloatArray:
        # Integral of smoothstep 3w² - 2w³ from 0 to v, in units of the ramp.
        return ramp_share * (v**3 - v**4 / 2.0)

    begin = ramp(np.minimum(u / ramp_share, 1.0))
    middle = np.clip(u, ramp_share, 1.0 - ramp_share) - ramp_share
    end = ramp_share / 2.0 - ramp(np.minimum((1.0 - u) / ramp_share, 1.0))
    return np.asarray(speed * (begin + middle + np.where(u > 1.0 - ramp_share, end, 0.0)))


def time_law(path: Path, share: ArrayLike) -> FloatArray:
    """Share of the way done at shares of the take's time, by the path's timing."""
    return minimum_jerk(share) if path.timing == "minimum_jerk" else constant_middle(share)


def half_field_tangents(camera: Camera) -> tuple[float, float]:
    """Tangents of half the field of view, across and down the frame.

    The equivalent focal length refers to the diagonal of the full sensor, which is 4:3
    in this class; the other aspects are crops of its full width or height.
    """
    diagonal = HALF_DIAGONAL_MM / camera.focal_equivalent_mm
    across, down = 0.8 * diagonal, 0.6 * diagonal
    width, height = (float(side) for side in camera.aspect.split(":"))
    aspect = width / height
    if aspect >= 4.0 / 3.0:
        return across, across / aspect
    return down * aspect, down


def focal_px(camera: Camera, width_px: float) -> float:
    """Focal length in pixels of a frame `width_px` wide."""
    return width_px / 2.0 / half_field_tangents(camera)[0]


def poses_along(path: Path, way: ArrayLike) -> Poses:
    """Poses at shares of the way, 0 at the first station and 1 at the last.

    Looking straight up or down at a point, the heading is that of the next pose (at the
    end of the way, of the one before); where these have none either, that of the stations.
    """
    way = np.atleast_1d(np.asarray(way, dtype=float))
    measured = _measured(path)
    positions = measured.positions(way)
    heading, pitch = measured.looks(way)
    if all(s.look_at is not None for s in path.stations):
        aim = measured.aim(way)
        pitch = _altitude_deg(aim)
        step = np.where(way + _NEXT_WAY <= 1.0, _NEXT_WAY, -_NEXT_WAY)
        for near in (measured.aim(way + step), aim):
            heading = np.where(_has_bearing(near), _bearing_deg(near), heading)
    east, north, up = positions.T
    return read_only(Poses(east, north, up, heading % 360.0, pitch))


def tilted(poses: Poses, tilt: Tilt) -> Poses:
    """Poses of a camera that is off by a tilt all along the path."""
    return read_only(
        replace(
            poses,
            pitch_deg=poses.pitch_deg + tilt.pitch_deg,
            roll_deg=poses.roll_deg + tilt.roll_deg,
        )
    )


def unrolled(across: FloatArray, up: FloatArray, roll_deg: float) -> tuple[FloatArray, FloatArray]:
    """Right and up before a level camera of what lies there before one that leans to the right."""
    if roll_deg == 0.0:
        return across, up
    # Plain numbers keep arrays of small floats small.
    along, aside = math.cos(math.radians(roll_deg)), math.sin(math.radians(roll_deg))
    return across * along + up * aside, up * along - across * aside


def station_ways(path: Path) -> FloatArray:
    """Share of the way at every station, 0 at the first; 1 at the last of several."""
    return _measured(path).knots


def reversed_path(path: Path) -> Path:
    """The same path flown from its last station to its first."""
    return Path(timing=path.timing, stations=path.stations[::-1])


@dataclass(frozen=True)
class _Measured:
    """The way measured: dense points of the curve and the stations, each at its share."""

    stations: tuple[Station, ...]
    dense: FloatArray
    ways: FloatArray
    knots: FloatArray

    def positions(self, way: FloatArray) -> FloatArray:
        """Where the camera is at shares of the way, (n, 3)."""
        return _between(way, self.ways, self.dense)

    def looks(self, way: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Heading (unwrapped) and pitch between those of the stations."""
        looks = _looks(self.stations)
        return np.interp(way, self.knots, looks[:, 0]), np.interp(way, self.knots, looks[:, 1])

    def aim(self, way: FloatArray) -> FloatArray:
        """From the camera to the point it looks at, (n, 3); every station has one."""
        targets = np.array([s.look_at for s in self.stations], dtype=float)
        return _between(way, self.knots, targets) - self.positions(way)


def _between(way: FloatArray, ways: FloatArray, points: FloatArray) -> FloatArray:
    return np.stack([np.interp(way, ways, points[:, k]) for k in range(3)], axis=1)


def _place(station: Station) -> tuple[float, float, float]:
    return station.east_m, station.north_m, station.up_m


def _looks(stations: tuple[Station, ...]) -> FloatArray:
    """Heading, turned on from station to station the short way round, and pitch, (n, 2)."""
    looks = np.array([_look(station) for station in stations])
    looks[:, 0] = np.degrees(np.unwrap(np.radians(looks[:, 0])))
    return looks


def _look(station: Station) -> tuple[float, float]:
    if station.look_at is None:
        return station.heading_deg, station.pitch_deg
    offset = np.array(station.look_at, dtype=float) - np.array(_place(station))
    heading = float(_bearing_deg(offset)) if _has_bearing(offset) else station.heading_deg
    return heading, float(_altitude_deg(offset))


def _has_bearing(offset: FloatArray) -> NDArray[np.bool_]:
    return np.asarray(np.hypot(offset[..., 0], offset[..., 1]) >= _NO_BEARING_M)


def _bearing_deg(offset: FloatArray) -> FloatArray:
    return np.asarray(np.degrees(np.arctan2(offset[..., 0], offset[..., 1])))


def _altitude_deg(offset: FloatArray) -> FloatArray:
    level = np.hypot(offset[..., 0], offset[..., 1])
    return np.asarray(np.degrees(np.arctan2(offset[..., 2], level)))


def _measured(path: Path) -> _Measured:
    stations = path.stations
    points = np.array([_place(station) for station in stations])
    if len(points) == 1:
        return _Measured(stations, points, np.zeros(1), np.zeros(1))
    spans = np.linalg.norm(np.diff(points, axis=0), axis=1)
    dense = _catmull_rom(points, np.sqrt(spans))
    turns = np.hypot(*np.diff(_looks(stations), axis=0).T)
    measure = np.concatenate([[0.0], np.cumsum(_steps_m(dense, spans, turns))])
    total = float(measure[-1])
    ways = measure / total if total > 0.0 else np.linspace(0.0, 1.0, len(dense))
    return _Measured(stations, dense, ways, ways[::_PIECE])


def _steps_m(dense: FloatArray, spans_m: FloatArray, turns_deg: FloatArray) -> FloatArray:
    """Way from each dense point to the next: arc length, or the turn where that is more."""
    steps = np.linalg.norm(np.diff(dense, axis=0), axis=1).reshape(-1, _PIECE)
    # Rounding along a piece of no length is no way.
    steps[spans_m == 0.0] = 0.0
    turns_m = np.where(spans_m < ONE_PLACE_M, TURN_M_PER_DEG * turns_deg, 0.0)
    turning = turns_m > steps.sum(axis=1)
    steps[turning] = turns_m[turning, None] / _PIECE
    return np.asarray(steps.ravel())


def _catmull_rom(points: FloatArray, spans: FloatArray) -> FloatArray:
    """Centripetal Catmull-Rom curve (Yuksel et al. 2011, alpha = 1/2), `_PIECE` points a piece.

    Written as a Hermite cubic with the tangents of the three-point (Lagrange) parabola;
    at the ends the neighbour is mirrored, so that two stations give a straight line.
    """
    spans = np.maximum(spans, 1e-9)
    slope = np.diff(points, axis=0) / spans[:, None]
    inner = (slope[:-1] * spans[1:, None] + slope[1:] * spans[:-1, None]) / (
        spans[:-1] + spans[1:]
    )[:, None]
    tangents = np.vstack([slope[:1], inner, slope[-1:]])
    w = np.linspace(0.0, 1.0, _PIECE, endpoint=False)[:, None]
    pieces = [
        (1 + 2 * w) * (1 - w) ** 2 * points[k]
        + w * (1 - w) ** 2 * span * tangents[k]
        + w**2 * (3 - 2 * w) * points[k + 1]
        + w**2 * (w - 1) * span * tangents[k + 1]
        for k, span in enumerate(spans)
    ]
    return np.vstack([*pieces, points[-1:]])
