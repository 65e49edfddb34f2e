"""What the lens sees of the sky, for every pose along the path and every sun.

Rays are traced once per path, lens, skyline and haze. Every frame of every start then
looks up its pose and sun and interpolates, so no start has to trace again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.path import LEVEL, Poses, Tilt, half_field_tangents, poses_along, tilted, unrolled
from core.place import skyline_altitude_deg
from core.plan import Camera, Path
from core.readonly import read_only
from core.skies import Skies
from core.sky.sky import SkyUnderSuns

POSES = 25
#: Rays over the whole frame tell where the sky is; along the way fewer columns will do.
RAY_COLUMNS, RAY_ROWS = 32, 40
EVEN_ROWS = np.linspace(0.0, 1.0, RAY_ROWS + 1)
SCOUT_COLUMNS, SCOUT_POSES = 8, 97
#: Rows that are traced, over the sky's part of the frame: closer toward the horizon, where
#: the glow lies.
CLOSER_DOWN = 1.0 - (1.0 - np.linspace(0.0, 1.0, 25)) ** 1.6
#: Rays are this far apart where only the spread by haze is asked for.
HAZE_RAY_STEP = 7
#: Poses stand closer where the sky comes in: a doubling of its share of the frame, beyond
#: `LITTLE_SKY`, counts as so much of the way, and what has no sky counts for little.
WAY_PER_DOUBLING, LITTLE_SKY, WAY_WITHOUT_SKY = 0.1, 0.02, 0.1
#: Suns that are traced: every degree while the light changes fastest; a sun beyond the ends
#: is read there.
TRACED_SUNS_DEG = np.array([-18.0, -16.5, *np.arange(-15.0, 7.0), 12.0, 25.0])
#: Shares of the sky in the frame at which the exceeded luminance is kept, 0 the brightest.
SKY_SHARES = np.array((
    0.0, 0.01, 0.02, 0.04, 0.07, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.94,
    0.97, 1.0,
))  # fmt: skip
#: Log2 of no light at all: a finite floor, so that interpolation stays finite.
DARK_LOG2 = -60.0
#: Bits of a float32 that hold its ray's weight while rays are sorted: a 10 000th of its value.
_WEIGHT_BITS = np.uint32(1023)


def _with_middles(nodes: FloatArray) -> FloatArray:
    """Weights of traced nodes (kept, node) for these and the middle of each narrowest step.

    A cubic through the four nearest nodes, fewer where there are fewer: a straight line loses
    0.03 stop to the curve over the suns' altitudes, and 0.03 more over their azimuths.
    """
    return _middle_weights(tuple(np.diff(nodes)))


@lru_cache(maxsize=32)
def _middle_weights(steps: tuple[float, ...]) -> FloatArray:
    """The weights by the steps from node to node alone."""
    nodes, itself = np.cumsum((0.0, *steps)), np.eye(len(steps) + 1)
    rows = [itself[0]]
    for below, step in enumerate(steps):
        if np.isclose(step, min(steps)):
            first = min(max(below - 1, 0), max(len(nodes) - 4, 0))
            near = range(first, min(first + 4, len(nodes)))
            middle, row = nodes[below] + step / 2.0, np.zeros(len(nodes))
            for at in near:
                others = nodes[[k for k in near if k != at]]
                row[at] = np.prod((middle - others) / (nodes[at] - others))
            rows.append(row)
        rows.append(itself[below + 1])
    return read_only(np.array(rows))


#: How each kept sun altitude follows from the traced ones.
_OF_TRACED = _with_middles(TRACED_SUNS_DEG)
SUN_ALTITUDES_DEG = _OF_TRACED @ TRACED_SUNS_DEG


@dataclass(frozen=True)
class FrameSky:
    """Sky in the frame over (pose, sun altitude, sun azimuth).

    `way` runs 0 to 1 along the path, closer where the sky comes in; `sky_share` is the sky's
    share of the frame's area at each pose. The other arrays hold log2 cd/m² of a clear sky:
    its `mean_log2`, and the `exceeded_log2` that each of `SKY_SHARES` of the sky in the frame
    exceed, along a last axis. A pose without sky carries the values of the nearest pose with
    some, so that they run smoothly to where the sky comes in. `haze_slope_stops` is what the
    mean gains when the haze is one sigma thicker than typed.
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
    held = np.clip(values, nodes[0], nodes[-1])
    return Corner(index, (held - nodes[index]) / step)


