"""The camera's path: where it is and where it looks, frame by frame.

Positions run along a centripetal curve through the stations, measured by arc
length; heading takes the shortest turn; pitch and heading follow the same time
law. Headings and pitches are interpolated as such, never as a rotation: a
quaternion between two headings and two pitches rolls the horizon on the way.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.exposure import FloatArray
from core.plan import Camera, Path, Station
from core.readonly import read_only

#: Share of the take spent easing in, and as much easing out, with a constant middle.
RAMP_SHARE = 0.15
#: Half diagonal of the 36 × 24 mm frame that equivalent focal lengths refer to, mm.
HALF_DIAGONAL_MM = 21.633


@dataclass(frozen=True)
class Poses:
    """Camera poses: metres from the launch point, degrees; one row a pose."""

    east_m: FloatArray
    north_m: FloatArray
    up_m: FloatArray
    heading_deg: FloatArray
    pitch_deg: FloatArray


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
    """Poses at shares of the way, 0 at the first station and 1 at the last."""
    way = np.atleast_1d(np.asarray(way, dtype=float))
    stations = path.stations
    points = np.array([(s.east_m, s.north_m, s.up_m) for s in stations])
    knots, positions = _positions(points, way)
    angles = np.array([_look(s) for s in stations])
    headings = np.degrees(np.unwrap(np.radians(angles[:, 0])))
    heading = np.interp(way, knots, headings)
    pitch = np.interp(way, knots, angles[:, 1])
    if all(s.look_at is not None for s in stations):
        targets = np.array([s.look_at for s in stations], dtype=float)
        aim = np.stack([np.interp(way, knots, targets[:, k]) for k in range(3)], axis=1)
        heading, pitch = _direction(aim - positions)
    east, north, up = positions.T
    return read_only(Poses(east, north, up, heading % 360.0, pitch))


def reversed_path(path: Path) -> Path:
    """The same path flown from its last station to its first."""
    return Path(timing=path.timing, stations=path.stations[::-1])


def way_length_m(path: Path) -> float:
    """Length of the camera's way through the stations, in metres."""
    points = np.array([(s.east_m, s.north_m, s.up_m) for s in path.stations])
    return float(_curve(points)[1][-1])


def _look(station: Station) -> tuple[float, float]:
    if station.look_at is None:
        return station.heading_deg, station.pitch_deg
    here = np.array((station.east_m, station.north_m, station.up_m))
    heading, pitch = _direction(np.array(station.look_at, dtype=float) - here)
    return float(heading), float(pitch)


def _direction(offset: FloatArray) -> tuple[FloatArray, FloatArray]:
    east, north, up = offset[..., 0], offset[..., 1], offset[..., 2]
    heading = np.degrees(np.arctan2(east, north)) % 360.0
    return heading, np.degrees(np.arctan2(up, np.hypot(east, north)))


def _curve(points: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Dense points of the curve, arc length at each, and arc length at each station."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1) if len(points) > 1 else np.zeros(0)
    if len(points) == 1 or float(steps.sum()) == 0.0:
        # Standing still: the way is shared out evenly among the stations.
        even = np.linspace(0.0, 1.0, len(points)) if len(points) > 1 else np.zeros(1)
        return points, even * 0.0, even
    dense, at_station = _catmull_rom(points, np.sqrt(steps))
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(dense, axis=0), axis=1))])
    return dense, length, length[at_station]


def _catmull_rom(points: FloatArray, spans: FloatArray) -> tuple[FloatArray, NDArray[np.int64]]:
    """Centripetal Catmull-Rom curve (Yuksel et al. 2011, alpha = 1/2), 40 points a piece.

    Written as a Hermite cubic with the tangents of the three-point (Lagrange) parabola;
    at the ends the neighbour is mirrored, so that two stations give a straight line.
    """
    spans = np.maximum(spans, 1e-9)
    slope = np.diff(points, axis=0) / spans[:, None]
    inner = (slope[:-1] * spans[1:, None] + slope[1:] * spans[:-1, None]) / (
        spans[:-1] + spans[1:]
    )[:, None]
    tangents = np.vstack([slope[:1], inner, slope[-1:]])
    w = np.linspace(0.0, 1.0, 40, endpoint=False)[:, None]
    pieces = [
        (1 + 2 * w) * (1 - w) ** 2 * points[k]
        + w * (1 - w) ** 2 * span * tangents[k]
        + w**2 * (3 - 2 * w) * points[k + 1]
        + w**2 * (w - 1) * span * tangents[k + 1]
        for k, span in enumerate(spans)
    ]
    dense = np.vstack([*pieces, points[-1:]])
    return dense, np.arange(len(points)) * 40


def _positions(points: FloatArray, way: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Shares of the way at the stations, and positions (n, 3) at the asked shares."""
    dense, length, at_station = _curve(points)
    total = float(length[-1])
    if total == 0.0:
        return np.asarray(at_station), np.stack(
            [np.interp(way, at_station, points[:, k]) for k in range(3)], axis=1
        )
    along = way * total
    positions = np.stack([np.interp(along, length, dense[:, k]) for k in range(3)], axis=1)
    return at_station / total, positions
