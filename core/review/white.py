"""How much of a course is white: what comes and goes from one frame to the next."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray

#: How soft the smooth course may be: its variance over the white one's.
_SOFTNESS = 10.0 ** np.linspace(-6.0, 8.0, 29)
#: Longer courses are told in parts, as the work grows with the cube of their length.
_MOST_POINTS = 500
#: Points without which nothing is told, beyond one for all that is left open.
_LEAST_FREE = 4
#: Square of what no course is without, so that one without any white part has a logarithm.
_LITTLE = 1e-18


@dataclass(frozen=True)
class White:
    """Mean square of the white part of a course about its mean, and its 1-sigma.

    In squares of the course's own unit.
    """

    square: float
    sigma: float


def white_of(x: FloatArray, y: FloatArray, thread: FloatArray) -> White:
    """The white part of a course beside a smooth one; NaN where too few points tell it.

    A cubic smoothing spline is the mean of a smooth random course under white noise (Wahba 1978,
    J. R. Stat. Soc. B 40:364). How soft that course is, the restricted likelihood tells, of what
    is left beside a line and the level of each thread (Patterson and Thompson 1971, Biometrika
    58:545; for splines Wahba 1985, Ann. Stat. 13:1378); each softness counts by its own.

    What is told is the mean square of the white part over these very points, not the variance that
    it was drawn from: only what a smooth course may have taken of it is not known.

    Parameters
    ----------
    x, y
        Places, increasing, and values of any unit, (n,).
    thread
        Points of one number share a level of their own.
    """
    parts = [
        _part(x[at], y[at], thread[at])
        for at in np.array_split(np.arange(len(x)), -(-len(x) // _MOST_POINTS) or 1)
    ]
    square = float(np.mean([part.square for part in parts]))
    sigma = float(np.sqrt(np.sum([part.sigma**2 for part in parts]))) / len(parts)
    return White(square, sigma)


def _part(x: FloatArray, y: FloatArray, thread: FloatArray) -> White:
    """The white part of a course of at most `_MOST_POINTS`."""
    count, levels = len(x), np.unique(thread)
    free = count - len(levels) - 1
    if free < _LEAST_FREE:
        return White(float("nan"), float("nan"))
    at = (x - x[0]) / (x[-1] - x[0])
    left_open = np.column_stack([at, thread[:, None] == levels])
    beside = np.linalg.qr(left_open, mode="complete")[0][:, -free:]
    # In these coordinates (Demmler and Reinsch 1975, Numer. Math. 24:375) all is independent.
    bends, axes = np.linalg.eigh(beside.T @ _spline(at) @ beside)
    seen = axes.T @ (beside.T @ y)
    soft = _SOFTNESS[:, None] * np.maximum(bends, 0.0)
    taken = soft / (1.0 + soft)
    # Its mean by the likelihood, which is inverse gamma.
    variance = ((seen**2 * (1.0 - taken)).sum(axis=1) + _LITTLE) / (free - 2.0)
    log_chance = 0.5 * (np.log1p(-taken).sum(axis=1) - free * np.log(variance))
    chance = np.exp(log_chance - log_chance.max())
    chance /= chance.sum()
    white = seen * (1.0 - taken)
    # The mean is no part of what is told.
    unknown = len(levels) + taken.sum(axis=1)
    square = ((white**2).sum(axis=1) + variance * unknown) / count
    spread = 2.0 * variance**2 * (len(levels) + (taken**2).sum(axis=1))
    spread += 4.0 * variance * (white**2 * taken).sum(axis=1)
    spread += 2.0 / free * (variance * unknown) ** 2
    mean = float(chance @ square)
    return White(mean, float(np.sqrt(chance @ (spread / count**2 + (square - mean) ** 2))))


def _spline(at: FloatArray) -> FloatArray:
    """Covariance of a Wiener process integrated once, from 0 to 1, on places there."""
    one, other = np.minimum(at[:, None], at), np.maximum(at[:, None], at)
    return np.asarray(one**2 * (3.0 * other - one) / 6.0)
