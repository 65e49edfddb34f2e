"""By how much a craft and its camera departed from a planned pose, by where the ground lies.

Sliding moves near ground more than far and turning moves all alike, so that what a few tiles of
ground show tells one from the other, and from both where any point lies.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.review.geometry import FAR_HEIGHTS, Lens, Pose, moved

#: Where a departure is told in pixels, in shares of the frame from left and top: low in its
#: middle, where almost every frame shows ground.
TELL_TALE = (0.5, 0.8)
#: 1-sigma of what a craft departs within a run of frames, in metres and degrees: what the ground
#: hardly tells apart is shared out by it (our judgement).
_SIGMA = np.array([3.0, 3.0, 1.0, 1.0, 1.0, 0.3])
#: 1-sigma of how a camera leans from its planned poses in all of a take, in pitch and roll: a
#: lean that was told is told in tenths of a degree (our judgement).
_LEAN_SIGMA_DEG = 0.15
#: A tile that the others leave by more than so many of its 1-sigmas counts for less; the least
#: 1-sigma of a tile in pixels, as ground is no plane and a lens no pinhole (our judgement).
_HUBER, _LEAST_SIGMA_PX = 1.5, 0.02
_PASSES = 5
#: A camera on the ground sees none of it from above; told as from so high, in metres.
_LEAST_UP_M = 1.0
#: Lean over which its slopes are taken, in degrees.
_LEAN_STEP_DEG = 0.01
_LEANS = _LEAN_STEP_DEG * np.eye(6)[4:]


@dataclass(frozen=True)
class Departure:
    """Six figures, those of a `Pose`, and how surely they are told.

    Metres east, north and up, degrees of heading, pitch and roll; `spread` is their covariance,
    (6, 6), for a camera that else kept to its pose, and `by_lean` what they are off for each degree
    that it leaned throughout, in pitch and in roll, (6, 2).
    """

    figures: FloatArray
    spread: FloatArray
    by_lean: FloatArray

    @property
    def full_spread(self) -> FloatArray:
        """Covariance of the figures, (6, 6), with what a camera usually leans."""
        return self.spread + _LEAN_SIGMA_DEG**2 * self.by_lean @ self.by_lean.T

    def __add__(self, since: Departure) -> Departure:
        """The departure in which another since goes on from one."""
        return Departure(
            self.figures + since.figures,
            self.spread + since.spread,
            self.by_lean + since.by_lean,
        )


STAYED = Departure(np.zeros(6), np.zeros((6, 6)), np.zeros((6, 2)))


def departed(
    lens: Lens,
    key_pose: Pose,
    pose: Pose,
    start: FloatArray,
    at: FloatArray,
    off: FloatArray,
    spread: FloatArray,
) -> Departure:
    """The departure that agrees best with where points of the ground are seen.

    One step of least squares with Huber's weights (Huber 1981, Robust Statistics) and the usual
    departure as what is known before (Tarantola 2005, Inverse Problem Theory, ch. 3).

    Parameters
    ----------
    start
        Figures of a departure from `pose` near it.
    at
        Pixels, (n, 2), right and down, where the points would lie by `start`.
    off
        By how much they lie right and down of there, (n, 2), and `spread` the covariance of
        each, (n, 2, 2).
    """
    here = moved(pose, start)
    points = np.column_stack([at, np.ones(len(at))]) @ np.linalg.inv(lens.view(here)).T
    away = np.column_stack([points[:, :2] / points[:, 2:], np.zeros(len(at))])
    away -= (here.east_m, here.north_m, here.up_m)
    # Each tile in units of its own spread, across and along it.
    root = np.linalg.inv(np.linalg.cholesky(spread + _LEAST_SIGMA_PX**2 * np.eye(2)))
    terms = (root @ _slopes(lens, here, away) * _SIGMA).reshape(-1, len(_SIGMA))
    whole, before = (root @ off[..., None]).ravel(), start / _SIGMA
    # From their median on, which a wrong match does not move.
    left = (root @ (off - np.median(off, axis=0))[..., None]).ravel()
    for _ in range(_PASSES):
        trust = np.minimum(1.0, _HUBER / np.maximum(np.hypot(left[::2], left[1::2]), 1e-9))
        weighed = terms.T * trust.repeat(2)
        normal = weighed @ terms + np.eye(len(_SIGMA))
        step = np.linalg.solve(normal, weighed @ whole - before)
        left = whole - terms @ step
    known = np.linalg.inv(normal)
    leaning = (root @ _leanings(lens, key_pose, here, points)).reshape(-1, 2)
    return Departure(
        start + _SIGMA * step,
        known * np.outer(_SIGMA, _SIGMA),
        (known @ weighed @ leaning) * _SIGMA[:, None],
    )


def departure_px(lens: Lens, pose: Pose, departure: Departure) -> tuple[FloatArray, FloatArray]:
    """How far right and down of its planned place the ground at `TELL_TALE` lies, in pixels.

    With the covariance, (2, 2). Ground too far off to tell drift, and sky, stand as far off as
    the furthest that does.
    """
    planned = np.array([TELL_TALE[0] * lens.columns, TELL_TALE[1] * lens.rows])
    ray = np.linalg.solve(lens.rays(pose), [*planned, 1.0])
    point = ray * max(pose.up_m, _LEAST_UP_M) / max(-ray[2], np.hypot(ray[0], ray[1]) / FAR_HEIGHTS)
    x, y, ahead = lens.rays(moved(pose, departure.figures)) @ (point - departure.figures[:3])
    slopes = _slopes(lens, pose, point[None])[0]
    return np.array([x, y]) / ahead - planned, slopes @ departure.full_spread @ slopes.T


def _slopes(lens: Lens, here: Pose, away: FloatArray) -> FloatArray:
    """By how much points move right and down in the picture for each figure, (n, 2, 6).

    `away` is where they lie from the pose, (n, 3), east, north and up.
    """
    level, upward = math.radians(here.heading_deg), math.radians(here.pitch_deg)
    right = (math.cos(level), -math.sin(level), 0.0)
    along = math.cos(upward)
    ahead = (math.sin(level) * along, math.cos(level) * along, math.sin(upward))
    # What a camera slides along, or turns about, goes the other way.
    turns = [_turning(*axis) @ away.T for axis in ((0.0, 0.0, -1.0), right, ahead)]
    goes = -np.concatenate([np.repeat(np.eye(3)[..., None], len(away), axis=2), np.radians(turns)])
    rays = lens.rays(here)
    x, y, depth = rays @ away.T
    moves = rays @ goes
    at = np.stack([x, y]) / depth
    return np.asarray(((moves[:, :2] - at * moves[:, 2:]) / depth).transpose(2, 1, 0))


def _turning(x: float, y: float, z: float) -> FloatArray:
    """By how much a point moves for a radian about an axis, (3, 3)."""
    return np.array([(0.0, -z, y), (z, 0.0, -x), (-y, x, 0.0)])


def _leanings(lens: Lens, key_pose: Pose, here: Pose, points: FloatArray) -> FloatArray:
    """By how much the same points move for a degree of pitch and roll of both poses, (n, 2, 2)."""
    key = points @ lens.view(key_pose).T
    at = _seen(points, lens.view(here))
    leans = [
        _seen(key @ np.linalg.inv(lens.view(moved(key_pose, lean))).T, lens.view(moved(here, lean)))
        for lean in _LEANS
    ]
    return np.stack([(one - at) / _LEAN_STEP_DEG for one in leans], axis=-1)


def _seen(points: FloatArray, view: FloatArray) -> FloatArray:
    seen = points @ view.T
    return np.asarray(seen[:, :2] / seen[:, 2:])
