"""Where the pixels of a picture look: rays, and the ground they meet.

A pinhole without roll. So everything that depends on the height of a ray alone is the same
along a row of the picture, and the ground under a row is a straight line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from core.path import half_field_tangents
from core.plan import Camera

Pixels: TypeAlias = NDArray[np.float32]

#: Sines flatter than this do not meet the ground: beyond 50 km from 50 m up.
_LEVEL = 1e-3


@dataclass(frozen=True)
class Screen:
    """The picture before the lens at distance 1.

    `across` (cols,) and `up` (rows, 1) are tangents of the pixels' middles, right and up;
    `pixel_across`, `pixel_up` the size of a pixel in the same measure.
    """

    across: Pixels
    up: Pixels
    pixel_across: float
    pixel_up: float


@dataclass(frozen=True)
class View:
    """The rays of one pose: right `across`, level `forward`, `height`, not normalised.

    `across` is (cols,), the others (rows, 1): a camera without roll. `pixel_across` and
    `pixel_up` are those of the screen.
    """

    heading_deg: float
    across: Pixels
    forward: Pixels
    height: Pixels
    pixel_across: float
    pixel_up: float

    def rows(self, first: int, last: int) -> View:
        """The same rays from one row to another, the last one left out."""
        part = slice(first, last)
        return View(
            self.heading_deg,
            self.across,
            self.forward[part],
            self.height[part],
            self.pixel_across,
            self.pixel_up,
        )

    def altitude_deg(self) -> Pixels:
        """Altitude above the level of the camera, (rows, cols)."""
        return np.degrees(np.arctan2(self.height, np.hypot(self.across, self.forward)))

    def azimuth_deg(self) -> Pixels:
        """Azimuth from north, not brought into one turn, (rows, cols)."""
        turn: Pixels = np.degrees(np.arctan2(self.across, self.forward))
        return np.asarray(turn + np.float32(self.heading_deg))

    def row_height_deg(self) -> Pixels:
        """How much of altitude a pixel spans from its lower to its upper edge, (rows, cols)."""
        squared = self.across**2 + self.forward**2 + self.height**2
        return np.asarray(np.degrees(self.pixel_up / squared * np.sqrt(1.0 + self.across**2)))


@dataclass(frozen=True)
class GroundPoints:
    """Where rays meet flat ground, in metres from the launch point; (rows, cols).

    `distance_m` lies along the ground from under the camera. `across_m` and `along_m` are a
    pixel's footprint across the line of sight and along it.
    """

    east_m: Pixels
    north_m: Pixels
    toward_east: Pixels
    toward_north: Pixels
    distance_m: Pixels
    across_m: Pixels
    along_m: Pixels


def screen_of(camera: Camera, rows: int, cols: int) -> Screen:
    """The pixels of a picture that shows the camera's whole frame."""
    half_width, half_height = half_field_tangents(camera)
    across = half_width * (2.0 * (np.arange(cols) + 0.5) / cols - 1.0)
    up = half_height * (1.0 - 2.0 * (np.arange(rows) + 0.5) / rows)
    return Screen(
        across.astype(np.float32),
        up.astype(np.float32)[:, None],
        2.0 * half_width / cols,
        2.0 * half_height / rows,
    )


def view_of(screen: Screen, heading_deg: float, pitch_deg: float) -> View:
    """The rays of one pose; pitch up is positive."""
    pitch = float(np.radians(pitch_deg))
    sine, cosine = float(np.sin(pitch)), float(np.cos(pitch))
    return View(
        heading_deg,
        screen.across,
        cosine - screen.up * sine,
        sine + screen.up * cosine,
        screen.pixel_across,
        screen.pixel_up,
    )


def first_ground_row(view: View) -> int:
    """The first row whose rays go down to the ground; all below it do."""
    return int((view.height[:, 0] > -_LEVEL).sum())


def ground_points(view: View, east_m: float, north_m: float, up_m: float) -> GroundPoints:
    """Where rays that go down meet the ground `up_m` below a camera at east and north."""
    heading = float(np.radians(view.heading_deg))
    sine, cosine = float(np.sin(heading)), float(np.cos(heading))
    depth = up_m / -view.height
    toward_east = depth * (view.forward * sine + view.across * cosine)
    toward_north = depth * (view.forward * cosine - view.across * sine)
    distance = depth * np.hypot(view.across, view.forward)
    slant_over_up = np.hypot(distance, up_m) / up_m
    return GroundPoints(
        east_m=toward_east + east_m,
        north_m=toward_north + north_m,
        toward_east=toward_east,
        toward_north=toward_north,
        distance_m=distance,
        across_m=np.broadcast_to(depth * view.pixel_across, distance.shape),
        along_m=depth * view.pixel_up * slant_over_up,
    )
