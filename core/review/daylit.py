"""Daylight on the followed ground from frame to frame, beside what is expected of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.review.curve import CONTRAST, CONTRAST_SIGMA
from core.review.review import Reviewed, each_look
from core.review.sameground import UNLIT_SHARE
from core.tones import lit_share

#: 1-sigma of the expected fall of the light along a take, and the least that tells anything,
#: in stops (our judgement).
FALL_SIGMA_STOPS, _LEAST_FALL_STOPS = 0.15, 0.3
#: What following ground leaves from frame to frame where nothing flickers, in stops, beside what
#: its pixels tell of themselves (from practice takes).
FLOOR_STOPS = 0.0025


@dataclass(frozen=True)
class Course:
    """Light of each frame in stops, NaN where not known, and its 1-sigma beside its neighbours'.

    Where ground could not be followed from one run into the next, by how much the light differs is
    not known but for what is expected of it: a new `thread` begins there.
    """

    stops: FloatArray
    sigma_stops: FloatArray
    thread: FloatArray


def followed_light(reviewed: Reviewed, loss: float) -> Course:
    """The light of the followed ground that lamps light least, over that of the first frame.

    In stops as a usual camera shows it.

    Parameters
    ----------
    loss
        Stops that the lens loses in its corners.
    """
    gained, sigma = np.full((2, len(reviewed.looks)), np.nan)
    above = reviewed.above_mid
    for k, look in each_look(reviewed):
        unlit = look.gained.unlit
        gained[k] = unlit.stops + loss * unlit.outward + above[k] - above[reviewed.keys[k]]
        sigma[k] = np.hypot(look.gained.sigma_stops, FLOOR_STOPS)
    stops, thread = _along(reviewed.keys, gained, reviewed.tones.land.stops)
    told = np.isfinite(sigma)
    usual = float(np.median(sigma[told])) if told.any() else FLOOR_STOPS
    return Course(stops, np.where(told, sigma, usual), thread)


def daylit(seen: Course, expected: FloatArray, unlit: NDArray[np.bool_]) -> tuple[Course, float]:
    """Work out by how much light on the ground lies above what is expected of it.

    Ground that no lamps light falls as daylight is expected to, which tells what the camera's
    curve makes of a stop.

    Parameters
    ----------
    seen
        From `followed_light`.
    expected
        Stops of daylight that were expected of each frame.
    unlit
        Frames in which daylight alone lit the ground of `seen`.

    Returns
    -------
    tuple
        The light in stops of the scene, and how unsure a stop of it is, 1-sigma.
    """
    slope, sigma = _slope(seen.stops[unlit], expected[unlit])
    above = Course(seen.stops / slope - expected, seen.sigma_stops / slope, seen.thread)
    return above, sigma / slope


def unlit_frames(reviewed: Reviewed, lamp_output: FloatArray) -> NDArray[np.bool_]:
    """Frames in which no lamps light the least red of the ground.

    Parameters
    ----------
    lamp_output
        Share of their light that the lamps gave in each frame, 0 to 1.
    """
    return (lamp_output <= 0.0) | (lit_share(reviewed.plan.ground) < 1.0 - UNLIT_SHARE)


def _along(
    keys: tuple[int, ...], gained: FloatArray, beside: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """What each frame gained since the first, from what it gained since its key; NaN unknown.

    A key that was not followed itself stands on the last frame that was, led on by `beside`, and
    begins a new thread; each frame's is counted.
    """
    out, thread = np.full(len(keys), np.nan), np.zeros(len(keys))
    for k, key in enumerate(keys):
        if np.isnan(out[key]):
            told = np.flatnonzero(np.isfinite(out[:key]))
            out[key] = out[told[-1]] + beside[key] - beside[told[-1]] if told.size else 0.0
            thread[key:] += 1.0
        if k != key:
            out[k] = out[key] + gained[k]
    return out, thread


def _slope(light: FloatArray, expected: FloatArray) -> tuple[float, float]:
    """What the camera's curve makes of a stop beside a usual one, by the fall of daylight.

    The median slope of all pairs of frames far apart (Theil 1950; Sen 1968, J. Am. Stat. Assoc.
    63:1379), beside a usual camera; with its 1-sigma.
    """
    known = np.isfinite(light)
    light, expected = light[known], expected[known]
    fall = float(np.ptp(expected)) if known.any() else 0.0
    usual = (CONTRAST / CONTRAST_SIGMA) ** 2
    if fall < _LEAST_FALL_STOPS:
        return 1.0, usual**-0.5
    one, other = np.triu_indices(len(light), 1)
    far = np.abs(expected[one] - expected[other]) > fall / 3.0
    one, other = one[far], other[far]
    told = np.median((light[one] - light[other]) / (expected[one] - expected[other]))
    trust = (fall / FALL_SIGMA_STOPS) ** 2
    slope = np.clip((trust * told + usual) / (trust + usual), 0.5, 2.0)
    return float(slope), (trust + usual) ** -0.5
