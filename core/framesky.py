"""What the lens sees of the sky, for every pose along the path and every sun.

Rays are traced once per path, lens, skyline and haze. Every frame of every start then
looks up its pose and sun and interpolates, so no start has to trace again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.path import Poses, half_field_tangents, poses_along
from core.place import skyline_altitude_deg
from core.plan import Camera, Path
from core.readonly import read_only
from core.skies import Skies
from core.sky.sky import SkyUnderSuns

POSES = 25
#: Rays are this far apart where only the spread by haze is asked for.
HAZE_RAY_STEP = 7
RAY_COLUMNS, RAY_ROWS = 32, 40
#: Every degree while the light changes fastest; a sun higher than the last is read there.
SUN_ALTITUDES_DEG = np.array([-18.0, -15.0, *np.arange(-13.0, 1.0), 1.5, 3.0, 6.0, 12.0, 25.0])
#: Shares of the sky in the frame at which the exceeded luminance is kept, 0 the brightest.
SKY_SHARES = np.array(
    (0.0, 0.01, 0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
)
#: Log2 of no light at all: a finite floor, so that interpolation stays finite.
DARK_LOG2 = -60.0


@dataclass(frozen=True)
class FrameSky:
    """Sky in the frame over (pose, sun altitude, sun azimuth).

    `way` runs 0 to 1 along the path; `sky_share` is the sky's share of the frame's area at
    each pose. The other arrays hold log2 cd/m² of a clear sky: its `mean_log2`, and the
    `exceeded_log2` that each of `SKY_SHARES` of the sky in the frame exceed, along a last
    axis. A pose without sky carries the values of the nearest pose with some, so that they
    run smoothly to where the sky comes in. `haze_slope_stops` is what the mean gains when
    the haze is one sigma thicker than typed.
    """

    way: FloatArray
    sky_share: FloatArray
    sun_altitude_deg: FloatArray
    sun_azimuth_deg: FloatArray
    mean_log2: FloatArray
    exceeded_log2: FloatArray
    haze_slope_stops: FloatArray


@dataclass(frozen=True)
class Corner:
    """Where values lie between the nodes of one axis: index below, share of the step above."""

    index: NDArray[np.int64]
    share: FloatArray


def between(nodes: FloatArray, values: FloatArray) -> Corner:
    """Place values between ascending nodes; beyond the ends the end node counts."""
    index = np.clip(np.searchsorted(nodes, values, side="right") - 1, 0, max(len(nodes) - 2, 0))
    if len(nodes) == 1:
        return Corner(index, np.zeros_like(values))
    step = nodes[index + 1] - nodes[index]
    return Corner(index, np.clip((values - nodes[index]) / step, 0.0, 1.0))


def interpolate(table: FloatArray, *corners: Corner) -> FloatArray:
    """Multilinear reading of a table along its first axes; further axes are carried along."""
    total = np.zeros(())
    carried = (1,) * (table.ndim - len(corners))
    for bits in np.ndindex(*(2,) * len(corners)):
        weight, index = np.ones(()), []
        for bit, corner, length in zip(bits, corners, table.shape, strict=False):
            weight = weight * (corner.share if bit else 1.0 - corner.share)
            index.append(np.minimum(corner.index + bit, length - 1))
        total = total + table[tuple(index)] * weight.reshape(weight.shape + carried)
    return total


def rays(poses: Poses, camera: Camera) -> tuple[FloatArray, FloatArray]:
    """Altitude and azimuth (degrees) of a grid of rays of each pose, shaped (pose, ray).

    Pinhole without roll: a ray right·x + forward + up·y is pitched about the right axis.
    """
    half_width, half_height = half_field_tangents(camera)
    x = half_width * (2.0 * (np.arange(RAY_COLUMNS) + 0.5) / RAY_COLUMNS - 1.0)
    y = half_height * (1.0 - 2.0 * (np.arange(RAY_ROWS) + 0.5) / RAY_ROWS)
    across, up = (grid.ravel() for grid in np.meshgrid(x, y))
    pitch = np.radians(poses.pitch_deg)[:, None]
    forward = np.cos(pitch) - up * np.sin(pitch)
    height = np.sin(pitch) + up * np.cos(pitch)
    level = np.hypot(across, forward)
    altitude = np.degrees(np.arctan2(height, level))
    azimuth = poses.heading_deg[:, None] + np.degrees(np.arctan2(across, forward))
    return altitude, azimuth % 360.0


def sky_cover(
    altitude_deg: FloatArray, azimuth_deg: FloatArray, skyline: tuple[tuple[float, float], ...]
) -> FloatArray:
    """Share of each ray's cell that is sky, 0 to 1: cells on the skyline count in part.

    Parameters
    ----------
    altitude_deg, azimuth_deg
        From `rays`, shaped (pose, ray).
    """
    # How far altitude runs down one cell; close enough to soften the edge.
    cells = altitude_deg.reshape(*altitude_deg.shape[:-1], RAY_ROWS, RAY_COLUMNS)
    cell_deg = np.abs(np.gradient(cells, axis=-2)).reshape(altitude_deg.shape)
    height = altitude_deg - skyline_altitude_deg(skyline, azimuth_deg)
    return np.asarray(np.clip(height / np.maximum(cell_deg, 1e-6) + 0.5, 0.0, 1.0))


def framesky_of(
    path: Path,
    camera: Camera,
    skyline: tuple[tuple[float, float], ...],
    skies: Skies,
    sun_azimuths_deg: tuple[float, ...],
) -> FrameSky:
    """Trace the frame at `POSES` poses for every sun altitude and the given azimuths.

    Parameters
    ----------
    sun_azimuths_deg
        Ascending; beyond 360 where the sun's way passes north.
    """
    way = np.linspace(0.0, 1.0, POSES)
    altitude, azimuth = rays(poses_along(path, way), camera)
    cover = sky_cover(altitude, azimuth, skyline)
    azimuths = np.array(sun_azimuths_deg)
    shape = (POSES, len(SUN_ALTITUDES_DEG), len(azimuths))
    mean, slope = np.full(shape, DARK_LOG2), np.zeros(shape)
    exceeded = np.full((*shape, len(SKY_SHARES)), DARK_LOG2)
    typed, thinner, thicker = (
        sky.at_suns(SUN_ALTITUDES_DEG) for sky in (skies.typed, skies.thinner, skies.thicker)
    )
    with_sky = np.flatnonzero(cover.any(axis=1))
    for pose in with_sky:
        seen = np.flatnonzero(cover[pose])
        view = Rays(altitude[pose, seen], azimuth[pose, seen], cover[pose, seen], azimuths)
        luminance = view.luminance(typed)
        mean[pose] = np.log2(luminance @ view.weight)
        exceeded[pose] = _exceeded_log2(luminance, view.weight)
        few = view.every(HAZE_RAY_STEP)
        thin, thick = (few.luminance(sky) @ few.weight for sky in (thinner, thicker))
        slope[pose] = np.log2(thick / thin) / 2.0
    if with_sky.size:
        nearest = with_sky[np.abs(np.arange(POSES)[:, None] - with_sky).argmin(axis=1)]
        mean, exceeded, slope = mean[nearest], exceeded[nearest], slope[nearest]
    share = cover.mean(axis=1)
    return read_only(FrameSky(way, share, SUN_ALTITUDES_DEG, azimuths, mean, exceeded, slope))


@dataclass(frozen=True)
class Rays:
    """Rays of one pose that meet sky, how much of each cell it fills, and the suns' azimuths."""

    altitude_deg: FloatArray
    azimuth_deg: FloatArray
    cover: FloatArray
    sun_azimuth_deg: FloatArray

    @property
    def weight(self) -> FloatArray:
        """Each ray's share of the sky in the frame."""
        return np.asarray(self.cover / self.cover.sum())

    def every(self, step: int) -> Rays:
        """Only every so many rays."""
        kept = slice(step // 2 if self.cover.size > step else 0, None, step)
        return Rays(
            self.altitude_deg[kept], self.azimuth_deg[kept], self.cover[kept], self.sun_azimuth_deg
        )

    def luminance(self, sky: SkyUnderSuns) -> FloatArray:
        """Luminance in cd/m², (sun altitude, sun azimuth, ray)."""
        from_sun = self.azimuth_deg - self.sun_azimuth_deg[:, None]
        return np.moveaxis(sky.luminance(np.maximum(self.altitude_deg, 0.0), from_sun), -1, 0)


def _exceeded_log2(luminance: FloatArray, weight: FloatArray) -> FloatArray:
    """Log2 luminance that each of `SKY_SHARES` of the sky exceeds, along a new last axis.

    `weight` sums to one over the rays, the last axis of `luminance`.
    """
    order = np.argsort(-luminance, axis=-1)
    log2 = np.log2(np.take_along_axis(luminance, order, axis=-1))
    ordered = weight[order]
    middle = np.cumsum(ordered, axis=-1) - ordered / 2.0
    flat = zip(middle.reshape(-1, middle.shape[-1]), log2.reshape(-1, log2.shape[-1]), strict=True)
    rows = [np.interp(SKY_SHARES, at, values) for at, values in flat]
    return np.array(rows).reshape(*luminance.shape[:-1], len(SKY_SHARES))
