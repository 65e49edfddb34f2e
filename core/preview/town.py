"""An invented town under the camera: streets, roofs and lamps, the same in every frame.

The pattern stands in metres east and north of the launch point, so it moves with true
perspective along the path. Everything is filtered by the footprint of a pixel, in closed
form, so that small pictures neither crawl nor lose light. The streets cover the plan's lit
share of the ground; the blocks between have luminance 1 on average, and so have the streets.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.preview.view import GroundPoints, Pixels

#: Distance between streets along the town's two axes, m. Invented.
STREET_PITCH_M = (78.0, 56.0)
#: Distance between lamps along a street, m (common practice for footway lighting, no source).
LAMP_SPACING_M = 30.0
#: The town's axes are turned from north by this much, degrees. Invented.
_TURN_DEG = 27.0
#: Gentle bends: each axis is sheared along the other, which keeps every area. Invented.
_BEND_M, _BEND_LENGTH_M = 24.0, 170.0
#: Share of the lamplight in the points under the lamps, and the size of such a point, m.
_POINT_SHARE, _POINT_M = 0.22, 1.1
#: Depth of the pools of light between one lamp and the next.
_POOL_DEPTH = 0.55
#: A building's plot along both axes, m; the gap to its neighbours, m, and what is left of the
#: light down there. Invented.
_PLOT_M, _GAP_M, _GAP_LIGHT = (13.0, 14.0), 2.6, 0.45
_TABLE = 64

_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)


def _tables() -> tuple[Pixels, Pixels, Pixels]:
    """Shifts of the streets (-0.5 to 0.5), shifts of the lamps, colours of half plots."""
    draw = np.random.default_rng(2)
    shift = draw.uniform(-0.5, 0.5, (_TABLE, _TABLE))
    lamps = draw.uniform(-0.5, 0.5, (_TABLE, _TABLE))
    # Dark roofs, light roofs, yards and trees: level in stops, then a tint of its own.
    kinds = draw.choice(4, (_TABLE, _TABLE), p=(0.5, 0.2, 0.15, 0.15))
    level = 2.0 ** (np.array([-0.35, 0.6, 0.2, -0.6])[kinds] + draw.normal(0, 0.2, kinds.shape))
    tint = np.array([(1.12, 0.98, 0.88), (1.03, 1.0, 0.96), (1.05, 1.0, 0.9), (0.93, 1.04, 0.82)])
    # Roofs have a ridge along the first axis: one slope sees more of the sky than the other.
    slope = np.where(kinds < 2, draw.choice((-0.16, 0.16), kinds.shape), 0.0)
    halves = np.stack([level * (1.0 + slope), level * (1.0 - slope)], axis=-1)
    plots = halves[..., None] * tint[kinds][:, :, None, :]
    plots = plots.reshape(_TABLE, 2 * _TABLE, 3) / (plots @ _LUMINANCE).mean()
    return shift.astype(np.float32), lamps.astype(np.float32), plots.astype(np.float32)


_STREET_SHIFT, _LAMP_SHIFT, _PLOTS = _tables()
#: Colour of land without a town, luminance 1.
PLAIN_RGB = _PLOTS.mean(axis=(0, 1))
_CELLS = _PLOTS.reshape(-1, 3)
#: Mean light over plots and gaps.
_OPEN_LIGHT = 1.0 - (1.0 - _GAP_LIGHT) * (
    1.0 - (1.0 - _GAP_M / _PLOT_M[0]) * (1.0 - _GAP_M / _PLOT_M[1])
)


@dataclass(frozen=True)
class Town:
    """What a patch of town shows, (rows, cols) and (rows, cols, 3).

    `street` is the share of each pixel that is street. `lamplight` is the lamps' light on
    that share, `blocks` the reflectance of what lies between: both 1 on average over their
    own area.
    """

    street: Pixels
    lamplight: Pixels
    blocks: Pixels


@dataclass(frozen=True)
class _Axis:
    """Place and footprint of the pixels along one axis of the town, in metres."""

    at_m: Pixels
    footprint_m: Pixels


@dataclass(frozen=True)
class _Street:
    """The streets of one direction: cover, lines' index, and distance from the line."""

    cover: Pixels
    line: NDArray[np.int32]
    offset_m: Pixels


