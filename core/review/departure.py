"""By how much a craft and its camera departed from a planned pose, by where the ground lies.

A departure is six figures, those of a `Pose`: metres east, north and up, degrees of heading,
pitch and roll. Sliding moves near ground more than far and turning moves all alike, so that
what a few tiles of ground show tells one from the other, and from both where any point lies.
"""

from __future__ import annotations

import numpy as np

from core.exposure import FloatArray
from core.review.geometry import FAR_HEIGHTS, Lens, Pose, moved

#: Where a departure is told in pixels, in shares of the frame from left and top: low in its
#: middle, where almost every frame shows ground.
TELL_TALE = (0.5, 0.8)
#: 1-sigma of what a craft departs within a run of frames, in metres and degrees: what little
#: the ground tells apart is shared out by it (our judgement).
_SIGMA = np.array([3.0, 3.0, 1.0, 1.0, 1.0, 0.3])
#: Steps of the slopes, far below what matters and far above what rounding leaves.
_STEPS = np.array([0.01, 0.01, 0.01, 0.001, 0.001, 0.001])
#: A tile that the others leave by more than so many of its 1-sigmas counts for less; the least
#: 1-sigma of a tile, as no pose brings all of them nearer, in pixels.
_HUBER, _LEAST_SIGMA_PX = 1.5, 0.03
_PASSES = 6


def departed(
    lens: Lens, pose: Pose, start: FloatArray, at: FloatArray, off: FloatArray, spread_px2: FloatArray
) -> FloatArray:
    """The departure that agrees best with where points of the ground are seen.

    Parameters
    ----------
    start
        A departure from `pose` near it.
    at
        Pixels, (n, 2), right and down, where the points would lie by `start`.
    off
        By how much they lie right and down of there, (n, 2), and `spread_px2` the covariance of each.

    Returns
    -------
    array
        By one step of least squares with Huber's weights (Huber 1981, Robust Statistics) and
        the normal departure as what is known before (Tarantola 2005, Inverse Problem Theory,
        eq. 3.37).
    """
    slopes = _slopes(lens, pose, start, at) * _SIGMA
    known = np.linalg.inv(spread_px2 + _LEAST_SIGMA_PX**2 * np.eye(2))
    before = start / _SIGMA
    step = np.zeros(len(_SIGMA))
    # From their median on, which a wrong match does not move.
    left = off - np.median(off, axis=0)
    for _ in range(_PASSES):
        away = np.sqrt(np.einsum("ni,nij,nj->n", left, known, left))
        trust = known * np.minimum(1.0, _HUBER / np.maximum(away, 1e-9))[:, None, None]
        weighed = np.einsum("nij,nik->njk", trust, slopes)
        normal = np.einsum("nij,nik->jk", weighed, slopes) + np.eye(len(_SIGMA))
        step = np.linalg.solve(normal, np.einsum("nij,ni->j", weighed, off) - before)
        left = off - slopes @ step
    return np.asarray(start + _SIGMA * step)


def departure_px(lens: Lens, pose: Pose, departure: FloatArray) -> tuple[float, float]:
    """How far right and down of its planned place the ground at `TELL_TALE` lies, in pixels.

    Ground beyond what tells drift, and sky, stand as far off as the furthest that does.
    """
    planned = np.array([TELL_TALE[0] * lens.columns, TELL_TALE[1] * lens.rows])
    ray = np.linalg.solve(lens.rays(pose), [*planned, 1.0])
    reach = pose.up_m / max(-ray[2], np.hypot(ray[0], ray[1]) / FAR_HEIGHTS)
    x, y, ahead = lens.rays(moved(pose, departure)) @ (ray * reach - departure[:3])
    return float(x / ahead - planned[0]), float(y / ahead - planned[1])


def _slopes(lens: Lens, pose: Pose, departure: FloatArray, at: FloatArray) -> FloatArray:
    """By how much points of the ground move for each figure of a departure, (n, 2, 6)."""
    here = moved(pose, departure)
    points = np.column_stack([at, np.ones(len(at))]) @ np.linalg.inv(lens.view(here)).T
    columns = []
    for k, step in enumerate(_STEPS):
        seen = points @ lens.view(moved(here, step * (np.arange(len(_STEPS)) == k))).T
        columns.append((seen[:, :2] / seen[:, 2:] - at) / step)
    return np.stack(columns, axis=-1)
