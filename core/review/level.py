"""Levelling the frames of a take: the gain that takes flicker and changed settings out of each."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from core.exposure import FloatArray
from core.preview.develop import MID_GREY, srgb_value
from core.review.curve import LINEAR, WHITE_STOPS, display_stops, scene_stops

#: No frame is levelled by more, in stops: what needs more is another picture.
MOST_GAIN_STOPS = 2.0
#: From this tone of the display on, in stops from mid-grey, a gain fades to none at white: what
#: is burnt has nothing to be levelled by.
_FADES_STOPS = 1.5
_DARKEST_LINEAR = 1e-6


def gains_stops(off: FloatArray, above_mid: FloatArray) -> FloatArray:
    """Gain of each frame in stops of the scene's light; of a frame not known, for its settings.

    Parameters
    ----------
    off
        How far each frame lies from the smooth course of the light, NaN where not known.
    above_mid
        By how many stops a frame's own settings lie above the usual ones.
    """
    return np.clip(above_mid - np.nan_to_num(off), -MOST_GAIN_STOPS, MOST_GAIN_STOPS)


def levelled_stops(
    shown: FloatArray, gain_stops: float, highlight_stops: float, contrast: float
) -> FloatArray:
    """Tones of the display, in stops from mid-grey, after a gain in the scene's light.

    Parameters
    ----------
    shown
        Tones of the display before; `highlight_stops` and `contrast` as in `core.review.curve`.
    """
    fade = np.clip((WHITE_STOPS - shown) / (WHITE_STOPS - _FADES_STOPS), 0.0, 1.0)
    scene = scene_stops(shown, highlight_stops, contrast) + gain_stops * fade
    return np.minimum(display_stops(scene, highlight_stops, contrast), WHITE_STOPS)


def levelled_codes(gain_stops: float, highlight_stops: float, contrast: float) -> NDArray[np.uint8]:
    """What each 8-bit value of a frame becomes, (256,)."""
    shown = np.log2(np.maximum(LINEAR, _DARKEST_LINEAR) / MID_GREY)
    linear = MID_GREY * np.exp2(levelled_stops(shown, gain_stops, highlight_stops, contrast))
    linear = np.where(LINEAR > 0.0, np.clip(linear, 0.0, 1.0), 0.0)
    return np.asarray(np.rint(srgb_value(linear)), dtype=np.uint8)
