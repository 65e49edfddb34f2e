"""How steadily a take was flown: what a stabiliser has to take out, and what that costs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.review.review import Reviewed
from core.review.smooth import smoothed


@dataclass(frozen=True)
class Steadiness:
    """Shake of a take: departures from the planned path about their own smooth course.

    `shake_px` is (frame, right and down); `rms_px` its rms over both; `crop_percent` the share
    of the frame's side that a stabiliser cuts away so that no edge shows.
    """

    shake_px: FloatArray
    rms_px: float
    crop_percent: float


def steadiness(reviewed: Reviewed) -> Steadiness:
    """Work out what a stabiliser has to take out of a take."""
    index = np.array([frame.index for frame in reviewed.frames], dtype=float)
    course = np.stack([smoothed(index, part) for part in reviewed.departure_px.T], axis=1)
    shake = reviewed.departure_px - course
    known = shake[np.isfinite(shake).all(axis=1)]
    if not len(known):
        return Steadiness(shake, float("nan"), float("nan"))
    still = reviewed.frames[0].still
    sides = np.array([still.width_px, still.height_px])
    crop = 2.0 * float((np.abs(known).max(axis=0) / sides).max())
    return Steadiness(shake, float(np.sqrt((known**2).sum(axis=1).mean())), 100.0 * crop)
