"""A smooth curve through what flickers, and what is left."""

from __future__ import annotations

import numpy as np

from core.exposure import FloatArray

#: 1-sigma of normal values over the median of how far they lie from their middle: 1/Φ⁻¹(3/4).
SIGMA_PER_MEDIAN = 1.48
#: Frames to each side over which a quadratic is laid.
SPAN_FRAMES = 12
_PASSES = 3
#: Residuals beyond six median ones do not count (Cleveland 1979).
_BISQUARE = 6.0
#: Points that a quadratic needs at least, and a little for those that do not count.
_LEAST_POINTS, _LITTLE = 7, 1e-6


def smoothed(x: FloatArray, y: FloatArray) -> FloatArray:
    """Robust local quadratic: tricube weights within `SPAN_FRAMES`, bisquare passes.

    Cleveland 1979, J. Am. Stat. Assoc. 74:829. NaN in `y` is passed over and filled.
    """
    known = np.isfinite(y)
    if not known.any():
        return np.full(len(x), np.nan)
    at, values = x[known], y[known]
    trust = np.ones(len(at))
    for _ in range(_PASSES):
        off = np.abs(values - _weights(at, at, trust) @ values)
        scale = _BISQUARE * max(float(np.median(off)), 1e-9)
        trust = np.where(off < scale, (1.0 - np.minimum(off / scale, 1.0) ** 2) ** 2, 0.0)
    return np.asarray(_weights(x, at, trust) @ values)


def _weights(x: FloatArray, at: FloatArray, trust: FloatArray) -> FloatArray:
    """By how much each point counts in the quadratic's value at each x, (x, at)."""
    away = at - x[:, None]
    # Widened where there are too few points: ends, holes, outliers.
    few = min(_LEAST_POINTS, len(at)) - 1
    nearest = np.sort(np.abs(away), axis=1)[:, [few]]
    reach = np.maximum(SPAN_FRAMES + 1.0, nearest * 1.01 + 1e-9)
    near = np.clip(1.0 - np.abs(away / reach) ** 3, 0.0, None) ** 3
    weight = near * np.maximum(trust, _LITTLE)
    powers = (away / reach)[..., None] ** np.arange(3)
    normal = np.einsum("nk,nka,nkb->nab", weight, powers, powers)
    # Pseudo-inverse: fewer points than a quadratic needs lay a line or a level through them.
    value = np.linalg.pinv(normal, rcond=1e-10, hermitian=True)[:, 0]
    return np.asarray(np.einsum("na,nka,nk->nk", value, powers, weight))