def street_width_m(lit_share: float) -> float:
    """Width of streets that cover a share (0 to 1) of the ground.

    Streets of width w on pitches p and q leave (1 - w/p)(1 - w/q) free.
    """
    p, q = STREET_PITCH_M
    half_sum = (p + q) / 2.0
    return float(half_sum - np.sqrt(half_sum**2 - p * q * lit_share))


def town_at(points: GroundPoints, lit_share: float) -> Town:
    """The town at points of the ground, filtered by the pixels' footprints."""
    first, second = _axes(points)
    width = street_width_m(lit_share)
    avenues = _streets(first, STREET_PITCH_M[0], width, 0)
    column = avenues.line - (avenues.offset_m < 0.0)
    lanes = _streets(second, STREET_PITCH_M[1], width, column)
    lane_cover = lanes.cover * (1.0 - avenues.cover)
    light: Pixels = avenues.cover * _lamplight(avenues, second, first.footprint_m, width)
    light += lane_cover * _lamplight(lanes, first, second.footprint_m, width)
    street: Pixels = avenues.cover + lane_cover
    light = np.asarray(light / np.maximum(street, 1e-6), dtype=np.float32)
    return Town(street, light, _blocks(first, second))


def _axes(points: GroundPoints) -> tuple[_Axis, _Axis]:
    """Turn the ground into the town's two axes and bend them."""
    turn = np.radians(_TURN_DEG)
    sine, cosine = float(np.sin(turn)), float(np.cos(turn))
    u = points.east_m * cosine + points.north_m * sine
    v = points.north_m * cosine - points.east_m * sine
    u = u + _BEND_M * np.sin(v / _BEND_LENGTH_M)
    v = v + _BEND_M * np.sin(u / (1.3 * _BEND_LENGTH_M))
    # Cosines between the line of sight and the axes, for the footprint along each.
    reach = np.maximum(points.distance_m, 1e-3)
    along_u = np.abs(points.toward_east * cosine + points.toward_north * sine) / reach
    along_v = np.abs(points.toward_north * cosine - points.toward_east * sine) / reach
    foot_u = points.along_m * along_u + points.across_m * along_v
    foot_v = points.along_m * along_v + points.across_m * along_u
    # Straight below there is no direction, and a footprint is as long as it is wide.
    return _Axis(u, _wider(foot_u, points.across_m)), _Axis(v, _wider(foot_v, points.across_m))


def _wider(one: NDArray[Any], other: Pixels) -> Pixels:
    return np.asarray(np.maximum(one, other), dtype=np.float32)


def _streets(
    axis: _Axis, pitch_m: float, width_m: float, column: NDArray[np.int32] | int
) -> _Street:
    """Streets across one axis, shifted anew in every column of blocks."""
    nearest = np.rint(axis.at_m / pitch_m)
    line = nearest.astype(np.int32)
    shift = _STREET_SHIFT[line % _TABLE, column % _TABLE]
    # Half the free width at most, so that streets keep apart and their share stays.
    offset = axis.at_m - pitch_m * nearest - shift * (0.5 * (pitch_m - width_m))
    cover = _overlap(offset, axis.footprint_m, width_m / 2.0)
    # Wide streets lie near the next one, whose own shift is small then.
    cover += _overlap(np.abs(offset) - pitch_m, axis.footprint_m, width_m / 2.0)
    # A pixel that spans a whole block sees the share, not the line.
    merged = _smooth(axis.footprint_m / pitch_m)
    return _Street(cover + merged * (width_m / pitch_m - cover), line, offset)


