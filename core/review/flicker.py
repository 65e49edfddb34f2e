"""What the same ground tells from frame to frame: flicker, and the dark corners of the lens.

A tile of ground that is found again in the key frame of its run shows the change of exposure and
of light alone, whatever else comes into the picture meanwhile.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.review.curve import CONTRAST
from core.review.daylit import FLOOR_STOPS, Daylit, daylit
from core.review.review import Reviewed, each_look
from core.review.smooth import BRIEF_FRAMES, left_share, smoothed

#: A lens loses up to so many stops in its corners (our judgement).
_MOST_LOSS_STOPS = 1.5
#: Tiles that must tell of the corners, and how far they must have moved in all, in squares of the
#: half diagonal.
_LEAST_TILES, _LEAST_MOVED = 30, 0.05
#: Of the frames, this share must be followed for the ground to tell the flicker.
_LEAST_FOLLOWED = 0.5
#: Rounds until what a frame counts for and the rms agree.
_ROUNDS = 10
_TO_SIGMA = 1.48


@dataclass(frozen=True)
class Flicker:
    """Flicker of a take, in stops of the scene's light.

    `off_stops` is how far each frame lies from the smooth course of the light, NaN where that is
    not known; `rms_stops` the rms, told without the lamps and by the daylight's own measure;
    `doubt_stops` how unsure each frame is as a rule, which is what levelling leaves.
    """

    off_stops: FloatArray
    rms_stops: float
    doubt_stops: float


def flicker_of(
    reviewed: Reviewed,
    level: FloatArray,
    contrast: float,
    loss: float,
    lamp_output: FloatArray,
) -> Flicker:
    """Work out the flicker of a take.

    Parameters
    ----------
    level
        Middle tone of each whole frame at the take's usual settings; it leads from frame to frame
        where the ground could not be followed.
    contrast
        Exponent of the camera's curve about mid-grey; `loss` as `corner_loss` has it.
    lamp_output
        Share of their light that the lamps gave in each frame.
    """
    light, doubt = _followed_light(reviewed, level, contrast, loss)
    if np.isfinite(light).mean() < _LEAST_FOLLOWED:
        light, doubt = level, np.full(len(level), np.nan)
    index = np.array([frame.index for frame in reviewed.frames], dtype=float)
    off = light - smoothed(index, light)
    unsure = float(np.nanmedian(doubt)) if np.isfinite(doubt).any() else float("nan")
    # Where no ground can be followed, what the whole frames' tones tell is all there is.
    whole = Daylit(index, light, np.full(len(light), FLOOR_STOPS))
    told = daylit(reviewed, lamp_output, contrast)
    if np.isfinite(told.stops).mean() < _LEAST_FOLLOWED:
        told = whole
    return Flicker(off, _rms_stops(told), unsure)


def _rms_stops(light: Daylit) -> float:
    """The flicker of light: beside a smooth course, which follows a part of it itself.

    Each frame counts by how surely it tells the variance beyond what is unsure of its own light.
    """
    known = np.isfinite(light.stops)
    if not known.any():
        return float("nan")
    at, stops, noise = light.index[known], light.stops[known], light.sigma_stops[known] ** 2
    squares = (stops - smoothed(at, stops, BRIEF_FRAMES, passes=0)) ** 2
    squares /= left_share(at, BRIEF_FRAMES)
    variance = float(np.median(squares))
    for _ in range(_ROUNDS):
        trust = (max(variance, FLOOR_STOPS**2) + noise) ** -2.0
        variance = float(trust @ (squares - noise) / trust.sum())
    return float(np.sqrt(max(variance, 0.0)))


def corner_loss(reviewed: Reviewed) -> float:
    """Stops that the lens loses in its corners, growing with the square of the distance.

    Least squares over all tiles that were followed: what two tiles of one frame gained apart,
    beside how far they went outward apart. 0 where the take does not tell.
    """
    gained, outward = [], []
    for _, look in each_look(reviewed):
        if len(look.brighter) > 1:
            stops = np.array([one.stops for one in look.brighter])
            out = np.array([one.outward for one in look.brighter])
            gained.append(stops - np.median(stops))
            outward.append(out - np.median(out))
    if not gained:
        return 0.0
    y, x = np.concatenate(gained), np.concatenate(outward)
    if len(x) < _LEAST_TILES or float(x @ x) < _LEAST_MOVED:
        return 0.0
    slope = 0.0
    for _ in range(3):
        off = np.abs(y - slope * x)
        scale = _TO_SIGMA * float(np.median(off)) + 1e-9
        trust = np.minimum(1.0, scale / np.maximum(off, 1e-9))
        slope = float((trust * x) @ y) / float((trust * x) @ x)
    return float(np.clip(-slope, 0.0, _MOST_LOSS_STOPS))


def _followed_light(
    reviewed: Reviewed, level: FloatArray, contrast: float, loss: float
) -> tuple[FloatArray, FloatArray]:
    """Light of the ground of each frame over that of the first, and how unsure each step is."""
    light, doubt = np.full((2, len(reviewed.looks)), np.nan)
    above = reviewed.above_mid
    for k, look in each_look(reviewed):
        key = reviewed.keys[k]
        if np.isnan(light[key]):
            # No ground leads here: the frame before cannot be read, or too little of it is seen.
            light[key] = _led_by_level(light[:key], level[: key + 1])
        if key != k and look.brighter:
            gained = np.array([one.stops + loss * one.outward for one in look.brighter])
            middle = float(np.median(gained))
            # What the usual curve makes of a step is as far off as its contrast.
            scale = CONTRAST / contrast
            light[k] = light[key] + scale * middle + above[k] - above[key]
            spread = _TO_SIGMA * float(np.median(np.abs(gained - middle)))
            doubt[k] = scale * spread / np.sqrt(len(gained))
    return light, doubt


def _led_by_level(light: FloatArray, level: FloatArray) -> float:
    """Light of the last frame by what the whole frames' tones gained since the last that was told.

    NaN where they do not tell; 0 for the first.
    """
    told = np.flatnonzero(np.isfinite(light))
    return float(light[told[-1]] + level[-1] - level[told[-1]]) if told.size else 0.0


def _rms(values: FloatArray) -> float:
    known = values[np.isfinite(values)]
    return float(np.sqrt(np.mean(known**2))) if known.size else float("nan")