@dataclass(frozen=True)
class Mixture:
    """Which rows of a table are read, and how much of each: a pair for each corner.

    The table's leading axes count as one; `axes` is how many they are.
    """

    axes: int
    parts: tuple[tuple[NDArray[np.intp], FloatArray], ...]

    @classmethod
    def of(cls, shape: tuple[int, ...], *corners: Corner) -> Mixture:
        """Multilinear weights of the corners in a table whose shape begins with `shape`."""
        parts = [(np.zeros((), dtype=np.intp), np.ones(()))]
        for corner, length in zip(corners, shape, strict=False):
            on = np.minimum(corner.index + 1, length - 1)
            ends = ((corner.index, 1.0 - corner.share), (on, corner.share))
            parts = [
                (row * length + index, weight * share)
                for row, weight in parts
                for index, share in ends
            ]
        return cls(len(corners), tuple(parts))

    def read(self, table: FloatArray, columns: NDArray[np.int64] | None = None) -> FloatArray:
        """Mix the rows of a table; further axes are carried along.

        Parameters
        ----------
        columns
            Of one carried axis only these, along a last axis; they broadcast with the rows.
        """
        total, carried = np.zeros(()), table.shape[self.axes :]
        # By one flat index: to gather by several at once takes three times as long.
        flat = table.reshape(-1, *carried) if columns is None else table.reshape(-1)
        for index, weight in self.parts:
            at = index if columns is None else index[..., None] * carried[0] + columns
            total = total + flat.take(at, axis=0) * weight.reshape(
                weight.shape + (1,) * len(carried)
            )
        return total


def interpolate(table: FloatArray, *corners: Corner) -> FloatArray:
    """Multilinear reading of a table along its first axes; further axes are carried along."""
    return Mixture.of(table.shape, *corners).read(table)


def rays(
    poses: Poses,
    camera: Camera,
    columns: int = RAY_COLUMNS,
    row_edges: FloatArray = EVEN_ROWS,
) -> tuple[FloatArray, FloatArray]:
    """Altitude and azimuth (degrees) of a grid of rays of each pose, (pose, rows, columns).

    Pinhole: a ray right·x + forward + up·y is rolled back about the forward axis, then pitched
    about the right one.

    Parameters
    ----------
    row_edges
        Edges of the rows as shares of the frame's height from its top down, (rows + 1,) or
        (pose, rows + 1).
    """
    half_width, half_height = half_field_tangents(camera)
    across = half_width * (2.0 * (np.arange(columns) + 0.5) / columns - 1.0)
    middles = (row_edges[..., 1:] + row_edges[..., :-1]) / 2.0
    up = half_height * (1.0 - 2.0 * middles)[..., None]
    across, up = unrolled(across, up, poses.roll_deg)
    pitch = np.radians(poses.pitch_deg)[:, None, None]
    forward = np.cos(pitch) - up * np.sin(pitch)
    height = np.sin(pitch) + up * np.cos(pitch)
    altitude = np.degrees(np.arctan2(height, np.hypot(across, forward)))
    azimuth = poses.heading_deg[:, None, None] + np.degrees(np.arctan2(across, forward))
    return altitude, azimuth % 360.0


def sky_cover(
    altitude_deg: FloatArray, azimuth_deg: FloatArray, skyline: tuple[tuple[float, float], ...]
) -> FloatArray:
    """Share of each ray's cell that is sky, 0 to 1: cells on the skyline count in part.

    Parameters
    ----------
    altitude_deg, azimuth_deg
        From `rays`, (pose, rows, columns).
    """
    # How far altitude runs down one cell; close enough to soften the edge.
    cell_deg = np.abs(np.gradient(altitude_deg, axis=-2))
    height = altitude_deg - skyline_altitude_deg(skyline, azimuth_deg)
    return np.asarray(np.clip(height / np.maximum(cell_deg, 1e-6) + 0.5, 0.0, 1.0))


def framesky_of(
    path: Path,
    camera: Camera,
    skyline: tuple[tuple[float, float], ...],
    skies: Skies,
    sun_azimuths_deg: tuple[float, ...],
    tilt: Tilt = LEVEL,
) -> FrameSky:
    """Trace the frame at `POSES` poses for every sun altitude and the given azimuths.

    Parameters
    ----------
    sun_azimuths_deg
        Ascending; beyond 360 where the sun's way passes north.
    tilt
        By how much the camera is off its planned poses.
    """
    traced = Sightlines.of(path, camera, skyline, skies, tilt).traced(sun_azimuths_deg)
    return between_azimuths(traced)


