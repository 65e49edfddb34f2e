"""What the same ground tells from frame to frame: flicker, and the dark corners of the lens.

Ground that is found again in the key frame of its run shows the change of exposure and of light
alone, whatever else comes into the picture meanwhile. The light takes a smooth course; flicker is
what is white beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from core.exposure import FloatArray
from core.review.curve import CONTRAST, CONTRAST_SIGMA
from core.review.daylit import Course, daylit, followed_light, unlit_frames
from core.review.review import Reviewed, each_look
from core.review.smooth import SIGMA_PER_MEDIAN, smoothed
from core.review.white import white_of

#: A lens loses up to so many stops in its corners (our judgement).
_MOST_LOSS_STOPS = 1.5
#: Tiles that must tell of the corners, and how far they must have moved in all, in squares of the
#: half diagonal.
_LEAST_TILES, _LEAST_MOVED = 30, 0.05
#: Of the frames, this share must be followed for the ground to tell the flicker.
_LEAST_FOLLOWED = 0.5
#: Frames that have a smooth course of their own.
_LEAST_FRAMES = 7
#: How sure a frame tells of itself how unsure it is, 1-sigma as a share.
_NOISE_SIGMA = 0.5


@dataclass(frozen=True)
class Flicker:
    """Flicker of a take, in stops of the scene's light.

    `off_stops` is how far each frame lies from the smooth course of the light, NaN where that is
    not known; `rms_stops` the rms over the frames, told by the daylight's own measure, with its
    1-sigma; `doubt_stops` how unsure each frame is as a rule, which is what levelling leaves.
    """

    off_stops: FloatArray
    rms_stops: float
    rms_sigma_stops: float
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
        Middle tone of each whole frame at the take's usual settings; it tells where no ground can
        be followed.
    contrast
        Exponent of the camera's curve about mid-grey; `loss` as `corner_loss` has it.
    lamp_output
        Share of their light that the lamps gave in each frame.
    """
    index = np.array([frame.index for frame in reviewed.frames], dtype=float)
    seen = followed_light(reviewed, loss)
    if np.isfinite(seen.stops).mean() < _LEAST_FOLLOWED:
        nothing = np.zeros(len(level))
        whole = Course(level, nothing, nothing)
        rms = rms_stops(index, whole, CONTRAST_SIGMA / CONTRAST)
        return Flicker(_off_stops(index, whole), *rms, float("nan"))
    # What the usual curve makes of a step is as far off as its contrast.
    scale = CONTRAST / contrast
    off = scale * _off_stops(index, seen)
    unlit = unlit_frames(reviewed, lamp_output)
    rms = rms_stops(index, *daylit(seen, reviewed.tones.land.stops, unlit))
    return Flicker(off, *rms, scale * float(np.median(seen.sigma_stops)))


def _off_stops(index: FloatArray, light: Course) -> FloatArray:
    """How far light lies from its own smooth course, thread by thread."""
    off = np.full(len(index), np.nan)
    for thread in np.unique(light.thread):
        at = light.thread == thread
        if np.isfinite(light.stops[at]).sum() >= _LEAST_FRAMES:
            off[at] = light.stops[at] - smoothed(index[at], light.stops[at])
    return off


def rms_stops(index: FloatArray, light: Course, scale_sigma: float) -> tuple[float, float]:
    """The rms of what is white in light, without its frames' own noise; and its 1-sigma.

    Parameters
    ----------
    index
        Places of the frames, missing ones counted.
    scale_sigma
        How unsure a stop of all the light is, 1-sigma as a share.
    """
    known = np.isfinite(light.stops)
    if not known.any():
        return float("nan"), float("nan")
    white = white_of(index[known], light.stops[known], light.thread[known])
    noise = float(np.mean(light.sigma_stops[known] ** 2))
    square = max(white.square - noise, 0.0)
    # Frames whose light is not known flicker as the others do.
    unseen = np.sqrt(2.0 * (~known).sum()) / len(known) * square
    spread = np.sqrt(white.sigma**2 + (_NOISE_SIGMA * noise) ** 2 + unseen**2)
    rms = np.sqrt(square)
    sigma = spread / (2.0 * max(rms, np.sqrt(spread) / 2.0))
    return float(rms), float(np.hypot(sigma, scale_sigma * rms))


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
        scale = SIGMA_PER_MEDIAN * float(np.median(off)) + 1e-9
        trust = np.minimum(1.0, scale / np.maximum(off, 1e-9))
        slope = float((trust * x) @ y) / float((trust * x) @ x)
    return float(np.clip(-slope, 0.0, _MOST_LOSS_STOPS))
