"""Where a frame looks: which pixels are sky or ground, and where ground goes from pose to pose.

A pinhole over flat ground at the height of the launch point, as `core.path` flies it. Pixels
are counted from the top left corner; a picture is the plan's frame at any size.
"""

from __future__ import annotations

import math
from dataclasses import astuple, dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.framesky import rays, sky_cover
from core.path import Poses, half_field_tangents, unrolled
from core.place import skyline_altitude_deg
from core.plan import Camera
from core.readonly import read_only

#: Ground further than so many heights off hardly moves and is haze; it tells no drift.
FAR_HEIGHTS = 12.0
#: The skyline is followed so far to either side of where a camera looks, in steps of a degree.
_SKYLINE_DEG = 89

Skyline = tuple[tuple[float, float], ...]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Pose:
    """One camera pose: metres from the launch point, degrees; it leans right by `roll_deg`."""

    east_m: float
    north_m: float
    up_m: float
    heading_deg: float
    pitch_deg: float
    roll_deg: float = 0.0


def each_pose(poses: Poses) -> list[Pose]:
    """Poses one by one."""
    rolls = np.full_like(poses.pitch_deg, poses.roll_deg)
    rows = zip(
        poses.east_m, poses.north_m, poses.up_m, poses.heading_deg, poses.pitch_deg, rolls,
        strict=True,
    )  # fmt: skip
    return [Pose(*(float(value) for value in row)) for row in rows]


def moved(pose: Pose, by: FloatArray) -> Pose:
    """A pose that others departed from by six figures, in the order of its fields."""
    return Pose(*(float(one) for one in astuple(pose) + by))