def between_azimuths(traced: FrameSky) -> FrameSky:
    """The sky with the middles between its traced sun azimuths."""
    weights = _with_middles(traced.sun_azimuth_deg)

    def across(table: FloatArray) -> FloatArray:
        poses, suns, azimuths, *carried = table.shape
        every = weights @ table.reshape(poses, suns, azimuths, -1)
        return every.reshape(poses, suns, len(weights), *carried)

    return read_only(
        replace(
            traced,
            sun_azimuth_deg=weights @ traced.sun_azimuth_deg,
            mean_log2=across(traced.mean_log2),
            exceeded_log2=across(traced.exceeded_log2),
            haze_slope_stops=across(traced.haze_slope_stops),
        )
    )


@dataclass(frozen=True)
class Sightlines:
    """Where the rays of every pose go, and the skies they end in: all but the suns' azimuths.

    `way` and `sky_share` (poses,) are those of `FrameSky`; the angles are in degrees. `area`
    is the share of the frame that each ray stands for, nought where it meets the ground.
    """

    way: FloatArray
    sky_share: FloatArray
    altitude_deg: FloatArray
    azimuth_deg: FloatArray
    area: FloatArray
    typed: SkyUnderSuns
    thinner: SkyUnderSuns
    thicker: SkyUnderSuns
    sigmas_apart: float

    @classmethod
    def of(
        cls,
        path: Path,
        camera: Camera,
        skyline: tuple[tuple[float, float], ...],
        skies: Skies,
        tilt: Tilt = LEVEL,
    ) -> Sightlines:
        """Lay the rays of `POSES` poses along a path."""
        way = _ways(path, camera, skyline, tilt)
        poses = tilted(poses_along(path, way), tilt)
        edges = _sky_depth(poses, camera, skyline)[:, None] * CLOSER_DOWN
        altitude, azimuth = rays(poses, camera, row_edges=edges)
        # Share of the frame's area that each ray stands for.
        area = sky_cover(altitude, azimuth, skyline) * np.diff(edges)[..., None] / RAY_COLUMNS
        return cls(
            way=way,
            sky_share=area.sum(axis=(1, 2)),
            altitude_deg=altitude,
            azimuth_deg=azimuth,
            area=area,
            typed=skies.typed.at_suns(TRACED_SUNS_DEG),
            thinner=skies.thinner.at_suns(TRACED_SUNS_DEG),
            thicker=skies.thicker.at_suns(TRACED_SUNS_DEG),
            sigmas_apart=skies.sigmas_apart,
        )

    def traced(self, sun_azimuths_deg: tuple[float, ...]) -> FrameSky:
        """The sky as `framesky_of` has it, at these azimuths alone."""
        azimuths = np.array(sun_azimuths_deg)
        shape = (POSES, len(TRACED_SUNS_DEG), len(azimuths))
        mean, slope = np.full(shape, DARK_LOG2), np.zeros(shape)
        exceeded = np.full((*shape, len(SKY_SHARES)), DARK_LOG2)
        with_sky = np.flatnonzero(self.area.any(axis=(1, 2)))
        for pose in with_sky:
            seen = self.area[pose] > 0.0
            view = Rays(
                self.altitude_deg[pose][seen],
                self.azimuth_deg[pose][seen],
                self.area[pose][seen],
                azimuths,
            )
            luminance = view.luminance(self.typed)
            mean[pose] = np.log2(view.mean(luminance))
            exceeded[pose] = _exceeded_log2(luminance, view.weight)
            few = view.every(HAZE_RAY_STEP)
            thin, thick = (few.mean(few.luminance(sky)) for sky in (self.thinner, self.thicker))
            slope[pose] = np.log2(thick / thin) / self.sigmas_apart
        if with_sky.size:
            nearest = with_sky[np.abs(np.arange(POSES)[:, None] - with_sky).argmin(axis=1)]
            mean, exceeded, slope = mean[nearest], exceeded[nearest], slope[nearest]
        tables = (_at_every_sun(table) for table in (mean, exceeded, slope))
        return read_only(FrameSky(self.way, self.sky_share, SUN_ALTITUDES_DEG, azimuths, *tables))


