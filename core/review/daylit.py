"""The daylight on the ground from frame to frame: lamps, and the camera's curve, taken out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.review.curve import CONTRAST, CONTRAST_SIGMA
from core.review.lamplight import brighter_stops
from core.review.review import Reviewed, each_look
from core.review.smooth import BRIEF_FRAMES, smoothed

#: 1-sigma of the expected fall of the light along a take, and the least that tells anything,
#: in stops (our judgement).
_FALL_SIGMA_STOPS, _LEAST_FALL_STOPS = 0.15, 0.3
#: Lamps brighten the ground by as much as its colour says, or off by this share, 1-sigma.
_LAMPS_SIGMA = 0.5


#: What following ground leaves from frame to frame where nothing flickers, in stops, and how much
#: of the lamps' light besides: tiles that come and go have more of it or less (from practice
#: takes).
FLOOR_STOPS, _LAMPS_LEAVE = 0.005, 0.005
#: Frames between threads, further than any smooth course reaches; shorter ones tell nothing.
_APART_FRAMES, _LEAST_FRAMES = 1000.0, 7


@dataclass(frozen=True)
class Daylit:
    """Daylight on the followed ground of each frame, in stops of the scene; NaN unknown.

    `index` counts frames, missing ones too. Where the ground could not be followed from one run
    into the next, by how much the light differs is not known: a new thread begins, far off.
    `sigma_stops` is how far the light of one frame may be off its neighbours'.
    """

    index: FloatArray
    stops: FloatArray
    sigma_stops: FloatArray


def daylit(reviewed: Reviewed, lamp_output: FloatArray, contrast: float) -> Daylit:
    """Work out the daylight on the ground from frame to frame.

    By how much the ground reddens tells by how much lamps brighten it. Until they come on the
    ground falls as daylight is expected to, which tells what the camera's curve makes of a stop.

    Parameters
    ----------
    lamp_output
        Share of their light that the lamps gave in each frame, 0 to 1.
    contrast
        Exponent of the camera's curve about mid-grey, which is held to where little is unlit.
    """
    gained, redder = np.full((2, len(reviewed.looks)), np.nan)
    above = reviewed.above_mid
    for k, look in each_look(reviewed):
        gained[k] = look.gained_stops + above[k] - above[reviewed.keys[k]]
        redder[k] = look.redder_stops
    expected = reviewed.tones.land.stops
    ground, thread = _along(reviewed.keys, gained, expected)
    followed = [np.isfinite(ground[thread == one]).sum() for one in thread]
    ground[np.array(followed) < _LEAST_FRAMES] = np.nan
    lamps = brighter_stops(_along(reviewed.keys, redder, np.zeros(len(expected)))[0])
    index = np.array([frame.index for frame in reviewed.frames]) + _APART_FRAMES * thread
    share = _lamps_share(index, ground, lamps)
    unlit = lamp_output <= 0.0
    stops = (ground - share * lamps) / _slope(ground[unlit], expected[unlit], contrast / CONTRAST)
    return Daylit(index, stops, np.hypot(FLOOR_STOPS, _LAMPS_LEAVE * lamps))


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


def _lamps_share(index: FloatArray, ground: FloatArray, lamps: FloatArray) -> float:
    """How much of what lamps by their colour brighten the ground is in its light.

    Least squares over what is brief, held to all of it.
    """
    known = np.isfinite(ground) & np.isfinite(lamps)
    if not known.any():
        return 1.0
    index = index[known]
    light, lamplight = (
        values[known] - smoothed(index, values[known], BRIEF_FRAMES, passes=0)
        for values in (ground, lamps)
    )
    held = float(np.mean(light**2)) / _LAMPS_SIGMA**2 + 1e-12
    share = (float(lamplight @ light) + held) / (float(lamplight @ lamplight) + held)
    return float(np.clip(share, 0.0, 1.5))


def _slope(light: FloatArray, expected: FloatArray, usual: float) -> float:
    """What the camera's curve makes of a stop beside a usual one, by the fall of daylight.

    The median slope of all pairs of frames far apart (Theil 1950; Sen 1968, J. Am. Stat. Assoc.
    63:1379), beside the `usual` one.
    """
    known = np.isfinite(light)
    light, expected = light[known], expected[known]
    fall = float(np.ptp(expected)) if known.any() else 0.0
    if fall < _LEAST_FALL_STOPS:
        return usual
    one, other = np.triu_indices(len(light), 1)
    far = np.abs(expected[one] - expected[other]) > fall / 3.0
    one, other = one[far], other[far]
    told = np.median((light[one] - light[other]) / (expected[one] - expected[other]))
    trust, held = (fall / _FALL_SIGMA_STOPS) ** 2, (CONTRAST / CONTRAST_SIGMA) ** 2
    return float(np.clip((trust * told + held * usual) / (trust + held), 0.5, 2.0))
