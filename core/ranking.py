"""How choices are ranked: what a take gives, in the same points that `core.costs` counts.

A choice's points are what its light gives under the aim, less what its take and its exposure
cost. One point is what a stop of ISO costs; the figures are our judgement.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from core.exposure import FloatArray
from core.exposures import Exposures
from core.wish import Aim, Wish

#: Points for a chance of 1 to hold, by aim.
CHANCE_POINTS: dict[Aim, float] = {
    "surest": 15.0, "longest": 10.0, "mixed_light": 10.0, "minute": 15.0,
}  # fmt: skip
#: Points for a take wholly in mixed light, by aim: without any it is no twilight.
MIXED_POINTS: dict[Aim, float] = {
    "surest": 5.0, "longest": 5.0, "mixed_light": 20.0, "minute": 5.0,
}  # fmt: skip
#: Points for each second of clip under the aim 'longest'.
LENGTH_POINTS = 2.0
#: Points for the moment wished for lying this share of the take from either end, or more.
MOMENT_POINTS, MOMENT_SHARE = 4.0, 0.1
#: Points for each stop that the first frames' street is brighter.
BRIGHT_POINTS = 0.25
#: What an interval that is listed already costs the next choice that has it.
SAME_INTERVAL_POINTS = 1.0

# Rounded marks are a hair less than a stop apart.
_ALIKE = 0.99


@dataclass(frozen=True, slots=True)
class Gain:
    """What takes give: arrays of one shape, or numbers.

    `first_stops` is the street's tone in the first frame, `clip_length_s` the length of the
    clip, `start_s` and `shooting_s` say where in the take a moment falls.
    """

    p_hold: ArrayLike
    mixed_light_share: ArrayLike
    first_stops: ArrayLike
    start_s: ArrayLike
    clip_length_s: float
    shooting_s: float


def gain_points(gain: Gain, wish: Wish) -> FloatArray:
    """Points for what takes give under the aim, without costs."""
    points = CHANCE_POINTS[wish.aim] * np.asarray(gain.p_hold)
    points = points + MIXED_POINTS[wish.aim] * np.asarray(gain.mixed_light_share)
    if wish.preferences.bright_first_frames:
        points = points + BRIGHT_POINTS * np.asarray(gain.first_stops)
    if wish.aim == "longest":
        points = points + LENGTH_POINTS * gain.clip_length_s
    if wish.aim == "minute" and wish.moment_s is not None:
        points = points + _moment_points(gain, wish.moment_s)
    return np.asarray(points)


def holds_moment(start_s: FloatArray, shooting_s: float, wish: Wish) -> NDArray[np.bool_]:
    """Whether the moment wished for lies between a take's first and last frame."""
    if wish.aim != "minute" or wish.moment_s is None:
        return np.ones(np.shape(start_s), dtype=bool)
    return np.asarray((start_s <= wish.moment_s) & (wish.moment_s <= start_s + shooting_s))


def _moment_points(gain: Gain, moment_s: float) -> FloatArray:
    share = (moment_s - np.asarray(gain.start_s)) / max(gain.shooting_s, 1.0)
    inside = np.clip(np.minimum(share, 1.0 - share), 0.0, MOMENT_SHARE)
    return np.asarray(MOMENT_POINTS * inside / MOMENT_SHARE)


def kinds_of(interval_s: FloatArray, exposures: Exposures, clip_length_s: FloatArray) -> FloatArray:
    """What makes choices different to a pilot, (choices, 6): less than 1 apart is alike.

    Another interval; a stop of shutter, ISO, aperture or filter; two seconds of clip.
    """
    return np.column_stack(
        [
            100.0 * np.log2(interval_s),
            np.log2(exposures.shutter_s),
            np.log2(exposures.iso),
            2.0 * np.log2(exposures.f_number),
            exposures.nd_stops,
            clip_length_s / 2.0,
        ]
    )


def short_list(points: FloatArray, kinds: FloatArray, count: int) -> NDArray[np.intp]:
    """Pick choices that differ, best first; the best of all is always the first.

    One that is like another listed already is passed over; each one listed with the same
    interval costs a point, so that other intervals get a word too.

    Parameters
    ----------
    points
        (choices,), -inf for one that must not be listed.
    kinds
        See `kinds_of`.
    """
    listed: list[int] = []
    worth = points.astype(float)
    while len(listed) < count and np.isfinite(worth.max(initial=-np.inf)):
        best = int(worth.argmax())
        listed.append(best)
        apart = np.abs(kinds - kinds[best])
        worth[(apart < _ALIKE).all(axis=1)] = -np.inf
        worth[apart[:, 0] < _ALIKE] -= SAME_INTERVAL_POINTS
    order = np.argsort(-points[listed], kind="stable")
    return np.array(listed, dtype=np.intp)[order]