def _ways(
    path: Path, camera: Camera, skyline: tuple[tuple[float, float], ...], tilt: Tilt
) -> FloatArray:
    """Shares of the way to trace at, closer together where the sky comes in or goes."""
    way = np.linspace(0.0, 1.0, SCOUT_POSES)
    scouts = rays(tilted(poses_along(path, way), tilt), camera, SCOUT_COLUMNS)
    share = sky_cover(*scouts, skyline).mean(axis=(1, 2))
    doublings = np.abs(np.diff(np.log2(share + LITTLE_SKY)))
    seen = np.maximum(share[1:], share[:-1]) > 0.0
    steps = np.diff(way) * np.where(seen, 1.0, WAY_WITHOUT_SKY) + WAY_PER_DOUBLING * doublings
    measure = np.concatenate([[0.0], np.cumsum(steps)])
    return np.interp(np.linspace(0.0, measure[-1], POSES), measure, way)


def _sky_depth(
    poses: Poses, camera: Camera, skyline: tuple[tuple[float, float], ...]
) -> FloatArray:
    """Share of the frame's height, from its top, below which no sky is; a row at least."""
    rows = np.asarray(sky_cover(*rays(poses, camera), skyline).any(axis=-1))
    rows[:, 0] = True
    return np.asarray(EVEN_ROWS[rows.shape[1] - rows[:, ::-1].argmax(axis=1)])


def _at_every_sun(table: FloatArray) -> FloatArray:
    """From the traced sun altitudes, the second axis, to those that are kept."""
    poses, suns, *carried = table.shape
    every = _OF_TRACED @ table.reshape(poses, suns, -1)
    return every.reshape(poses, len(_OF_TRACED), *carried)


@dataclass(frozen=True)
class Rays:
    """Rays of one pose that meet sky, the area each stands for, and the suns' azimuths."""

    altitude_deg: FloatArray
    azimuth_deg: FloatArray
    area: FloatArray
    sun_azimuth_deg: FloatArray

    @property
    def weight(self) -> NDArray[np.float32]:
        """Each ray's share of the sky in the frame."""
        return np.asarray(self.area / self.area.sum(), dtype=np.float32)

    def every(self, step: int) -> Rays:
        """Only every so many rays."""
        kept = slice(step // 2 if self.area.size > step else 0, None, step)
        rays_kept = (self.altitude_deg[kept], self.azimuth_deg[kept], self.area[kept])
        return Rays(*rays_kept, self.sun_azimuth_deg)

    def luminance(self, sky: SkyUnderSuns) -> NDArray[np.float32]:
        """Luminance in cd/m², (sun altitude, sun azimuth, ray)."""
        from_sun = self.azimuth_deg - self.sun_azimuth_deg[:, None]
        seen = sky.luminance(np.maximum(self.altitude_deg, 0.0), from_sun)
        return np.ascontiguousarray(np.moveaxis(seen, -1, 0), dtype=np.float32)

    def mean(self, luminance: NDArray[np.float32]) -> NDArray[np.float32]:
        """Mean over the sky in the frame of luminance (sun altitude, sun azimuth, ray)."""
        # Not a matrix product: some processors' libraries raise "invalid value" for finite ones.
        return np.asarray(np.einsum("...r,r", luminance, self.weight))


def _exceeded_log2(luminance: NDArray[np.float32], weight: NDArray[np.float32]) -> FloatArray:
    """Log2 luminance that each of `SKY_SHARES` of the sky exceeds, along a new last axis.

    Rays are the last axis of `luminance`; `weight` sums to one over them.
    """
    # Positive floats sort like their bits; the last ones carry the ray's weight along.
    parts = np.rint(weight * (float(_WEIGHT_BITS) / weight.max())).astype(np.uint32)
    keys = np.sort((luminance.view(np.uint32) & ~_WEIGHT_BITS) | parts, axis=-1)
    ordered = keys.reshape(-1, keys.shape[-1])
    carried = ordered & _WEIGHT_BITS
    # Twice the weight below the middle of each ray: whole numbers.
    below = 2 * np.cumsum(carried, axis=-1, dtype=np.uint32) - carried
    bright = (ordered & ~_WEIGHT_BITS).view(np.float32)
    whole = 2.0 * float(parts.sum())
    dimmer = np.clip(whole * (1.0 - SKY_SHARES), below[:, :1], below[:, -1:])
    # All skies in one line, each a whole weight after the one before: read at once.
    after = whole * np.arange(len(below))[:, None]
    rows = np.interp((dimmer + after).ravel(), (below + after).ravel(), bright.ravel())
    return np.log2(rows).reshape(*luminance.shape[:-1], len(SKY_SHARES))
