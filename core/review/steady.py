"""How steadily a take was flown: what a stabiliser has to take out, and what that costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.review.review import Reviewed
from core.review.smooth import smoothed

#: Up to so many of its 1-sigmas a shake may be chance.
_CHANCE = 3.0


@dataclass(frozen=True)
class Steadiness:
    """Shake of a take: departures from the planned path about their own smooth course.

    `shake_px` is (frame, right and down), held back where it is told unsurely; `rms_px` its rms
    over both; `crop_percent` the share of the frame's side that a stabiliser cuts away so that no
    edge shows.
    """

    shake_px: FloatArray
    rms_px: float
    crop_percent: float


def steadiness(reviewed: Reviewed) -> Steadiness:
    """Work out what a stabiliser has to take out of a take."""
    index = np.array([frame.index for frame in reviewed.frames], dtype=float)
    course = np.stack([smoothed(index, part) for part in reviewed.departure_px.T], axis=1)
    shake = reviewed.departure_px - course
    if not np.isfinite(shake).all(axis=1).any():
        return Steadiness(shake, float("nan"), float("nan"))
    shake = _sure(shake, reviewed.step_sigma_px)
    known = shake[np.isfinite(shake).all(axis=1)]
    still = reviewed.frames[0].still
    sides = np.array([still.width_px, still.height_px])
    crop = 2.0 * float((np.abs(known).max(axis=0) / sides).max())
    return Steadiness(shake, float(np.sqrt((known**2).sum(axis=1).mean())), 100.0 * crop)


def _sure(shake: FloatArray, sigma: FloatArray) -> FloatArray:
    """What of a shake is to be taken out: the less, the less surely it is told.

    The share of its variance that is no noise (Wiener 1949, Stationary Time Series): the take's,
    or its own where that is beyond chance. Ground too dark to follow well must not shake a frame
    that stood still.
    """
    usual = (1.48 * np.nanmedian(np.abs(shake), axis=0)) ** 2 - np.nanmedian(sigma**2, axis=0)
    real = np.maximum(shake**2 - (_CHANCE * sigma) ** 2, np.maximum(usual, 0.0))
    return np.asarray(shake * real / np.maximum(real + sigma**2, 1e-12))
