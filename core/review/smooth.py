"""A smooth curve through what flickers, and what is left."""

from __future__ import annotations

import numpy as np

from core.exposure import FloatArray

#: Frames to each side over which a quadratic is laid.
SPAN_FRAMES = 12
_PASSES = 3
#: Residuals beyond six median ones do not count (Cleveland 1979).
_BISQUARE = 6.0


def smoothed(x: FloatArray, y: FloatArray, span: float = SPAN_FRAMES) -> FloatArray:
    """Robust local quadratic: tricube weights within `span`, three bisquare passes.

    Cleveland 1979, J. Am. Stat. Assoc. 74:829. NaN in `y` is passed over and filled.
    """
    known = np.isfinite(y)
    if not known.any():
        return np.full(len(x), np.nan)
    at, values = x[known], y[known]
    trust = np.ones(len(at))
    for _ in range(_PASSES):
        off = np.abs(values - _local(at, at, values, trust, span))
        scale = _BISQUARE * max(float(np.median(off)), 1e-9)
        trust = np.where(off < scale, (1.0 - np.minimum(off / scale, 1.0) ** 2) ** 2, 0.0)
    return _local(x, at, values, trust, span)


def _local(
    x: FloatArray, at: FloatArray, values: FloatArray, trust: FloatArray, span: float
) -> FloatArray:
    """Value at each x of the quadratic laid through the points near it."""
    out = np.empty(len(x))
    for k, here in enumerate(x):
        away = np.abs(at - here)
        # Widened where there are too few points: ends, holes, outliers.
        reach = max(span + 1.0, float(np.sort(away)[min(6, len(away) - 1)]) * 1.01 + 1e-9)
        near = away < reach
        weight = (1.0 - (away[near] / reach) ** 3) ** 3 * np.maximum(trust[near], 1e-6)
        powers = ((at[near] - here)[:, None] / reach) ** np.arange(3)
        root = np.sqrt(weight)
        fit, *_ = np.linalg.lstsq(powers * root[:, None], values[near] * root, rcond=None)
        out[k] = fit[0]
    return out