@dataclass(frozen=True)
class Lens:
    """The picture's size in pixels and the tangents of half its field."""

    columns: int
    rows: int
    half_width: float
    half_height: float

    @classmethod
    def of(cls, camera: Camera, columns: int, rows: int) -> Lens:
        """The camera's lens over a picture of so many pixels."""
        return cls(columns, rows, *half_field_tangents(camera))

    @classmethod
    def within(cls, camera: Camera, columns: int, rows: int) -> Lens:
        """The camera's lens over the middle of a picture that has the plan's aspect."""
        across, down = half_field_tangents(camera)
        middle = (
            min(columns, round(rows * across / down)),
            min(rows, round(columns * down / across)),
        )
        return cls(*middle, across, down)

    # Plain numbers of the pose keep pictures of small floats small.

    def ground(self, pose: Pose, x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
        """East and north of where pixels meet the ground; NaN where they do not, or far off."""
        across = self.half_width * (2.0 * x / self.columns - 1.0)
        up = self.half_height * (1.0 - 2.0 * y / self.rows)
        across, up = unrolled(across, up, pose.roll_deg)
        pitch, heading = math.radians(pose.pitch_deg), math.radians(pose.heading_deg)
        forward = math.cos(pitch) - up * math.sin(pitch)
        height = math.sin(pitch) + up * math.cos(pitch)
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = np.where(height < 0.0, pose.up_m / -height, np.nan)
            near = np.hypot(across, forward) * reach < FAR_HEIGHTS * pose.up_m
        reach = np.where(near, reach, np.nan)
        east = reach * (forward * math.sin(heading) + across * math.cos(heading))
        north = reach * (forward * math.cos(heading) - across * math.sin(heading))
        return east + pose.east_m, north + pose.north_m

    def pixel(
        self, pose: Pose, east_m: FloatArray, north_m: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Where points of the ground lie in the picture; NaN behind the camera."""
        east, north = east_m - pose.east_m, north_m - pose.north_m
        heading = math.radians(pose.heading_deg)
        level = east * math.sin(heading) + north * math.cos(heading)
        across = east * math.cos(heading) - north * math.sin(heading)
        return self._seen(pose, across, level, -pose.up_m)

    def rays(self, pose: Pose) -> FloatArray:
        """From directions (east, north, up) to the picture, (3, 3): x·s, y·s and s.

        s is positive before the camera.
        """
        heading, pitch = math.radians(pose.heading_deg), math.radians(pose.pitch_deg)
        right = np.array([math.cos(heading), -math.sin(heading), 0.0])
        level = np.array([math.sin(heading), math.cos(heading), 0.0])
        upright = np.array([0.0, 0.0, 1.0])
        ahead = level * math.cos(pitch) + upright * math.sin(pitch)
        above = upright * math.cos(pitch) - level * math.sin(pitch)
        right, above = unrolled(right, above, -pose.roll_deg)
        x = (right / self.half_width + ahead) * self.columns / 2.0
        y = (ahead - above / self.half_height) * self.rows / 2.0
        return np.stack([x, y, ahead])

    def view(self, pose: Pose) -> FloatArray:
        """From the ground (east, north, 1) to the picture, (3, 3): x·s, y·s and s.

        The view of a plane is a homography (Hartley and Zisserman 2004, Multiple View Geometry,
        2nd ed., sec. 8.1.1).
        """
        rays = self.rays(pose)
        from_pose = np.array([pose.east_m, pose.north_m, pose.up_m])
        return np.column_stack([rays[:, 0], rays[:, 1], -rays @ from_pose])

    def skyline(self, pose: Pose, skyline: Skyline) -> tuple[FloatArray, FloatArray]:
        """Where the edge of the sky lies in the picture, from left to right; NaN far aside."""
        aside_deg = np.arange(-_SKYLINE_DEG, _SKYLINE_DEG + 1, dtype=float)
        altitude_deg = skyline_altitude_deg(skyline, (pose.heading_deg + aside_deg) % 360.0)
        aside = np.radians(aside_deg)
        return self._seen(pose, np.sin(aside), np.cos(aside), np.tan(np.radians(altitude_deg)))

    def _seen(
        self, pose: Pose, across: FloatArray, level: FloatArray, height: FloatArray | float
    ) -> tuple[FloatArray, FloatArray]:
        """Pixels of what lies so far right of a pose, ahead of it and above it."""
        pitch = math.radians(pose.pitch_deg)
        forward = level * math.cos(pitch) + height * math.sin(pitch)
        forward = np.where(forward > 0.0, forward, np.nan)
        up = height * math.cos(pitch) - level * math.sin(pitch)
        across, up = unrolled(across / forward, up / forward, -pose.roll_deg)
        x = (across / self.half_width + 1.0) * self.columns / 2.0
        y = (1.0 - up / self.half_height) * self.rows / 2.0
        return x, y


def masks(poses: Poses, camera: Camera, skyline: Skyline, columns: int, rows: int) -> Mask:
    """Whether each cell of a coarse grid is all sky, and all ground, (2, pose, rows, columns).

    A cell beside the edge of the sky is neither: a craft holds its pitch to a degree.
    """
    edges = np.linspace(0.0, 1.0, rows + 1)
    cover = sky_cover(*rays(poses, camera, columns, edges), skyline)
    padded = np.pad(cover, ((0, 0), (1, 1), (0, 0)), mode="edge")
    nearby = np.stack([padded[:, :-2], cover, padded[:, 2:]])
    return np.stack([nearby.min(axis=0) >= 1.0, nearby.max(axis=0) <= 0.0])


@lru_cache(maxsize=4)
def off_middle(rows: int, columns: int) -> NDArray[np.float32]:
    """Square of each pixel's distance from the middle of the lens, in half diagonals."""
    y = (np.arange(rows, dtype=np.float32) + 0.5 - rows / 2.0)[:, None]
    x = np.arange(columns, dtype=np.float32) + 0.5 - columns / 2.0
    squared = (x**2 + y**2) / ((rows**2 + columns**2) / 4.0)
    return read_only(np.asarray(squared, dtype=np.float32))