def _lamplight(street: _Street, along: _Axis, across_footprint_m: Pixels, width_m: float) -> Pixels:
    """Lamplight on a street, mean 1: pools from lamp to lamp, a bright point under each."""
    phase = along.at_m / LAMP_SPACING_M + _LAMP_SHIFT[street.line % _TABLE, 0]
    to_lamp = phase - np.rint(phase)
    # A cosine keeps sin(x)/x of itself under a box; a parabola is near enough until it merges.
    sharp = np.maximum(1.0 - (along.footprint_m / LAMP_SPACING_M) ** 2, 0.0)
    pools = 1.0 + _POOL_DEPTH * sharp * np.cos(2.0 * np.pi * to_lamp)
    # A box of width f widens a Gaussian's variance by f²/12; its light stays the same.
    own = _POINT_M**2
    var_along = own + along.footprint_m**2 / 12.0
    var_across = own + across_footprint_m**2 / 12.0
    square = (to_lamp * LAMP_SPACING_M) ** 2 / var_along + street.offset_m**2 / var_across
    peak = LAMP_SPACING_M * max(width_m, _POINT_M) / (2.0 * np.pi * np.sqrt(var_along * var_across))
    points = peak * np.exp(-0.5 * square)
    points += _smooth(along.footprint_m / LAMP_SPACING_M) * (1.0 - points)
    return np.asarray((1.0 - _POINT_SHARE) * pools + _POINT_SHARE * points)


def _blocks(first: _Axis, second: _Axis) -> Pixels:
    """Reflectance of roofs, yards and trees over the land's, half plot by half plot."""
    u, share_u = _plot(first, _PLOT_M[0])
    v, share_v = _plot(second, _PLOT_M[1] / 2.0)
    cell = (u % _TABLE) * (2 * _TABLE)
    next_cell = ((u + 1) % _TABLE) * (2 * _TABLE)
    v0, v1 = v % (2 * _TABLE), (v + 1) % (2 * _TABLE)
    low = _between(cell + v0, next_cell + v0, share_u)
    sharp = low + share_v * (_between(cell + v1, next_cell + v1, share_u) - low)
    gap = _gap(first, _PLOT_M[0])
    gap += _gap(second, _PLOT_M[1]) * (1.0 - gap)
    sharp *= ((1.0 - (1.0 - _GAP_LIGHT) * gap) / _OPEN_LIGHT)[..., None]
    foot = _wider(first.footprint_m, second.footprint_m)
    merged = _smooth(foot / (2.0 * _PLOT_M[0]))[..., None]
    return np.asarray(sharp + merged * (PLAIN_RGB - sharp))


def _between(cell: NDArray[np.int32], next_cell: NDArray[np.int32], share: Pixels) -> Pixels:
    near = _CELLS.take(cell, axis=0)
    return near + share * (_CELLS.take(next_cell, axis=0) - near)


def _gap(axis: _Axis, plot_m: float) -> Pixels:
    """Share of the pixel in the gap between two plots of one axis."""
    offset = axis.at_m - plot_m * np.rint(axis.at_m / plot_m)
    return _overlap(offset, axis.footprint_m, _GAP_M / 2.0)


def _overlap(offset_m: Pixels, footprint_m: Pixels, half_m: float) -> Pixels:
    """Share of a footprint that lies within a strip about a line."""
    upper = np.minimum(offset_m + footprint_m / 2.0, half_m)
    lower = np.maximum(offset_m - footprint_m / 2.0, -half_m)
    return np.asarray(np.maximum(upper - lower, 0.0) / footprint_m)


def _plot(axis: _Axis, plot_m: float) -> tuple[NDArray[np.int32], Pixels]:
    """Index of the plot below, and the share of the pixel in the plot above."""
    at = axis.at_m / plot_m - 0.5
    below = np.floor(at)
    share = (at - below - 0.5) * (plot_m / axis.footprint_m) + 0.5
    return below.astype(np.int32), np.clip(share, 0.0, 1.0)[..., None]


def _smooth(share: Pixels) -> Pixels:
    """Rises from 0 at half to 1 at one and a half, with soft ends."""
    x = np.clip(share - 0.5, 0.0, 1.0)
    return np.asarray(x * x * (3.0 - 2.0 * x))
